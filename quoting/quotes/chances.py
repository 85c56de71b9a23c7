"""How likely each open quote is to be won: from what was won and lost, by dated rates, with the basis of it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from django.db.models import Case, CharField, Count, IntegerField, Min, OuterRef, QuerySet, Subquery, Value, When
from django.db.models.functions import Cast
from django.utils import timezone

from machines.winning import Chance, Record, WinningRates, chance_of_winning, size_band
from quoting.intake.planning_rates import PlanningRates
from quoting.planning.models import Job
from quoting.quotes import kept_figures, selectors
from quoting.quotes.kept_figures import Stamp
from quoting.quotes.models import APPROVED, QUOTE, SENT, AuditEntry, Inquiry
from quoting.quotes.watched import RECORD, WORK

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


class OpenQuote(NamedTuple):
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
_JOB = Job.objects.filter(quote=OuterRef("quote__number")).order_by()
_SIZE, _MACHINE = Subquery(_JOB.values("value")[:1]), Subquery(_JOB.values("machine_id")[:1])


def book(on: date, seen: dict[str, Stamp] | None = None) -> Book:
    """The record and every open quote with its chance; five queries however many there are.

    One where nothing has changed since it was worked out; ``seen`` are the counts of changes if the caller has them.
    """
    seen = kept_figures.stamps() if seen is None else seen

    def worked_out() -> Book:
        rates = selectors.planning_rates(on)
        if rates.winning is None:
            return Book(Records(NOTHING, {}, {}), {}, rates)
        records = kept_figures.kept.get(("records", on), seen, (RECORD,), lambda: _records(on, rates))
        return Book(records, {one.quote: one for one in _open(on, records, rates.winning)}, rates)

    return kept_figures.kept.get(("book", on), seen, (RECORD, WORK), worked_out)


def since(on: date, rates: PlanningRates) -> datetime:
    """When the record begins that a day looks back on; the day itself where no rate says it."""
    return timezone.make_aware(datetime.combine(on - timedelta(days=rates.record or 0), time()))


def _decisions(on: date, rates: PlanningRates) -> QuerySet[AuditEntry]:
    # By the record of deeds, not by the quotes: their columns of time lie behind the PDF, which SQLite would read.
    return AuditEntry.objects.filter(action__in=(WON_BY, LOST_BY), at__gte=since(on, rates)).order_by()


def decided(on: date, rates: PlanningRates, plant: str, first: int, end: int) -> tuple[Decided, ...]:
    """So many of the quotes of one plant that were won or lost within the record, the latest first; one query."""
    columns = ("quote__number", "inquiry__number", "inquiry__customer__company", "action", "at", "size")
    own = Job.objects.filter(machine__plant__code=plant).order_by().values("quote")
    rows = _decisions(on, rates).filter(quote__number__in=own).annotate(size=_SIZE).order_by("-at", "-pk")
    return tuple(
        Decided(quote, inquiry, company or "", action == WON_BY, at.date(), size)
        for quote, inquiry, company, action, at, size in rows.values_list(*columns)[first:end]
    )


def decided_counts(on: date, rates: PlanningRates) -> dict[int | None, list[int]]:
    """How many quotes were won and lost within the record, by the machine of their job, None where none was kept."""
    found: dict[int | None, list[int]] = {}
    rows = _decisions(on, rates).annotate(machine=_MACHINE).values_list("machine", "action")
    for machine, action, count in rows.annotate(count=Count("pk")):
        found.setdefault(machine, [0, 0])[action == LOST_BY] += count
    return found


def _band(limits: tuple[float, ...]) -> Subquery:
    """The band of size, found inside, so that the job of a quote is looked up once."""
    bands = [When(value__lt=limit, then=Value(number)) for number, limit in enumerate(limits)]
    banded = _JOB.annotate(band=Case(*bands, default=Value(len(limits)), output_field=IntegerField()))
    return Subquery(banded.values("band")[:1])


def _records(on: date, rates: PlanningRates) -> Records:
    """The same counted by the database: by customer, band of size and outcome."""
    banded = _decisions(on, rates).annotate(band=_band(rates.winning.size_limits))
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

    @cache  # many quotes share customer, band and age
    def chance(company: str, band: int | None, age: int) -> Chance:
        customer, size = records.customers.get(company, NOTHING), records.bands.get(band, NOTHING)
        return chance_of_winning(records.house, customer, size, age, rates)

    own_size = Job.objects.filter(quote=OuterRef("quotes__number")).order_by().values("value")[:1]
    rows = Inquiry.objects.filter(state__in=(APPROVED, SENT), quotes__kind=QUOTE).order_by().annotate(size=own_size)
    columns = ("quotes__number", "number", "state", "customer__company", "size")
    for quote, inquiry, state, company, size in rows.values_list(*columns):
        day = sent.get(quote) if state == SENT else None
        age = max(0, (on - day).days) if day else 0
        band, company = band_of(size, rates), company or ""
        yield OpenQuote(quote, inquiry, company, state, day, age, size, band, chance(company, band, age))


def _sent() -> dict[str, date]:
    """The day on which the newest revision of each sent quote first went out."""
    rows = AuditEntry.objects.filter(action__in=SENT_BY, inquiry__state=SENT).order_by("quote__revision")
    # As text, whose first ten signs are the day: thousands of moments would take longer to make than all else here.
    rows = rows.values_list("quote__number", "quote__revision").annotate(first=Min(Cast("at", CharField())))
    day = cache(date.fromisoformat)
    return {quote: day(first[:10]) for quote, _, first in rows}


def band_of(size: Decimal | None, rates: WinningRates) -> int | None:
    return None if size is None else size_band(float(size), rates.size_limits)
