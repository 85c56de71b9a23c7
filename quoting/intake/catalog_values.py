"""Reading one value of a catalog file: what each kind accepts, and the error with its field when it is not that."""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import zipcodes

from machines.machine import KINDS, STATION_WORK, TRIMMER_KINDS
from materials.polymer import NEEDS
from materials.sheet import COLOURS
from quoting import units
from quoting.intake.part import SECONDARY_OPERATIONS
from quoting.intake.reading_result import InputError, InputErrors

ATMOSPHERE = 101325.0  # Pa, standard atmosphere, exact by definition: a vacuum cannot give more


# Fixtures that secondary operations are done in; each is also a tool with a price.
OPERATION_FIXTURES = ("assembly_fixture", "weld_nest", "bend_fixture", "paint_mask")

ABSENT = object()  # given for a key that is not there


class RefusedError(ValueError):
    """A value is not of its kind; ``accepted`` says what is."""

    def __init__(self, accepted: str):
        self.accepted = accepted
        super().__init__(accepted)


class Problems:
    """Everything found wrong so far, in the order of the file."""

    def __init__(self):
        self.found: list[InputError] = []

    def add(self, field: str, given: Any, accepted: str) -> None:
        self.found.append(InputError(field, "nothing" if given is ABSENT else units.shortened(given), accepted))

    def raise_if_any(self) -> None:
        if self.found:
            raise InputErrors(tuple(self.found))


@dataclass(frozen=True)
class Measure:
    """A value with its unit, and the range it must lie in (SI); ``words`` says the range to a person."""

    kind: str  # of quoting.units
    least: float = 0.0
    most: float = math.inf
    above: bool = False  # True: ``least`` itself is refused
    words: str = ""


_POSITIVE = {"above": True, "words": ", above zero"}
_NOT_NEGATIVE = {"words": ", not below zero"}

MEASURES: Mapping[str, Measure] = {
    "size": Measure("length", **_POSITIVE),
    "length": Measure("length", **_NOT_NEGATIVE),
    "area": Measure("area", **_POSITIVE),
    "volume": Measure("volume", **_POSITIVE),
    "mass": Measure("mass", **_NOT_NEGATIVE),
    "mass_above_zero": Measure("mass", **_POSITIVE),
    "temperature": Measure("temperature", least=200.0, most=1500.0, words=", between 200 K and 1500 K"),
    "temperature_difference": Measure("temperature_difference", **_POSITIVE),
    "pressure": Measure("pressure", **_NOT_NEGATIVE),
    "vacuum": Measure("pressure", most=ATMOSPHERE, above=True, words=", above zero and at most one atmosphere"),
    "modulus": Measure("pressure", **_POSITIVE),
    "force": Measure("force", **_NOT_NEGATIVE),
    "time": Measure("time", **_NOT_NEGATIVE),
    "feed": Measure("speed", **_POSITIVE),
    "density": Measure("density", **_POSITIVE),
    "conductivity": Measure("conductivity", **_POSITIVE),
    "specific_heat": Measure("specific_heat", **_POSITIVE),
    "latent_heat": Measure("latent_heat", **_NOT_NEGATIVE),
    "film_coefficient": Measure("film_coefficient", **_POSITIVE),
    "expansion": Measure("expansion", **_POSITIVE),
    "extinction": Measure("extinction", **_POSITIVE),
    "part_of_one": Measure("share", most=1.0, above=True, words=", above 0 and at most 100 %"),
    "share": Measure("share", most=0.999999, words=", from 0 to below 100 %"),
    "inner_share": Measure("share", most=0.999999, above=True, words=", above 0 and below 100 %"),
    "hours": Measure("hours", **_POSITIVE),
    "hours_of_week": Measure("hours", most=168.0, words=", from 0 to the 168 h of a week"),
    "duration": Measure("weeks", most=1040.0, above=True, words=", above zero and at most 1040 weeks"),
    "hours_or_none": Measure("hours", **_NOT_NEGATIVE),
    "weeks": Measure("weeks", **_NOT_NEGATIVE),
    "learning": Measure("share", least=0.5, most=1.0, words=", from 50 % to 100 %"),
    "premium_share": Measure("share", most=3.0, words=", from 0 to 300 %"),
    "pcf": Measure("pcf", **_POSITIVE),
}

CHOICES: Mapping[str, tuple[str, ...]] = {
    "machine_kind": KINDS,
    "trimmer_kind": TRIMMER_KINDS,
    "colour": COLOURS,
    "need": NEEDS,
    "country": ("US",),
    "operation_fixture": ("none", *OPERATION_FIXTURES),
}

LISTS_OF_CHOICES: Mapping[str, tuple[str, ...]] = {"operations": SECONDARY_OPERATIONS, "station_work": STATION_WORK}

WHOLE_NUMBERS: Mapping[str, tuple[int, int]] = {
    "shifts": (1, 4),
    "weekdays": (1, 7),
    "places": (1, 500),
    "places_or_none": (0, 500),
}

BARE_NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{1,6})?", re.ASCII)
MOST_PEOPLE = 50  # on one machine; a larger number is a slip, house limit


def _measure(given: Any, measure: Measure) -> float:
    accepted = units.accepted(measure.kind) + measure.words
    if not isinstance(given, str):
        raise RefusedError(accepted)
    try:
        value = units.read(given, measure.kind)
    except units.UnitError as error:
        raise RefusedError(accepted) from error
    too_low = value <= measure.least if measure.above else value < measure.least
    if too_low or value > measure.most or not math.isfinite(value):
        raise RefusedError(accepted)
    return value


def _money(given: Any):
    accepted = 'money as text, such as "12.50", up to four decimals'
    if not isinstance(given, str):
        raise RefusedError(accepted)
    try:
        return units.read_money(given)
    except ValueError as error:
        raise RefusedError(accepted) from error


def _number_text(given: Any, least: Decimal, what: str) -> Decimal:
    """A bare number as text, for a factor or a count that carries no unit."""
    if not isinstance(given, str) or not BARE_NUMBER.fullmatch(given) or Decimal(given) < least:
        raise RefusedError(what)
    return Decimal(given)


def _exact_number(given: Any) -> Decimal:
    return _number_text(given, Decimal(0), 'a number as text, not below zero, such as "6" or "1.02"')


def _exact_number_above_zero(given: Any) -> Decimal:
    return _number_text(given, Decimal("0.000001"), 'a number as text, above zero, such as "6.5"')


def _ratio_from_one(given: Any) -> float:
    return float(_number_text(given, Decimal(1), 'a number as text, 1 or more, such as "1.20"'))


FACTORS = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,6})?) to ([0-9]{1,3}(?:\.[0-9]{1,6})?)", re.ASCII)


def _factors(given: Any) -> tuple[float, float]:
    """How far an input may lie from its likely value, as two factors around 1."""
    accepted_words = 'two factors around 1 as text, such as "0.9 to 1.25": least, at most 1, and most, at least 1'
    found = FACTORS.fullmatch(given) if isinstance(given, str) else None
    least, most = (float(found[1]), float(found[2])) if found else (0.0, 0.0)
    if not 0 < least <= 1 <= most:
        raise RefusedError(accepted_words)
    return least, most


def _amounts(given: Any) -> tuple[Decimal, ...]:
    """Limits between bands of money."""
    accepted_words = 'ascending amounts above zero with " / " between, such as "20000 / 100000"'
    try:
        found = tuple(units.read_money(one) for one in given.split(" / ")) if isinstance(given, str) else ()
    except ValueError as error:
        raise RefusedError(accepted_words) from error
    if not found or found[0] <= 0 or any(low >= high for low, high in pairwise(found)):
        raise RefusedError(accepted_words)
    return found


def _count_text(given: Any) -> int:
    accepted_words = 'a whole number as text, 1 or more, such as "5"'
    number = _number_text(given, Decimal(1), accepted_words)
    if number != int(number):
        raise RefusedError(accepted_words)
    return int(number)


def _exact(given: Any, kind: str) -> Decimal:
    """A measured value that enters money as Decimal; 12 digits drop what the conversion of units left behind."""
    return Decimal(format(_measure(given, MEASURES[kind]), ".12g"))


def _rate_text(given: Any) -> str:
    if not isinstance(given, str):
        raise RefusedError("a text, with its unit where the rate has one")
    return given


def _text(given: Any) -> str:
    if not isinstance(given, str) or not given.strip():
        raise RefusedError("a text that is not empty")
    return given.strip()


def _flag(given: Any) -> bool:
    if not isinstance(given, bool):
        raise RefusedError("true or false")
    return given


def _people(given: Any) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float) or not 0 < given <= MOST_PEOPLE:
        raise RefusedError(f"a number of people above 0 and at most {MOST_PEOPLE}, such as 1 or 1.5, without quotes")
    return float(given)


def _whole(given: Any, least: int, most: int) -> int:
    if isinstance(given, bool) or not isinstance(given, int) or not least <= given <= most:
        raise RefusedError(f"a whole number from {least} to {most}, without quotes")
    return given


def _date(given: Any) -> date:
    try:
        return date.fromisoformat(given if isinstance(given, str) and len(given) == 10 else "")
    except ValueError as error:
        raise RefusedError("a date as year-month-day, such as 2026-01-31") from error


def _choice(given: Any, choices: tuple[str, ...]) -> str:
    if given not in choices:
        raise RefusedError("one of " + ", ".join(choices))
    return given


def _choices(given: Any, choices: tuple[str, ...]) -> tuple[str, ...]:
    texts = isinstance(given, list) and all(isinstance(item, str) for item in given)
    if not texts or set(given) - set(choices) or len(set(given)) < len(given):
        raise RefusedError("a list without doubles of " + ", ".join(choices))
    return tuple(given)


def _state(given: Any) -> str:
    if not (isinstance(given, str) and len(given) == 2 and given.isascii() and given.isalpha() and given.isupper()):
        raise RefusedError("the two capital letters of a state, such as MI")
    return given


def _time_zone(given: Any) -> str:
    try:
        return ZoneInfo(given if isinstance(given, str) else "").key
    except (ValueError, OSError, KeyError) as error:
        raise RefusedError("the name of a time zone, such as America/Chicago") from error


def place(postal_code: str) -> tuple[float, float] | None:
    """Where a US postal code lies.

    Parameters
    ----------
    postal_code : str
        Five digits [-].

    Returns
    -------
    latitude_longitude : tuple or None
        [degrees]; None where the code is unknown or its place is not on record.

    Examples
    --------
    >>> place("60601")
    (41.8858, -87.6181)
    """
    digits = len(postal_code) == 5 and postal_code.isascii() and postal_code.isdigit()
    for row in zipcodes.matching(postal_code) if digits else ():
        if float(row["lat"]) != 0.0:
            return float(row["lat"]), float(row["long"])
    return None


def _postal_code(given: Any) -> str:
    if not isinstance(given, str) or place(given) is None:
        raise RefusedError("a known US postal code of five digits in quotes, such as 60601")
    return given


_PLAIN: Mapping[str, Callable[[Any], Any]] = {
    "money": _money,
    "exact_number": _exact_number,
    "exact_number_above_zero": _exact_number_above_zero,
    "ratio_from_one": _ratio_from_one,
    "count_text": _count_text,
    "factors": _factors,
    "amounts": _amounts,
    "rate_text": _rate_text,
    "text": _text,
    "flag": _flag,
    "people": _people,
    "date": _date,
    "state": _state,
    "time_zone": _time_zone,
    "postal_code": _postal_code,
}


def _or_null(given: Any, kind: str) -> Any:
    try:
        return None if given is None else read_value(given, kind)
    except RefusedError as refused:
        raise RefusedError(refused.accepted + ", or null") from refused


def read_value(given: Any, kind: str) -> Any:
    """One value of the file as the core wants it.

    Parameters
    ----------
    given : Any
        What the file holds [-].
    kind : str
        A kind of the tables in ``catalog_fields``; ending in ``_or_null`` it also takes null [-].

    Returns
    -------
    value : Any
        SI float, Decimal, date, text, whole number or tuple, by kind [-].

    Raises
    ------
    RefusedError
        If it is not of that kind; says what is accepted.
    """
    if kind.endswith("_or_null"):
        return _or_null(given, kind.removesuffix("_or_null"))
    if kind.removeprefix("exact_") in MEASURES and kind not in MEASURES:
        return _exact(given, kind.removeprefix("exact_"))
    if kind in MEASURES:
        return _measure(given, MEASURES[kind])
    if kind in CHOICES:
        return _choice(given, CHOICES[kind])
    if kind in LISTS_OF_CHOICES:
        return _choices(given, LISTS_OF_CHOICES[kind])
    if kind in WHOLE_NUMBERS:
        return _whole(given, *WHOLE_NUMBERS[kind])
    return _PLAIN[kind](given)


def accepted(kind: str) -> str:
    """What a kind accepts, in words, for a key that is missing.

    Parameters
    ----------
    kind : str
        [-]

    Returns
    -------
    words : str
        [-]
    """
    try:
        read_value({}, kind)  # an object is of no kind
    except RefusedError as refused:
        return refused.accepted
    raise AssertionError(f"{kind} takes an object")
