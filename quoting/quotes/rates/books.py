"""The four rate tables by name, and what is in force in them on a day."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from quoting.intake.rate_tables import FREIGHT, LABOUR_TABLE, OVERHEAD, RESIN, Entry, WrongCell
from quoting.quotes.rates.changes import Kept, Preview, in_force
from quoting.quotes.rates.hours import HourBook
from quoting.quotes.rates.keyed import KeyedBook
from quoting.quotes.rates.resin import SheetBook


class Book(Protocol):
    """One rate table of the house."""

    def timelines(self) -> dict[str, tuple[Kept, ...]]: ...

    def refused(self, entries: Iterable[Entry]) -> list[WrongCell]: ...

    def refused_together(self, preview: Preview) -> list[WrongCell]: ...

    def write(self, entry: Entry, source: str) -> None: ...


BOOKS: Mapping[str, Book] = {
    RESIN: SheetBook(),
    LABOUR_TABLE: HourBook(),
    FREIGHT: KeyedBook(FREIGHT),
    OVERHEAD: KeyedBook(OVERHEAD),
}


@dataclass(frozen=True)
class Standing:
    """One rate as it stands on a day, and the day on which the next row begins."""

    subject: str
    kept: Kept
    next_from: date | None


def standing(table: str, on: date) -> tuple[Standing, ...]:
    """Every rate of a table that is in force on a day."""
    found = []
    for subject, timeline in BOOKS[table].timelines().items():
        kept = in_force(timeline, on)
        if kept is not None:
            begin = [one.valid_from for one in timeline if one.valid_from is not None and one.valid_from > on]
            found.append(Standing(subject, kept, min(begin, default=None)))
    return tuple(found)
