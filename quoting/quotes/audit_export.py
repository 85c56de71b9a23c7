"""The record of deeds as a table or as data, for one inquiry or a period; written row by row, however long it is."""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from quoting.cells import escaped
from quoting.contract import canonical
from quoting.quotes.models import AuditEntry

COLUMNS = ("entry", "at_utc", "who", "action", "inquiry", "document", "detail")


def entries_between(first: date, last: date) -> QuerySet[AuditEntry]:
    """Entries of whole office days, both included, oldest first."""
    zone = timezone.get_default_timezone()
    begins = datetime.combine(first, time(), tzinfo=zone)
    ends = datetime.combine(last + timedelta(days=1), time(), tzinfo=zone)
    found = AuditEntry.objects.filter(at__gte=begins, at__lt=ends).select_related("by", "inquiry", "quote")
    return found.defer("inquiry__snapshot", "quote__snapshot", "quote__pdf", "quote__record").order_by("pk")


def row_of(entry: AuditEntry) -> dict[str, object]:
    """One entry in the order of the columns; the customer has no name of ours."""
    return {
        "entry": entry.pk,
        "at_utc": entry.at.astimezone(UTC).isoformat(),
        "who": entry.by.get_username() if entry.by else "",
        "action": entry.action,
        "inquiry": entry.inquiry.number if entry.inquiry else "",
        "document": str(entry.quote) if entry.quote else "",
        "detail": entry.detail,
    }


def as_csv(entries: Iterable[AuditEntry]) -> Iterator[str]:
    """Lines of a CSV table with a head; what would be a formula gets an apostrophe in front."""
    yield _csv_line(COLUMNS)
    for entry in entries:
        row = row_of(entry) | {"detail": canonical(entry.detail) if entry.detail else ""}
        yield _csv_line([escaped(row[name]) for name in COLUMNS])


def as_json_lines(entries: Iterable[AuditEntry]) -> Iterator[str]:
    """One JSON object a line."""
    for entry in entries:
        yield json.dumps(row_of(entry), ensure_ascii=False, allow_nan=False) + "\n"


def _csv_line(cells: Iterable[object]) -> str:
    line = io.StringIO()
    csv.writer(line).writerow(cells)
    return line.getvalue()
