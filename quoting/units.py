"""Text to SI and SI to text: the only file that imports pint.

In: our own strict grammar reads the number exactly and finds the unit in a short list for its kind; only then pint
converts, from a (number, unit) pair and in exact fractions, so that 48 in and 1219.2 mm are the same float.
Out: ``show`` and ``spoken`` write a figure in the reader's units.
"""

import re
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import isinf, isnan

import pint

from quoting.unit_names import ACCEPTED, TARGET, UNITS
from quoting.words import Words

LONGEST_TEXT = 40  # characters; the longest sensible entry, 12'-11 15/16" with spaces, has 20
ABSOLUTE_ZERO = 0.0  # K

_MARKS = str.maketrans(
    {"’": "'", "‘": "'", "′": "'", "”": '"', "“": '"', "″": '"', "−": "-", "µ": "u", "μ": "u", "²": "2", "³": "3"}
)  # fmt: skip
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = r"(?:(?:[0-9]{1,6}(?: |-))?[0-9]{1,5}/[0-9]{1,5}|[0-9]{1,12}(?:\.[0-9]{1,12})?|\.[0-9]{1,12})"
_ENTRY = re.compile(rf"(?P<sign>-?)(?P<number>{_NUMBER}) ?(?P<unit>(?:1/)?[^0-9 .,+-].*)?")
_FEET_INCHES = re.compile(
    rf"(?P<feet>[0-9]{{1,4}}) ?(?:ft\.?|foot|feet|') ?-? ?(?P<number>{_NUMBER}) ?(?:in\.?|inch|inches|\")"
)
_MONEY = re.compile(r"[0-9]{1,9}(\.[0-9]{1,4})?")


class UnitError(ValueError):
    """A text that we do not read: what was ``given`` (shortened), and what is ``accepted``."""

    def __init__(self, given: str, accepted: str):
        self.given, self.accepted = given, accepted
        super().__init__(given, accepted)

    def __str__(self) -> str:
        return f"got {self.given}; accepted is {self.accepted}"


def accepted(kind: str) -> str:
    """The sentence part that says what is read for ``kind``.

    >>> accepted("angle")
    'an angle with its unit, such as 3 deg'
    """
    return ACCEPTED[kind]


def shortened(value: object, longest: int = 60) -> str:
    """What was given, as one short printable line; never slow, whatever the value.

    >>> shortened("48"), shortened(None), shortened(True), shortened([1])
    ('"48"', 'null', 'true', 'a list')
    """
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, str):
        shown = "".join(mark if mark.isprintable() else "?" for mark in value[:longest])
        return f'"{shown}"' if len(value) <= longest else f'"{shown}..." ({len(value)} characters)'
    if isinstance(value, int):
        return str(value) if value.bit_length() < 200 else "a number of more than 60 digits"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, dict):
        return "an object"
    return "a list" if isinstance(value, (list, tuple)) else f"a {type(value).__name__}"


def read(text: object, kind: str) -> float:
    """The SI value of a text such as ``4'-6 1/2"``; hours, weeks and pcf come in these units.

    Parameters
    ----------
    text : str
        Number and unit, at most 40 characters [-].
    kind : str
        A key of the unit lists, such as length [-].

    Returns
    -------
    value : float
        [SI unit of the kind]

    Raises
    ------
    UnitError
        The text is not in the grammar, or its unit is not one of the kind.

    Examples
    --------
    >>> round(read("4'-6 1/2\\"", "length"), 6), read("1219.2 mm", "length") == read("48 in", "length")
    (1.3843, True)
    """
    clean = _cleaned(text, kind)
    if kind == "length" and (both := _FEET_INCHES.fullmatch(clean)):
        inches = _exact(both["number"])
        if inches is None or inches >= 12:
            raise _refusal(text, kind, "inches below 12 after feet")
        return _converted(int(both["feet"]) * 12 + inches, "inch", kind)
    entry = _ENTRY.fullmatch(clean)
    number = _exact(entry["number"]) if entry else None
    if entry is None or number is None:
        raise _refusal(text, kind, _slip(clean))
    if entry["sign"] and kind != "temperature":
        raise _refusal(text, kind, "without a sign")
    return _with_unit(text, -number if entry["sign"] else number, entry["unit"], kind)


def read_money(text: object) -> Decimal:
    """An amount of money as typed.

    >>> read_money("12.50")
    Decimal('12.50')
    """
    if not isinstance(text, str) or len(text) > LONGEST_TEXT or not _MONEY.fullmatch(text.strip()):
        raise UnitError(shortened(text), accepted("money"))
    return Decimal(text.strip())


def _cleaned(text: object, kind: str) -> str:
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        raise UnitError(shortened(text), accepted(kind))
    for mark, fraction in _VULGAR.items():
        text = text.replace(mark, f" {fraction} ")
    return " ".join(text.translate(_MARKS).split()).replace(" /", "/").replace("- ", "-").replace("' -", "'-")


def _exact(number: str) -> Fraction | None:
    """The number as an exact fraction; None for a zero denominator or an improper mixed number."""
    if "/" not in number:
        return Fraction(number)
    whole, _, fraction = number.replace("-", " ").rpartition(" ")
    top, bottom = (int(part) for part in fraction.split("/"))
    if bottom == 0 or (whole and top >= bottom):
        return None
    return int(whole or 0) + Fraction(top, bottom)


def _with_unit(text: object, number: Fraction, spelling: str | None, kind: str) -> float:
    if spelling is None:
        if kind == "share" and _is_plain_share(str(text).strip()):
            return float(number)
        raise _refusal(text, kind, "the unit is missing" if kind != "share" else "")
    unit = _spellings(kind).get(spelling) or _spellings(kind).get(_sober(spelling))
    if unit is None:
        raise _refusal(text, kind, f"unit {shortened(spelling, 20)} is not one we read here")
    return _converted(number, unit, kind, text)


def _is_plain_share(text: str) -> bool:
    """A bare share has a decimal point (or is 0 or 1), so that 85 is never taken for 8500 %."""
    return text in ("0", "1") or ("." in text and Fraction(text) < 10)


def _sober(spelling: str) -> str:
    """IN, Inches, PSI as they are usually written; a mixed spelling such as Mm stays as it is and is refused."""
    return spelling.lower() if spelling.isupper() or (len(spelling) >= 4 and spelling.istitle()) else spelling


@cache
def _spellings(kind: str) -> dict[str, str]:
    return {spelling: unit for unit, spellings in UNITS[kind].items() for spelling in spellings}


@cache
def _registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(non_int_type=Fraction)


@cache
def _scale(unit: str, target: str) -> tuple[Fraction, Fraction]:
    """(factor, offset) of the exact conversion target = factor * number + offset."""
    zero, one = (_registry().Quantity(Fraction(n), unit).to(target).magnitude for n in (0, 1))
    return Fraction(one) - Fraction(zero), Fraction(zero)


def _converted(number: Fraction, unit: str, kind: str, text: object = "") -> float:
    factor, offset = _scale(unit, TARGET[kind])
    value = float(number * factor + offset)
    if kind == "temperature" and value < ABSOLUTE_ZERO:
        raise _refusal(text, kind, "not below absolute zero")
    return value


def _slip(clean: str) -> str:
    if "," in clean:
        return "with a decimal point, without a comma"
    return ""


def _refusal(text: object, kind: str, hint: str) -> UnitError:
    return UnitError(shortened(text), accepted(kind) + (f" ({hint})" if hint else ""))


# Out --------------------------------------------------------------------------------------------------------------


def _fixed(value: float, digits: int) -> str:
    shown = f"{value:.{digits}f}"
    return shown.lstrip("-") if not shown.strip("-0.") else shown  # never "-0.00"


def _stepped(*steps: tuple[float, int]):
    """A writer with so many digits below each step, none beyond the last; 9.9999999999 counts as 10."""

    def write(value: float) -> str:
        return _fixed(value, next((digits for below, digits in steps if abs(value) * (1 + 1e-9) < below), 0))

    return write


# unit -> ((pint unit, label, writer) for US, the same for SI), by rising size: (smaller than, us, si)
_BY_TWO, _BY_ONE, _WHOLE = _stepped((1e15, 2)), _stepped((1e15, 1)), _stepped()
_SIZES = _stepped((10, 2), (100, 1))
_KG_M3 = ("kilogram/meter**3", "kg/m³", _SIZES)
_Form = tuple[str, str, object]
_SHOWN: dict[str, tuple[str, tuple[tuple[float, _Form, _Form], ...]]] = {
    "m": ("meter", (
        (0.02539, ("inch", "in", _stepped((1, 3))), ("millimeter", "mm", _BY_TWO)),
        (0.6, ("inch", "in", _BY_TWO), ("millimeter", "mm", _stepped((100, 1)))),
        (1500, ("inch", "in", _BY_ONE), ("millimeter", "mm", _stepped())),
        (1e99, ("mile", "miles", _WHOLE), ("kilometer", "km", _WHOLE)),
    )),
    "m2": ("meter**2", (
        (0.009, ("inch**2", "in²", _SIZES), ("centimeter**2", "cm²", _SIZES)),
        (1e99, ("foot**2", "ft²", _SIZES), ("meter**2", "m²", _stepped((1, 3), (10, 2), (100, 1)))),
    )),
    "m3": ("meter**3", ((1e99, ("foot**3", "ft³", _SIZES), ("meter**3", "m³", _stepped((1, 3), (100, 2)))),)),
    "K": ("kelvin", ((1e99, ("degF", "°F", _WHOLE), ("degC", "°C", _WHOLE)),)),
    "delta_K": ("kelvin", ((1e99, ("delta_degF", "°F", _stepped((20, 1))), ("delta_degC", "°C", _stepped((20, 1)))),)),
    "Pa": ("pascal", (
        (1e7, ("psi", "psi", _SIZES), ("kilopascal", "kPa", _SIZES)),
        (1e99, ("ksi", "ksi", _SIZES), ("megapascal", "MPa", _SIZES)),
    )),
    "N": ("newton", (
        (8896.0, ("pound_force", "lbf", _SIZES), ("newton", "N", _SIZES)),
        (1e99, ("force_ton", "tons", _BY_ONE), ("kilonewton", "kN", _SIZES)),
    )),
    "kg": ("kilogram", ((1e99, ("pound", "lb", _SIZES), ("kilogram", "kg", _SIZES)),)),
    "kg/m3": ("kilogram/meter**3", ((1e99, ("pound/foot**3", "lb/ft³", _SIZES), _KG_M3),)),
    "m/s": ("meter/second", ((1e99, ("inch/minute", "in/min", _SIZES), ("meter/minute", "m/min", _SIZES)),)),
    "rad": ("radian", ((1e99, ("degree", "deg", _BY_ONE), ("degree", "deg", _BY_ONE)),)),
    "J/kg": ("joule/kilogram", ((1e99, *(("kilojoule/kilogram", "kJ/kg", _SIZES),) * 2),)),
    "J": ("joule", ((1e99, ("kilojoule", "kJ", _SIZES), ("kilojoule", "kJ", _SIZES)),)),
}  # fmt: skip
_PLAIN = {
    "s": lambda v: f"{_stepped((100, 1))(v)} s",
    "-": _BY_TWO,
    "share": lambda v: f"{_stepped((10, 1))(100 * v)} %",
    "count": lambda v: f"{v:,.0f}",
    "h": lambda v: f"{_BY_ONE(v)} h",
    "weeks": lambda v: f"{v:g} week" + ("" if v == 1 else "s") if v == round(v) else f"{_BY_ONE(v)} weeks",
    "pcf": lambda v: f"{_SIZES(v)} pcf",
    "$": lambda v: f"${v:,.2f}" if v >= 0 else f"-${-v:,.2f}",
}


def show(value: float, unit: str, system: str = "us") -> str:
    """One figure in the reader's units.

    Parameters
    ----------
    value : float
        [``unit``]
    unit : str
        SI unit as in ``quoting.words.Figure``; an unknown one is written behind the plain number [-].
    system : str
        us, si or both [-].

    Returns
    -------
    text : str
        [-]

    Examples
    --------
    >>> show(0.3048, "m"), show(0.3048, "m", "si"), show(0.0047498, "m", "both")
    ('12.00 in', '305 mm', '0.187 in (4.75 mm)')
    """
    value = float(value)
    if isnan(value) or isinf(value):
        return "unknown" if isnan(value) else "no limit"
    if unit in _PLAIN:
        return _PLAIN[unit](value)
    if unit not in _SHOWN:
        return f"{value:.4g} {unit}".strip()
    source, forms = _SHOWN[unit]
    us, si = next(((us, si) for below, us, si in forms if abs(value) < below), forms[-1][1:])
    if system == "both" and us != si:
        return f"{_written(value, source, us)} ({_written(value, source, si)})"
    return _written(value, source, si if system == "si" else us)


def _written(value: float, source: str, form: _Form) -> str:
    unit, label, write = form
    factor, offset = _scale(source, unit)
    return f"{write(value * float(factor) + float(offset))} {label}"


def spoken(words: Words, system: str = "both") -> str:
    """The sentence with its figures filled in.

    >>> from quoting.words import words
    >>> spoken(words("the draw is {depth}", depth=(0.3048, "m")))
    'the draw is 12.00 in (305 mm)'
    """
    return _filled(words.text, {figure.name: (figure.value, figure.unit) for figure in words.figures}, system)


def spoken_plain(mapping: dict, system: str = "both") -> str:
    """The same for the stored form: {"text": ..., "figures": [{"name", "value", "unit"}]}.

    >>> spoken_plain({"text": "{n} parts", "figures": [{"name": "n", "value": 5, "unit": "count"}]})
    '5 parts'
    """
    figures = {figure["name"]: (figure["value"], figure["unit"]) for figure in mapping.get("figures", ())}
    return _filled(mapping["text"], figures, system)


def _filled(text: str, figures: dict[str, tuple[float, str]], system: str) -> str:
    def fill(match: re.Match) -> str:
        return show(*figures[match[1]], system) if match[1] in figures else match[0]

    return re.sub(r"\{(\w+)\}", fill, text)
