"""What changed in the data, as people read it: the forms' names, the reader's units, money as money, dates as dates."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoting.desk import labels
from quoting.desk.templatetags.desk import day, money, plain_value
from quoting.desk.unit_fields import shown_in_both
from quoting.intake.catalog_fields import MACHINE, NEED, OFFER, PLANT, POLYMER_PROPERTIES, ListOf, Shape
from quoting.intake.catalog_values import MEASURES
from quoting.intake.rates_file import rate_kind
from quoting.quotes.differences import ABSENT, PLACES, Changed, DataLine, Line

SHAPES: Mapping[str, Shape] = {PLACES["plants"]: PLANT, PLACES["machines"]: MACHINE, PLACES["offers"]: OFFER}
EXACT, OR_NULL = "exact_", "_or_null"


@dataclass(frozen=True)
class Shown:
    """What the page shows of ``Changed``."""

    known: bool
    same_answer: bool
    data: tuple[Line, ...]
    answer: tuple[Line, ...]
    left_out: int


def shown(changed: Changed) -> Shown:
    lines = tuple(map(line_of, changed.data))
    return Shown(changed.known, changed.same_answer, lines, changed.answer, changed.left_out)


def line_of(one: DataLine) -> Line:
    """One stored value with name and units; where both sides look the same once rounded, all digits stand there.

    >>> line_of(DataLine("Machines", ("T1",), ("oven", "clearance_below"), 0.3048, 0.254))
    Line(section='Machines', what='T1: oven, clearance below', old='12.00 in (305 mm)', new='10.00 in (254 mm)')
    >>> line_of(DataLine("Rates", (), ("price", "overhead"), "0.12", "0.2")).new
    '20 %'
    """
    kind = kind_of(one)
    old, new = (value_of(value, kind) for value in (one.old, one.new))
    if old == new:
        old, new = (f"{text} [{plain_value(value)}]" for text, value in ((old, one.old), (new, one.new)))
    return Line(one.section, name_of(one), old, new)


def name_of(one: DataLine) -> str:
    """Rows, then the field, as the forms name them; a rate with the key under which it is kept.

    >>> name_of(DataLine("Rates", ("insert",), ("operations", "seconds"), "40", "50"))
    'Operations, threaded inserts: seconds (operations.insert.seconds)'
    """
    words = ", ".join(key.replace("_", " ") for key in one.keys)
    if one.section == PLACES["workload"]:
        return f"{one.rows[0]}, week of {day(one.rows[1])}: {words}"
    if one.section == PLACES["rates"] and len(one.keys) > 1:
        rows = "".join(f", {labels.said(row)}" for row in one.rows)
        field = ", ".join(key.replace("_", " ") for key in _rate_fields(one))
        return f"{one.keys[0].replace('_', ' ').capitalize()}{rows}: {field} ({rate_key(one)})"
    if one.section == PLACES["corrections"]:
        words = one.keys[-1]
    return f"{', '.join(map(labels.said, one.rows))}: {words}" if one.rows else words


def rate_key(one: DataLine) -> str:
    """The key of the row of the rate tables, such as ``tooling.plug.price``."""
    section = {"coatings": "coating", "spreads": "error"}.get(one.keys[0], one.keys[0])
    return ".".join((section, *one.rows, *_rate_fields(one)))


def _rate_fields(one: DataLine) -> tuple[str, ...]:
    return one.keys[2:] if one.keys[:2] == ("tool_room", "tools") else one.keys[1:]  # the tools are rows of their own


def kind_of(one: DataLine) -> str:
    """The kind of value as the files and forms read it; empty where a value is plain text or a number."""
    if one.section == PLACES["rates"]:
        return rate_kind(rate_key(one)) or ""
    if one.section == PLACES["polymers"]:
        return POLYMER_PROPERTIES.get(one.keys[-1]) or _within(NEED, one.keys[-1:])
    if one.section == PLACES["workload"]:
        return "hours"
    if one.section == PLACES["corrections"]:
        return ""
    return _within(SHAPES[one.section], one.keys)


def _within(shape: Shape, keys: tuple[str, ...]) -> str:
    found: Any = shape
    for key in keys:
        found = found.shape if isinstance(found, ListOf) else found
        found = found.kinds.get(key, "") if isinstance(found, Shape) else ""
    return found if isinstance(found, str) else ""


def value_of(value: Any, kind: str) -> str:
    """A stored value in the reader's words.

    >>> value_of("22.5", "money"), value_of("2027-01-31", "date_or_null"), value_of(True, "flag")
    ('$22.50', '31 Jan 2027', 'yes')
    """
    bare = kind.removesuffix(OR_NULL)
    if value is None:
        return ABSENT
    if bare == "money":
        return money(value, max(2, -Decimal(value).normalize().as_tuple().exponent))
    if bare == "date":
        return day(value)
    if isinstance(value, list) and value and all(isinstance(one, list) for one in value):
        return ", ".join(" at ".join(map(plain_value, one)) for one in value)
    measure = bare.removeprefix(EXACT)
    if measure in MEASURES:
        return shown_in_both(float(value), measure)
    if isinstance(value, float):
        return f"{value:.6g}"
    return plain_value(value)
