"""How likely each open quote is to be won: from what was won and lost in the last two years, with the basis of it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cache

from django.db.models import Min
from django.utils import timezone

from machines.winning import Chance, Record, WinningRates, chance_of_winning, size_band
from quoting.planning.models import Job
from quoting.quotes.models import APPROVED, QUOTE, SENT, AuditEntry, Inquiry

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
class Book:
    """What was decided and what is open, of one day."""

    decided: tuple[Decided, ...]
    open: dict[str, OpenQuote]

    @property
    def chances(self) -> dict[str, float]:
        return {number: one.chance.chance for number, one in self.open.items()}


def record_of(decided: Iterable[Decided]) -> Record:
    """How many were won and how many lost."""
    outcomes = [one.won for one in decided]
    return Record(sum(outcomes), len(outcomes) - sum(outcomes))


def band_of(size: Decimal | None) -> int | None:
    return None if size is None else size_band(float(size), RATES.size_limits)


def book(on: date) -> Book:
    """The decided quotes of two years and every open quote with its chance; four queries however many there are."""
    sizes = dict(Job.objects.order_by().values_list("quote", "value"))
    past = tuple(_decided(on, sizes))
    return Book(past, {one.quote: one for one in _open(on, sizes, past)})


def _decided(on: date, sizes: dict[str, Decimal]) -> Iterable[Decided]:
    # By the record of deeds, not by the quotes: their columns of time lie behind the PDF, which SQLite would read.
    since = timezone.make_aware(datetime.combine(on - timedelta(days=RECORD_DAYS), time()))
    rows = AuditEntry.objects.filter(action__in=(WON_BY, LOST_BY), at__gte=since).order_by()
    fields = ("quote__number", "inquiry__number", "inquiry__customer__company", "action", "at")
    for quote, inquiry, company, action, at in rows.values_list(*fields):
        yield Decided(quote, inquiry, company or "", action == WON_BY, at.date(), sizes.get(quote))


def _open(on: date, sizes: dict[str, Decimal], past: tuple[Decided, ...]) -> Iterable[OpenQuote]:
    house = record_of(past)
    customers, bands = _records(past)
    sent = _sent()

    @cache  # many quotes share customer, size and age
    def chance(customer: Record, size: Record, age: int) -> Chance:
        return chance_of_winning(house, customer, size, age, RATES)

    rows = Inquiry.objects.filter(state__in=(APPROVED, SENT), quotes__kind=QUOTE).order_by().distinct()
    for quote, inquiry, state, company in rows.values_list("quotes__number", "number", "state", "customer__company"):
        day = sent.get(quote) if state == SENT else None
        age = max(0, (on - day).days) if day else 0
        size = sizes.get(quote)
        band = band_of(size)
        customer = customers.get(company or "", NOTHING)
        found = chance(customer, bands.get(band, NOTHING), age)
        yield OpenQuote(quote, inquiry, company or "", state, day, age, size, band, found)


NOTHING = Record(0, 0)


def _records(past: tuple[Decided, ...]) -> tuple[dict[str, Record], dict[int | None, Record]]:
    """Of each customer, and of each band of size; what has no known size is in no band."""
    by_company: dict[str, list[Decided]] = {}
    by_band: dict[int | None, list[Decided]] = {}
    for one in past:
        by_company.setdefault(one.company, []).append(one)
        if one.size is not None:
            by_band.setdefault(band_of(one.size), []).append(one)
    return (
        {company: record_of(own) for company, own in by_company.items()},
        {band: record_of(own) for band, own in by_band.items()},
    )


def _sent() -> dict[str, date]:
    """The day on which the newest revision of each sent quote first went out."""
    rows = AuditEntry.objects.filter(action__in=SENT_BY, inquiry__state=SENT).order_by("quote__revision")
    rows = rows.values_list("quote__number", "quote__revision").annotate(first=Min("at"))
    return {quote: first.date() for quote, _, first in rows}
