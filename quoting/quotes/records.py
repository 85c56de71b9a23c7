"""What every deed needs: the clock, the record of who did it, and the next number of a series."""

from datetime import date, datetime, timedelta

from django.db import connection, transaction
from django.db.models import QuerySet
from django.utils import timezone

from quoting.quotes.given_numbers import keep_up_after_commit, require_fresh
from quoting.quotes.models import AuditEntry, Counter, Inquiry, Quote

SAW = "saw_"  # how actions begin that only looked
LOOK_AGAIN = timedelta(hours=1)
LINE = 1  # of advisory locks, those before a counter


def today() -> date:
    """The day by the office's time zone (TIME_ZONE of the settings); views and commands read it once and pass it on."""
    return timezone.localdate()


def now() -> datetime:
    return timezone.now()


def audit(
    action: str, *, by: object, inquiry: Inquiry | None = None, quote: Quote | None = None, **detail: object
) -> AuditEntry:
    """Write who did what, in the transaction of the deed itself. ``by`` is None where the customer acted."""
    entry = AuditEntry(at=now(), by=by, action=action, inquiry=inquiry, quote=quote, detail=detail)
    entry.full_clean()
    entry.save()
    return entry


def saw(what: str, *, by: object, inquiry: Inquiry, quote: Quote | None = None) -> None:
    """Record that a person looked at something, once an hour: ``what`` is page, cost, document or drawing."""
    if not looks(what, by=by).filter(inquiry=inquiry, quote=quote).exists():
        audit(f"{SAW}{what}", by=by, inquiry=inquiry, quote=quote)


def looks(what: str, *, by: object) -> QuerySet[AuditEntry]:
    """What a person looked at, so that it need not be recorded again yet."""
    return AuditEntry.objects.filter(action=f"{SAW}{what}", by=by, at__gt=now() - LOOK_AGAIN)


def expected_number(series: str, year: int) -> str:
    """The number that ``next_number`` gives unless somebody else takes it before; nothing is locked or taken."""
    last = Counter.objects.filter(series=series, year=year).values_list("last", flat=True).first() or 0
    return str(Counter(series=series, year=year, last=last + 1))


def _wait_in_line(counter: Counter) -> None:
    """Whoever comes first is served first. Who waits for a row that each before it changes is woken with all others
    and may lose every time; an advisory lock of PostgreSQL has a queue, and is given back at the commit.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s, %s)", [LINE, counter.pk])


def next_number(series: str, year: int) -> str:
    """The next number, such as Q-2026-0001, without gaps: the counter is locked until the caller's commit.

    Call it inside the transaction that uses the number. PostgreSQL locks the row; SQLite begins every transaction
    IMMEDIATE and so has one writer at a time. NumbersBehindError where more went out than this database knows.
    """
    counter, _ = Counter.objects.get_or_create(series=series, year=year)
    _wait_in_line(counter)
    counter = Counter.objects.select_for_update().get(pk=counter.pk)
    require_fresh(counter)
    counter.last += 1
    counter.save(update_fields=["last"])
    transaction.on_commit(keep_up_after_commit, robust=True)
    return str(counter)
