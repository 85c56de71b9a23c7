"""The board as it is looked at: hours of every resource by week, quoted work by its chance, and what cannot be."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from machines.board import Board, board
from machines.clashes import Clash, clashes
from machines.loads import Loads
from machines.models import Machine, Plant
from quoting.planning import selectors as planning
from quoting.planning.models import Job
from quoting.quotes import chances, kept_figures
from quoting.quotes.bookings import monday
from quoting.quotes.collecting import collector_at_rest
from quoting.quotes.kept_figures import Stamp
from quoting.quotes.watched import RECORD, WORK


@dataclass(frozen=True)
class SeenBoard:
    """Board, the work on it, what was decided and is open, and the names of plants and kinds of machines."""

    board: Board
    loads: Loads
    book: chances.Book
    plants: dict[str, str]  # name by code
    machine_kinds: dict[str, str]  # by the machine's code

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        return clashes(self.board, self.loads)

    @property
    def weeks(self) -> list[date]:
        first = self.board.monday.toordinal()
        return [date.fromordinal(first + 7 * number) for number in range(self.board.available.shape[1])]

    def of(self, loads: Loads) -> np.ndarray:
        """Hours of some of the loads alone, won and quoted together, as (resources, weeks)."""
        found = board(self.board.resources, self.board.available, loads, {}, self.board.monday)
        return found.booked + found.quoted


def seen_board(first: date, weeks: int, on: date, seen: dict[str, Stamp] | None = None) -> SeenBoard:
    """The board of so many weeks from that of ``first``; queries do not grow with what is on it.

    One query where it was worked out before and nothing that it rests on has changed; ``seen`` are the counts of
    changes where the caller has read them already.
    """
    seen, start = kept_figures.stamps() if seen is None else seen, monday(first)
    return kept_figures.kept.get(
        ("board", start, weeks, on), seen, (RECORD, WORK), lambda: _worked_out(start, weeks, on, seen)
    )


def _worked_out(start: date, weeks: int, on: date, seen: dict[str, Stamp]) -> SeenBoard:
    with collector_at_rest():  # tens of thousands of loads and no cycle among them
        rows, taken, book = planning.resources(), planning.loads(start, weeks), chances.book(on, seen)
        found = board(rows, planning.available(rows, start, weeks), taken, book.chances, start)
    plants = dict(Plant.objects.order_by("code").values_list("code", "name"))
    return SeenBoard(found, taken, book, plants, dict(Machine.objects.order_by("code").values_list("code", "kind")))


def quotes_about(text: str) -> frozenset[str]:
    """Numbers of the jobs whose number, customer or part holds each of these words; one query."""
    words = text.lower().split()
    rows = Job.objects.order_by().values_list("quote", "customer", "part")
    return frozenset(row[0] for row in rows if all(word in " ".join(row).lower() for word in words))
