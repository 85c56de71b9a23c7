"""How likely each open quote is to be won: from what was won and lost, by dated rates, with the basis of it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cache

from django.db.models import Case, Count, IntegerField, Min, OuterRef, QuerySet, Value, When
from django.utils import timezone

from machines.winning import Chance, Record, WinningRates, chance_of_winning, size_band
from quoting.intake.planning_rates import PlanningRates
from quoting.planning.models import Job
from quoting.quotes import selectors
from quoting.quotes.models import APPROVED, QUOTE, SENT, AuditEntry, Inquiry

WON_BY, LOST_BY, SENT_BY = "quote_won", "quote_lost", ("quote_send", "quote_mail")


@dataclass(frozen=True)
class Decided:
    """A quote that was won or lost, as the record of deeds has it. ``size`` is None where no job was kept of it."""

    quote: str
    inquiry: str
    company: str
    won: bool
    on: date
    size: Decimal | None


@dataclass(frozen=True)
class OpenQuote:
    """A quote that waits for the customer (sent) or for its sending (approved), and its chance."""

    quote: str
    inquiry: str
    company: str
    state: str
    sent: date | None
    age: int  # days since it was sent, 0 before
    size: Decimal | None
    band: int | None
    chance: Chance


@dataclass(frozen=True)
class Records:
    """How many quotes were won and lost: of all, of each customer, and of each band of size that is known."""

    house: Record
    customers: dict[str, Record]
    bands: dict[int, Record]


@dataclass(frozen=True)
class Book:
    """What was decided and what is open, of one day; nothing where no rates say how to work out chances."""

    records: Records
    open: dict[str, OpenQuote]
    rates: PlanningRates = field(default_factory=PlanningRates)

    @property
    def chances(self) -> dict[str, float]:
        return {number: one.chance.chance for number, one in self.open.items()}


NOTHING = Record(0, 0)
_SIZE = Job.objects.filter(quote=OuterRef("quote__number")).order_by().values("value")[:1]


def book(on: date) -> Book:
    """The record and every open quote with its chance; four queries however many there are."""
    rates = selectors.planning_rates(on)
    if rates.winning is None:
        return Book(Records(NOTHING, {}, {}), {}, rates)
    records = _records(on, rates)
    return Book(records, {one.quote: one for one in _open(on, records, rates.winning)}, rates)


def since(on: date, rates: PlanningRates) -> datetime:
    """When the record begins that a day looks back on; the day itself where no rate says it."""
    return timezone.make_aware(datetime.combine(on - timedelta(days=rates.record or 0), time()))


def _decisions(on: date, rates: PlanningRates) -> QuerySet[AuditEntry]:
    # By the record of deeds, not by the quotes: their columns of time lie behind the PDF, which SQLite would read.
    return (
        AuditEntry.objects.filter(action__in=(WON_BY, LOST_BY), at__gte=since(on, rates))
        .order_by()
        .annotate(size=_SIZE)
    )


def decided(on: date, rates: PlanningRates) -> tuple[Decided, ...]:
    """Every quote that was won or lost as far as the record goes back, one by one; one query."""
    columns = ("quote__number", "inquiry__number", "inquiry__customer__company", "action", "at", "size")
    return tuple(
        Decided(quote, inquiry, company or "", action == WON_BY, at.date(), size)
        for quote, inquiry, company, action, at, size in _decisions(on, rates).values_list(*columns)
    )


def _records(on: date, rates: PlanningRates) -> Records:
    """The same counted by the database: by customer, band of size and outcome."""
    limits = rates.winning.size_limits
    bands = [When(size__lt=limit, then=Value(number)) for number, limit in enumerate(limits)]
    last = When(size__isnull=False, then=Value(len(limits)))
    banded = _decisions(on, rates).annotate(band=Case(*bands, last, output_field=IntegerField()))
    rows = banded.values_list("inquiry__customer__company", "band", "action").annotate(count=Count("pk"))
    customers: dict[str, list[int]] = {}
    sizes: dict[int, list[int]] = {}
    house = [0, 0]
    for company, band, action, count in rows:
        groups = [house, customers.setdefault(company or "", [0, 0])]
        groups += [sizes.setdefault(band, [0, 0])] if band is not None else []
        for group in groups:
            group[action == LOST_BY] += count
    return Records(
        Record(*house), {name: Record(*found) for name, found in customers.items()},
        {band: Record(*found) for band, found in sizes.items()},
    )  # fmt: skip


def _open(on: date, records: Records, rates: WinningRates) -> Iterable[OpenQuote]:
    sent = _sent()

    @cache  # many quotes share customer, size and age
    def chance(customer: Record, size: Record, age: int) -> Chance:
        return chance_of_winning(records.house, customer, size, age, rates)

    own_size = Job.objects.filter(quote=OuterRef("quotes__number")).order_by().values("value")[:1]
    rows = Inquiry.objects.filter(state__in=(APPROVED, SENT), quotes__kind=QUOTE).order_by().annotate(size=own_size)
    columns = ("quotes__number", "number", "state", "customer__company", "size")
    for quote, inquiry, state, company, size in rows.values_list(*columns):
        day = sent.get(quote) if state == SENT else None
        age = max(0, (on - day).days) if day else 0
        band = band_of(size, rates)
        customer = records.customers.get(company or "", NOTHING)
        found = chance(customer, records.bands.get(band, NOTHING), age)
        yield OpenQuote(quote, inquiry, company or "", state, day, age, size, band, found)


def _sent() -> dict[str, date]:
    """The day on which the newest revision of each sent quote first went out."""
    rows = AuditEntry.objects.filter(action__in=SENT_BY, inquiry__state=SENT).order_by("quote__revision")
    rows = rows.values_list("quote__number", "quote__revision").annotate(first=Min("at"))
    return {quote: first.date() for quote, _, first in rows}


def band_of(size: Decimal | None, rates: WinningRates) -> int | None:
    return None if size is None else size_band(float(size), rates.size_limits)
