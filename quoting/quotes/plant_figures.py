"""Plants side by side: load ahead, margin of won work, promises kept, quotes won, days to a quote; with inputs."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from statistics import median

from django.db.models import Min, QuerySet

from machines.board import share
from machines.models import Machine
from quoting.intake.planning_rates import PlanningRates
from quoting.planning.models import WON, Job
from quoting.planning.promises import Delivered, Promise, delivered, promises, promises_of
from quoting.quotes import chances, kept_figures
from quoting.quotes.boards import SeenBoard
from quoting.quotes.chances import SENT_BY, Decided, since
from quoting.quotes.models import QUOTE, AuditEntry
from quoting.quotes.watched import RECORD, WORK

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
    """The figures of one plant and how many rows each was worked out of; None where there are no such rows."""

    code: str
    name: str
    ahead: tuple[Ahead, ...]
    jobs: int  # won, with a promise
    kept: int
    value: Decimal
    weighted: float  # sum of margin x value
    won: int
    decided: int
    sent: int
    days: float | None  # median from logging an inquiry to first sending its quote

    @property
    def margin(self) -> float | None:
        """Margin of won jobs, weighted by their value [share]."""
        return self.weighted / float(self.value) if self.value else None

    @property
    def on_time(self) -> float | None:
        return self.kept / self.jobs if self.jobs else None

    @property
    def win_rate(self) -> float | None:
        return self.won / self.decided if self.decided else None

    @property
    def most(self) -> int:
        """Rows of the longest of its lists."""
        return max(self.jobs, self.decided, self.sent)


@dataclass(frozen=True)
class PlantRows:
    """Some of the rows that the figures of a plant rest on, of each list the latest first."""

    promises: tuple[Promise, ...]
    decided: tuple[Decided, ...]
    sent: tuple[Sent, ...]


@dataclass(frozen=True)
class Compared:
    """All plants, and how many decided and sent quotes belong to none, since no job was kept of them."""

    plants: tuple[PlantFigures, ...]
    decided_nowhere: int
    sent_nowhere: int


def compared(seen: SeenBoard, on: date) -> Compared:
    """The plants of a board that has at least twelve weeks; seven queries more than the board's.

    One where nothing has changed since they were compared.
    """
    name = ("plants", seen.board.monday, seen.board.available.shape[1], on)
    counts = kept_figures.stamps()
    return kept_figures.kept.get(name, counts, (RECORD, WORK), lambda: _worked_out(seen, on))


def _worked_out(seen: SeenBoard, on: date) -> Compared:
    plant_of = dict(Machine.objects.order_by().values_list("pk", "plant__code"))
    past, won = delivered(on), promises(on, state=WON)
    outcomes, days = chances.decided_counts(on, seen.book.rates), _days(on, seen.book.rates)
    return Compared(
        tuple(
            _figures(
                seen, code, past.get(code, NONE_DELIVERED), [one for one in won if one.plant == code],
                [outcomes[machine] for machine in outcomes if plant_of.get(machine) == code],
                [one for machine in days if plant_of.get(machine) == code for one in days[machine]],
            )
            for code in seen.plants
        ),
        sum(outcomes.get(None, ())), len(days.get(None, ())),
    )  # fmt: skip


NONE_DELIVERED = Delivered(0, 0, Decimal(0), 0.0)


def _figures(
    seen: SeenBoard, code: str, past: Delivered, won: list[Promise], outcomes: list[list[int]], days: list[float]
) -> PlantFigures:
    return PlantFigures(
        code, seen.plants[code], tuple(_ahead(seen, code, weeks) for weeks in (NEAR, FAR)),
        past.jobs + len(won), past.kept + sum(one.kept for one in won),
        past.value + sum((one.value for one in won), Decimal(0)),
        past.weighted + sum(one.margin * float(one.value) for one in won),
        sum(one[0] for one in outcomes), sum(map(sum, outcomes)),
        len(days), median(days) if days else None,
    )  # fmt: skip


def _ahead(seen: SeenBoard, plant: str, weeks: int) -> Ahead:
    board = seen.board
    rows = [number for number, row in enumerate(board.resources) if row.plant == plant and row.kind == FORMING]
    hours = (float(array[rows, :weeks].sum()) for array in (board.booked, board.weighted, board.available))
    return Ahead(weeks, *hours)


def rows_of(plant: str, on: date, rates: PlanningRates, first: int, end: int) -> PlantRows:
    """So many rows of each list behind the figures of a plant; six queries."""
    own = Job.objects.filter(machine__plant__code=plant).order_by().values("quote")
    columns = ("quote__number", "inquiry__number", "inquiry__created_at")
    sent = _sent(on, rates).filter(quote__number__in=own).values_list(*columns).annotate(first=Min("at"))
    return PlantRows(
        promises_of(plant, on, first, end), chances.decided(on, rates, plant, first, end),
        tuple(Sent(*row) for row in sent.order_by("-first", "quote__number")[first:end]),
    )  # fmt: skip


def _sent(on: date, rates: PlanningRates) -> QuerySet[AuditEntry]:
    """Each sending of a quote that was asked for as far as the record goes back."""
    asked = {"inquiry__created_at__gte": since(on, rates)}
    return AuditEntry.objects.filter(action__in=SENT_BY, quote__kind=QUOTE, **asked).order_by()


def _days(on: date, rates: PlanningRates) -> dict[int | None, list[float]]:
    """Days from logging to the first sending of each quote, by the machine of its job; None where none was kept."""
    machine_of = dict(Job.objects.order_by().values_list("quote", "machine_id"))
    found: dict[int | None, list[float]] = {}
    rows = _sent(on, rates).values_list("quote__number", "inquiry__created_at").annotate(first=Min("at"))
    for quote, created, first in rows:
        found.setdefault(machine_of.get(quote), []).append((first - created).total_seconds() / DAY)
    return found
