"""One field's raw value to its SI value, or a refusal that says what was given and what is accepted."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from math import hypot

from quoting import units
from quoting.intake.fields import MOST_RELEASES, Field
from quoting.intake.part import Secondary

HIGHEST_PRICE = Decimal("1000000.00")  # $ per part
FURTHEST_AHEAD = timedelta(days=5 * 365)
MOST_ITEMS = 50  # entries in any list
_EMAIL = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9-]{1,63}(\.[A-Za-z0-9-]{1,63}){1,6}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
LONGEST_DIRECTION = 60  # characters
SHORTEST_DIRECTION = 1e-6  # of three numbers; below it they are taken for zeros
_AXIS = re.compile(r"[+-]?[xyz]")
_DECIMAL = r"[+-]?(?:[0-9]{1,6}(?:\.[0-9]{0,12})?|\.[0-9]{1,12})"
_THREE = re.compile(rf"{_DECIMAL}(?:(?: *, *| +){_DECIMAL}){{2}}", re.ASCII)
_QUANTITIES = ("length", "area", "angle", "temperature", "mass")


class RefusedError(ValueError):
    """A value that is not read. ``below`` is the rest of the dotted path when a part of the field is wrong."""

    def __init__(self, given: object, accepted: str, below: str = ""):
        self.given = given if isinstance(given, Shown) else Shown(units.shortened(given))
        self.accepted, self.below = accepted, below
        super().__init__(self.given.text, accepted)


@dataclass(frozen=True)
class Shown:
    """What was given, when it is described rather than repeated."""

    text: str


@dataclass(frozen=True)
class Day:
    """What reading a value needs to know besides the value: the day, and the polymers that are held."""

    on: date
    polymer_names: tuple[str, ...]


def is_given(value: object) -> bool:
    """Null, empty text and an empty list count as not given.

    >>> is_given("  "), is_given(0)
    (False, True)
    """
    return not (value is None or (isinstance(value, str) and not value.strip()) or value == [])


def read_value(field: Field, raw: object, day: Day) -> object:
    """The value of one field in SI units.

    Parameters
    ----------
    field : Field
        Its entry in the table [-].
    raw : object
        As given [-].
    day : Day
        The day, and the polymers that are held [-].

    Returns
    -------
    value : object
        [SI]

    Raises
    ------
    RefusedError
        The value is of the wrong type, not readable or out of range.
    """
    if field.kind in _QUANTITIES:
        return _quantity(field, raw)
    return _READERS[field.kind](field, raw, day)


def _quantity(field: Field, raw: object) -> float:
    try:
        value = units.read(raw, field.kind)
    except units.UnitError as error:
        raise RefusedError(Shown(error.given), error.accepted) from None
    _in_range(field, value, raw)
    return value


def _in_range(field: Field, value: float, raw: object) -> None:
    """Refuse outside low .. high; a hair of 1e-9 lets 236.22 in pass for 6 m."""
    slack = 1e-9 * abs(field.high or 0)
    if (field.low is not None and value < field.low - slack) or (field.high is not None and value > field.high + slack):
        low, high = units.show(field.low, field.unit, "both"), units.show(field.high, field.unit, "both")
        raise RefusedError(raw, f"{_A_KIND[field.kind]} from {low} to {high}")


_A_KIND = {
    "length": "a length", "area": "an area", "angle": "an angle", "temperature": "a temperature", "mass": "a mass",
    "count": "a whole number", "counts": "whole numbers", "operations": "a count",
}  # fmt: skip


def _text(field: Field, raw: object, _: Day) -> str:
    wanted = f"text of 1 to {field.longest} characters in one line"
    if not isinstance(raw, str) or len(raw.strip()) > field.longest or not raw.strip().isprintable():
        raise RefusedError(raw, wanted)
    return raw.strip()


def _email(_field: Field, raw: object, _: Day) -> str:
    if not isinstance(raw, str) or len(raw) > 254 or not _EMAIL.fullmatch(raw.strip()):
        raise RefusedError(raw, "an e-mail address such as buyer@firm.example")
    return raw.strip()


def _postal_code(_field: Field, raw: object, _: Day) -> str:
    """Any code of sane shape: whether it is a US one is asked together with the country."""
    if not isinstance(raw, str) or not re.fullmatch(r"[A-Za-z0-9 -]{2,12}", raw.strip()):
        raise RefusedError(raw, "a US postal code as text, such as 44114 or 44114-1234")
    return raw.strip()


def _country(_field: Field, raw: object, _: Day) -> str:
    if not isinstance(raw, str) or not re.fullmatch(r"[A-Za-z]{2}", raw.strip()):
        raise RefusedError(raw, "a country code of two letters (ISO 3166 alpha-2), such as US")
    if raw.strip().upper() != "US":
        raise RefusedError(raw, "US: freight can be priced to US postal codes only")
    return raw.strip().upper()


def _whole(field: Field, raw: object, below: str = "") -> int:
    if isinstance(raw, bool) or not isinstance(raw, int):
        mark = " (without a comma)" if isinstance(raw, str) and "," in raw else ""
        raise RefusedError(raw, f"a whole number without quotes, such as {max(int(field.low), 1)}{mark}", below)
    if not field.low <= raw <= field.high:
        raise RefusedError(raw, f"a whole number from {field.low:,.0f} to {field.high:,.0f}", below)
    return raw


def _is_whole(field: Field, raw: object) -> bool:
    return isinstance(raw, int) and not isinstance(raw, bool) and field.low <= raw <= field.high


def _count(field: Field, raw: object, _: Day) -> int:
    return _whole(field, raw)


def _items(raw: object, wanted: str, most: int = MOST_ITEMS) -> list:
    if not isinstance(raw, (list, tuple)):
        raise RefusedError(raw, wanted)
    if len(raw) > most:
        raise RefusedError(Shown(f"{len(raw)} entries"), f"{wanted}, at most {most}")
    return list(raw)


def _counts(field: Field, raw: object, _: Day) -> tuple[int, ...]:
    items = _items(raw, "a list of whole numbers, such as [100, 300]")
    refused = [item for item in items if not _is_whole(field, item)]
    if len(refused) > 1:
        raise RefusedError(
            Shown(", ".join(map(units.shortened, refused))),
            f"whole numbers without quotes, from {field.low:,.0f} to {field.high:,.0f}",
        )
    found = {_whole(field, item) for item in items}
    if len(found) > MOST_RELEASES:
        raise RefusedError(Shown(f"{len(found)} release sizes"), f"at most {MOST_RELEASES} release sizes")
    return tuple(sorted(found))


def _flag(_field: Field, raw: object, _: Day) -> bool:
    if not isinstance(raw, bool):
        raise RefusedError(raw, "true or false, without quotes")
    return raw


def _choice(field: Field, raw: object, _: Day) -> str:
    if not isinstance(raw, str) or raw.strip() not in field.choices:
        raise RefusedError(raw, "one of " + ", ".join(field.choices))
    return raw.strip()


def _choices(field: Field, raw: object, day: Day) -> tuple[str, ...]:
    found = {_choice(field, item, day) for item in _items(raw, "a list of any of " + ", ".join(field.choices))}
    return tuple(choice for choice in field.choices if choice in found)


def _polymers(_field: Field, raw: object, day: Day) -> tuple[str, ...]:
    held = {name.casefold(): name for name in day.polymer_names}
    wanted = "a list of polymers that we hold: " + ", ".join(sorted(day.polymer_names))
    found = set()
    for item in _items(raw, wanted):
        name = held.get(item.strip().casefold()) if isinstance(item, str) else None
        if name is None:
            raise RefusedError(item, wanted)
        found.add(name)
    return tuple(sorted(found))


def _operations(field: Field, raw: object, day: Day) -> tuple[Secondary, ...]:
    """Operations in the table's order; the same one twice is added up."""
    wanted = 'a list such as [{"operation": "insert", "count": 6}]'
    counts: dict[str, int] = {}
    for index, item in enumerate(_items(raw, wanted)):
        if not isinstance(item, dict) or "operation" not in item:
            raise RefusedError(item, wanted, f".{index}")
        if strange := [key for key in item if key not in ("operation", "count")]:
            raise RefusedError(strange[0], "the keys operation and count only", f".{index}")
        if not isinstance(item["operation"], str) or item["operation"] not in field.choices:
            raise RefusedError(item["operation"], "one of " + ", ".join(field.choices), f".{index}.operation")
        count = _whole(field, item.get("count"), f".{index}.count")
        counts[item["operation"]] = counts.get(item["operation"], 0) + count
    return tuple(Secondary(name, counts[name]) for name in field.choices if name in counts)


def _needed_by(_field: Field, raw: object, day: Day) -> date:
    last = day.on + FURTHEST_AHEAD
    wanted = f"a date after {day.on} and not after {last}, written as {day.on + timedelta(days=120)}"
    if not isinstance(raw, str) or not _DATE.fullmatch(raw.strip()):
        raise RefusedError(raw, wanted)
    try:
        found = date.fromisoformat(raw.strip())
    except ValueError:
        raise RefusedError(raw, wanted) from None
    if not day.on < found <= last:
        raise RefusedError(raw, wanted)
    return found


def _money(_field: Field, raw: object, _: Day) -> Decimal:
    wanted = f"{units.accepted('money')}, above 0 and at most {HIGHEST_PRICE}, in quotes"
    try:
        found = units.read_money(raw)
    except units.UnitError:
        raise RefusedError(raw, wanted) from None
    if not 0 < found <= HIGHEST_PRICE:
        raise RefusedError(raw, wanted)
    return found


def _file(_field: Field, raw: object, _: Day) -> str:
    if not isinstance(raw, str) or len(raw) > 300 or not raw.strip().isprintable():
        raise RefusedError(raw, "the name of a STEP, STL, OBJ or 3MF file beside the inquiry, such as cover.step")
    return raw.strip()


def _direction(_field: Field, raw: object, _: Day) -> tuple[float, float, float]:
    """A unit vector. Three numbers stand for its ratio: 0 0 2 is +z."""
    wanted = "an axis of the file such as +z or -x, or three numbers, not all 0, such as 0 0.5 1"
    text = raw.strip().lower().replace("−", "-") if isinstance(raw, str) and len(raw) <= LONGEST_DIRECTION else ""
    if _AXIS.fullmatch(text):
        sign = -1.0 if text.startswith("-") else 1.0
        return tuple(sign if axis == text[-1] else 0.0 for axis in "xyz")
    if not _THREE.fullmatch(text):
        raise RefusedError(raw, wanted)
    numbers = [float(one) for one in text.replace(",", " ").split()]
    length = hypot(*numbers)
    if length < SHORTEST_DIRECTION:
        raise RefusedError(raw, wanted)
    return tuple(one / length for one in numbers)


_READERS: dict[str, Callable[[Field, object, Day], object]] = {
    "text": _text, "email": _email, "postal_code": _postal_code, "country": _country, "count": _count,
    "counts": _counts, "flag": _flag, "choice": _choice, "choices": _choices, "polymers": _polymers,
    "operations": _operations, "date": _needed_by, "money": _money, "file": _file,
    "direction": _direction,
}  # fmt: skip
