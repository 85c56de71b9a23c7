"""What every deed needs: the clock, the record of who did it, and the next number of a series."""

from datetime import date, datetime

from django.utils import timezone

from quoting.quotes.models import AuditEntry, Counter, Inquiry, Quote


def today() -> date:
    """The day by the server's time zone; views and commands read it once and pass it on."""
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


def next_number(series: str, year: int) -> str:
    """The next number, such as Q-2026-0001, without gaps: the counter is locked until the caller's commit.

    Call it inside the transaction that uses the number. PostgreSQL locks the row; SQLite begins every transaction
    IMMEDIATE and so has one writer at a time.
    """
    Counter.objects.get_or_create(series=series, year=year)
    counter = Counter.objects.select_for_update().get(series=series, year=year)
    counter.last += 1
    counter.save(update_fields=["last"])
    return str(counter)
