"""The four rate tables as files: their headings, and what one row or one sheet's rows say."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any

RESIN, LABOUR_TABLE, FREIGHT, OVERHEAD = "resin", "labour", "freight", "overhead"
LONGEST_SOURCE = 300

DATE_FORM = "a date as YYYY-MM-DD, such as 2026-12-01, or a real date of the spreadsheet"
MONEY_FORM = "dollars with a point and without thousands marks, such as 1234.50, up to four decimals"
VALID_FROM, SOURCE = "Valid from", "Source"


@dataclass(frozen=True)
class Figure:
    """One figure of a rate: its name and text as people read it, and its value as it is compared."""

    name: str
    text: str
    value: Any  # Decimal, float, whole number, text or pair


@dataclass(frozen=True)
class Entry:
    """What a file says of one rate from one day on. ``of`` names it in parts, ``rows`` are those of the file.

    ``valid_from`` is None where neither file nor person names a day.
    """

    subject: str
    of: tuple[str, ...]
    valid_from: date | None
    figures: tuple[Figure, ...]
    source: str
    rows: tuple[int, ...]


@dataclass(frozen=True)
class WrongCell:
    """A wrong cell: row of the spreadsheet (0 for the table as a whole), heading, what is there, what is accepted."""

    row: int
    column: str
    given: str
    accepted: str


@dataclass(frozen=True)
class Column:
    heading: str
    kind: str  # of ``read_value``, or date, source, value (by its key)
    may_be_empty: bool = False


@dataclass(frozen=True)
class RateTable:
    name: str
    label: str
    columns: tuple[Column, ...]

    @property
    def headings(self) -> tuple[str, ...]:
        return tuple(column.heading for column in self.columns)


RATE = "Rate"
_DATED = (Column(VALID_FROM, "date", may_be_empty=True), Column(SOURCE, "source", may_be_empty=True))
_KEYED = (Column(RATE, "text"), Column("Value", "value"), *_DATED)
SHEET, FROM_WEIGHT, PRICE = "Sheet", "From order weight", "Price per pound ($)"
COLOUR, LEAST_ORDER, REGRIND = "Colour charge per order ($)", "Minimum order", "Regrind value per pound ($)"
PLANT, RATE_FOR, CODE, HOURLY = "Plant", "Rate for", "Machine or trimmer", "Rate per hour ($)"

TABLES: Mapping[str, RateTable] = MappingProxyType(
    {
        table.name: table
        for table in (
            RateTable(
                RESIN,
                "Resin and sheet",
                (
                    Column(SHEET, "text"), Column(FROM_WEIGHT, "mass"), Column(PRICE, "money"), Column(COLOUR, "money"),
                    Column(LEAST_ORDER, "mass"), Column(REGRIND, "money"), *_DATED,
                ),
            ),
            RateTable(
                LABOUR_TABLE,
                "Labour and machine hours",
                (
                    Column(PLANT, "text"), Column(RATE_FOR, "text"), Column(CODE, "text", may_be_empty=True),
                    Column(HOURLY, "money"), *_DATED,
                ),
            ),
            RateTable(FREIGHT, "Freight", _KEYED),
            RateTable(OVERHEAD, "Overhead and other rates", _KEYED),
        )
    }
)  # fmt: skip


def table_of(key: str) -> str:
    """The table in which the rate of a key stands.

    Parameters
    ----------
    key : str
        Such as ``freight.circuity`` [-].

    Returns
    -------
    table : str
        [-]

    Examples
    --------
    >>> table_of("freight.circuity"), table_of("price.overhead")
    ('freight', 'overhead')
    """
    return FREIGHT if key.startswith("freight.") else OVERHEAD
