"""Whether jobs keep their day: those done by the day of delivery, open ones by the last week they are booked in.

Bookings know weeks only, so an open job counts as in time where its last booked week begins on or before its due day.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Count, F, FloatField, Max, Q, QuerySet, Sum
from django.db.models.functions import Cast

from machines.models import Booking
from quoting.planning.models import DONE, WON, BenchHours, Job

IN_TIME, LATE, OVERDUE, NOT_BOOKED = "in time", "late", "overdue", "not booked"
DELIVERED_IN_TIME, DELIVERED_LATE = "delivered in time", "delivered late"
KEPT = (IN_TIME, DELIVERED_IN_TIME)
BACK_DAYS = 730  # days: delivered jobs of two years count; no price or date rests on it; common practice, no source


@dataclass(frozen=True)
class Promise:
    """One won job: what was promised, and what the board or the dock says to it."""

    quote: str
    part: str
    customer: str
    plant: str
    machine: str
    due: date
    delivered: date | None
    last_week: date | None  # Monday of the last week with hours of it
    hours: float  # it needs on the former
    booked: float  # of them on the board
    value: Decimal
    margin: float
    standing: str

    @property
    def kept(self) -> bool:
        return self.standing in KEPT

    @property
    def weeks_late(self) -> int:
        """Weeks, rounded up, from its due day to its delivery, or to the Monday of its last booked week."""
        end = self.delivered or self.last_week
        return 0 if self.kept or end is None else max(0, -(-(end - self.due).days // 7))


def standing(due: date, delivered: date | None, is_done: bool, last_week: date | None, on: date) -> str:
    """The word for one job.

    >>> monday = date(2026, 11, 30)
    >>> standing(date(2026, 12, 2), None, False, monday, date(2026, 11, 25))
    'in time'
    >>> standing(date(2026, 11, 27), None, False, monday, date(2026, 11, 25))
    'late'
    >>> standing(date(2026, 11, 20), None, False, monday, date(2026, 11, 25))
    'overdue'
    """
    if is_done and delivered:
        return DELIVERED_IN_TIME if delivered <= due else DELIVERED_LATE
    if due < on:
        return OVERDUE
    if last_week is None:
        return NOT_BOOKED
    return IN_TIME if last_week <= due else LATE


def counted(on: date) -> QuerySet[Job]:
    """Jobs that promised something: every won one that is open, and those delivered in the last two years."""
    return Job.objects.filter(Q(state=WON) | Q(state=DONE, delivered__gte=on - timedelta(days=BACK_DAYS)))


def promises(on: date, **which: object) -> tuple[Promise, ...]:
    """Those jobs by due day, all or which of them a filter leaves; three queries."""
    rows = counted(on).filter(**which).order_by("due", "quote")
    return told(rows, on, _booked(rows.values("quote").order_by() if which else None))


def promises_of(plant: str, on: date, first: int, end: int) -> tuple[Promise, ...]:
    """So many of the jobs of one plant, the latest due day first; four queries."""
    rows = counted(on).filter(machine__plant__code=plant).order_by("-due", "quote")[first:end]
    return told(rows, on, _booked([row.quote for row in rows.only("quote")]))


def told(rows: QuerySet[Job], on: date, booked: dict[str, tuple[date, float]]) -> tuple[Promise, ...]:
    """What board or dock say to each of these jobs."""
    return tuple(_promise(row, booked, on) for row in rows.values_list(*_COLUMNS))


@dataclass(frozen=True)
class Delivered:
    """Jobs delivered in the last two years, counted for one plant. ``weighted`` is the sum of margin x value."""

    jobs: int
    kept: int
    value: Decimal
    weighted: float


def delivered(on: date) -> dict[str, Delivered]:
    """Added up by the database, by plant; one query."""
    rows = counted(on).filter(state=DONE).order_by().values_list("machine__plant__code")
    sums = rows.annotate(
        jobs=Count("pk"), kept=Count("pk", filter=Q(delivered__lte=F("due"))), worth=Sum("value"),
        weighted=Sum(F("margin") * Cast("value", FloatField())),
    )  # fmt: skip
    return {plant: Delivered(*found) for plant, *found in sums}


_COLUMNS = (
    "quote", "part", "customer", "machine__plant__code", "machine__code", "due", "delivered", "hours", "value",
    "margin", "state",
)  # fmt: skip


def _booked(quotes: object = None) -> dict[str, tuple[date, float]]:
    """Last week and hours on the former of each job with firm hours; hours beside the former move the week alone.

    Of these quotes, a list or a query, or of all of them.
    """
    firm = Booking.objects.filter(firm=True).exclude(quote="")
    beside = BenchHours.objects.filter(job__state=WON)
    if quotes is not None:
        firm, beside = firm.filter(quote__in=quotes), beside.filter(job__quote__in=quotes)
    sums = firm.order_by().values_list("quote").annotate(last=Max("week"), all=Sum("hours"))
    found = {quote: (week, hours) for quote, week, hours in sums}
    for quote, week in beside.order_by().values_list("job__quote").annotate(last=Max("week")):
        last, hours = found.get(quote, (week, 0.0))
        found[quote] = (max(last, week), hours)
    return found


def _promise(row: tuple, booked: dict[str, tuple[date, float]], on: date) -> Promise:
    quote, part, customer, plant, machine, due, delivered, hours, value, margin, state = row
    week, taken = booked.get(quote, (None, 0.0))
    word = standing(due, delivered, state == DONE, week, on)
    return Promise(
        quote, part, customer, plant, machine, due, delivered, week, hours, taken, value, margin, word
    )  # fmt: skip
