"""How likely each open quote is to be won: from what was won and lost in the last two years, with the basis of it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cache

from django.db.models import Case, Count, IntegerField, Min, OuterRef, QuerySet, Subquery, Value, When
from django.utils import timezone

from machines.winning import Chance, Record, WinningRates, chance_of_winning, size_band
from quoting.planning.models import Job
from quoting.quotes import kept_figures
from quoting.quotes.kept_figures import Stamp
from quoting.quotes.models import APPROVED, QUOTE, SENT, AuditEntry, Inquiry
from quoting.quotes.watched import RECORD, WORK

RECORD_DAYS = 730  # how far back the record goes: two years; common practice, no source
# Until the house sets its own. The prior and its strength hardly count once some dozens of quotes were decided.
RATES = WinningRates(
    prior_rate=0.3, prior_strength=10, record_strength=8, half_life=60, size_limits=(20_000.0, 100_000.0)
)
STATUS = (
    ("Share won before anything was decided", "30 %", "assumption; counts as 10 decided quotes"),
    ("Weight of the house against a customer's or a size's own record", "8 quotes", "assumption"),
    ("Odds of a quote without an answer halve in", "60 days", "assumption"),
    ("Bands of size, landed price of the release", "below $20,000; to $100,000; above", "assumption"),
    ("The record goes back", "2 years", "common practice, no source"),
)
BANDS = ("below $20,000", "$20,000 to $100,000", "$100,000 and above")
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
    """What was decided and what is open, of one day."""

    records: Records
    open: dict[str, OpenQuote]

    @property
    def chances(self) -> dict[str, float]:
        return {number: one.chance.chance for number, one in self.open.items()}


NOTHING = Record(0, 0)
_JOB = Job.objects.filter(quote=OuterRef("quote__number")).order_by()
_SIZE, _MACHINE = Subquery(_JOB.values("value")[:1]), Subquery(_JOB.values("machine_id")[:1])
# The band is found inside, so that the job of a quote is looked up once.
_LIMITS = [When(value__lt=limit, then=Value(number)) for number, limit in enumerate(RATES.size_limits)]
_BAND = Subquery(
    _JOB.annotate(band=Case(*_LIMITS, default=Value(len(_LIMITS)), output_field=IntegerField())).values("band")[:1]
)


def book(on: date, seen: dict[str, Stamp] | None = None) -> Book:
    """The record of two years and every open quote with its chance; four queries however many there are.

    One where nothing has changed since it was worked out; ``seen`` are the counts of changes if the caller has them.
    """
    seen = kept_figures.stamps() if seen is None else seen

    def worked_out() -> Book:
        records = kept_figures.kept.get(("records", on), seen, (RECORD,), lambda: _records(on))
        return Book(records, {one.quote: one for one in _open(on, records)})

    return kept_figures.kept.get(("book", on), seen, (RECORD, WORK), worked_out)


def _decisions(on: date) -> QuerySet[AuditEntry]:
    # By the record of deeds, not by the quotes: their columns of time lie behind the PDF, which SQLite would read.
    since = timezone.make_aware(datetime.combine(on - timedelta(days=RECORD_DAYS), time()))
    return AuditEntry.objects.filter(action__in=(WON_BY, LOST_BY), at__gte=since).order_by()


def decided(on: date, plant: str, first: int, end: int) -> tuple[Decided, ...]:
    """So many of the quotes of one plant that were won or lost in two years, the latest first; one query."""
    columns = ("quote__number", "inquiry__number", "inquiry__customer__company", "action", "at", "size")
    own = Job.objects.filter(machine__plant__code=plant).order_by().values("quote")
    rows = _decisions(on).filter(quote__number__in=own).annotate(size=_SIZE).order_by("-at", "-pk")
    return tuple(
        Decided(quote, inquiry, company or "", action == WON_BY, at.date(), size)
        for quote, inquiry, company, action, at, size in rows.values_list(*columns)[first:end]
    )


def decided_counts(on: date) -> dict[int | None, list[int]]:
    """How many quotes were won and lost in two years, by the machine of their job, None where none was kept."""
    found: dict[int | None, list[int]] = {}
    rows = _decisions(on).annotate(machine=_MACHINE).values_list("machine", "action")
    for machine, action, count in rows.annotate(count=Count("pk")):
        found.setdefault(machine, [0, 0])[action == LOST_BY] += count
    return found


def _records(on: date) -> Records:
    """The same counted by the database: by customer, band of size and outcome."""
    banded = _decisions(on).annotate(band=_BAND)
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


def _open(on: date, records: Records) -> Iterable[OpenQuote]:
    sent = _sent()

    @cache  # many quotes share customer, size and age
    def chance(customer: Record, size: Record, age: int) -> Chance:
        return chance_of_winning(records.house, customer, size, age, RATES)

    own_size = Job.objects.filter(quote=OuterRef("quotes__number")).order_by().values("value")[:1]
    rows = Inquiry.objects.filter(state__in=(APPROVED, SENT), quotes__kind=QUOTE).order_by().annotate(size=own_size)
    columns = ("quotes__number", "number", "state", "customer__company", "size")
    for quote, inquiry, state, company, size in rows.values_list(*columns):
        day = sent.get(quote) if state == SENT else None
        age = max(0, (on - day).days) if day else 0
        band = band_of(size)
        customer = records.customers.get(company or "", NOTHING)
        found = chance(customer, records.bands.get(band, NOTHING), age)
        yield OpenQuote(quote, inquiry, company or "", state, day, age, size, band, found)


def _sent() -> dict[str, date]:
    """The day on which the newest revision of each sent quote first went out."""
    rows = AuditEntry.objects.filter(action__in=SENT_BY, inquiry__state=SENT).order_by("quote__revision")
    rows = rows.values_list("quote__number", "quote__revision").annotate(first=Min("at"))
    return {quote: first.date() for quote, _, first in rows}


def band_of(size: Decimal | None) -> int | None:
    return None if size is None else size_band(float(size), RATES.size_limits)
