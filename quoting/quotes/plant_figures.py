"""Plants side by side: load ahead, margin of won work, promises kept, quotes won, days to a quote; with inputs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from statistics import median

from django.db.models import Min

from machines.board import share
from quoting.intake.planning_rates import PlanningRates
from quoting.planning.models import Job
from quoting.planning.promises import Promise, promises
from quoting.quotes.boards import SeenBoard
from quoting.quotes.chances import SENT_BY, Decided, decided, since
from quoting.quotes.models import QUOTE, AuditEntry

NEAR, FAR = 4, 12  # weeks ahead; the trade plans a month closely and a quarter roughly; common practice, no source
FORMING = "forming"
DAY = 86_400.0  # s


@dataclass(frozen=True)
class Ahead:
    """Hours of the formers of a plant in the next weeks: won, quoted by chance, available."""

    weeks: int
    won: float
    weighted: float
    available: float

    @property
    def share(self) -> float:
        return share(self.won + self.weighted, self.available)


@dataclass(frozen=True)
class Sent:
    """A quote with the moments between which the customer waited."""

    quote: str
    inquiry: str
    created: datetime
    sent: datetime

    @property
    def days(self) -> float:
        return (self.sent - self.created).total_seconds() / DAY


@dataclass(frozen=True)
class PlantFigures:
    """The figures of one plant, each worked out of the rows beside it; None where there are no such rows."""

    code: str
    name: str
    ahead: tuple[Ahead, ...]
    promises: tuple[Promise, ...]
    decided: tuple[Decided, ...]
    sent: tuple[Sent, ...]

    @property
    def value(self) -> Decimal:
        return sum((one.value for one in self.promises), Decimal(0))

    @property
    def margin(self) -> float | None:
        """Margin of won jobs, weighted by their value [share]."""
        value = float(self.value)
        return sum(one.margin * float(one.value) for one in self.promises) / value if value else None

    @property
    def kept(self) -> int:
        return sum(one.kept for one in self.promises)

    @property
    def on_time(self) -> float | None:
        return self.kept / len(self.promises) if self.promises else None

    @property
    def won(self) -> int:
        return sum(one.won for one in self.decided)

    @property
    def win_rate(self) -> float | None:
        return self.won / len(self.decided) if self.decided else None

    @property
    def days(self) -> float | None:
        return median(one.days for one in self.sent) if self.sent else None


@dataclass(frozen=True)
class Compared:
    """All plants, and how many decided and sent quotes belong to none, since no job was kept of them."""

    plants: tuple[PlantFigures, ...]
    decided_nowhere: int
    sent_nowhere: int


def compared(seen: SeenBoard, on: date) -> Compared:
    """The plants of a board that has at least twelve weeks; six queries more than the board's."""
    of_quote = dict(Job.objects.order_by().values_list("quote", "machine__plant__code"))
    kept, sent, past = promises(on), tuple(_sent(on, seen.book.rates)), decided(on, seen.book.rates)
    plants = tuple(
        PlantFigures(
            code, name, tuple(_ahead(seen, code, weeks) for weeks in (NEAR, FAR)),
            tuple(one for one in kept if one.plant == code),
            tuple(one for one in past if of_quote.get(one.quote) == code),
            tuple(one for one in sent if of_quote.get(one.quote) == code),
        )
        for code, name in seen.plants.items()
    )  # fmt: skip
    return Compared(
        plants,
        sum(one.quote not in of_quote for one in past),
        sum(one.quote not in of_quote for one in sent),
    )


def _ahead(seen: SeenBoard, plant: str, weeks: int) -> Ahead:
    board = seen.board
    rows = [number for number, row in enumerate(board.resources) if row.plant == plant and row.kind == FORMING]
    hours = (float(array[rows, :weeks].sum()) for array in (board.booked, board.weighted, board.available))
    return Ahead(weeks, *hours)


def _sent(on: date, rates: PlanningRates) -> Iterable[Sent]:
    """First sending of each quote that was asked for as far as the record goes back."""
    rows = AuditEntry.objects.filter(action__in=SENT_BY, quote__kind=QUOTE, inquiry__created_at__gte=since(on, rates))
    columns = ("quote__number", "inquiry__number", "inquiry__created_at")
    for quote, inquiry, created, first in rows.order_by().values_list(*columns).annotate(first=Min("at")):
        yield Sent(quote, inquiry, created, first)
