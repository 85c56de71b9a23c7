"""What became of one rate: every row by date, who brought it in, and every import on record."""

from dataclasses import dataclass

from django.db.models import QuerySet

from quoting.quotes.models import RateImport, RateImportChange
from quoting.quotes.rates.books import BOOKS
from quoting.quotes.rates.changes import Kept


@dataclass(frozen=True)
class DatedRow:
    """One row of a rate; ``record`` is the import that last wrote it, None where it was entered otherwise."""

    kept: Kept
    record: RateImport | None


def rate_history(table: str, subject: str) -> tuple[DatedRow, ...]:
    """Every row of a rate, the newest first; empty for a rate that is not there."""
    found = BOOKS[table].timelines().get(subject, ())
    changes = rate_changes(table, subject).order_by("record__at", "pk")
    written = {one.valid_from: one.record for one in changes}
    return tuple(DatedRow(one, written.get(one.valid_from)) for one in reversed(found))


def rate_changes(table: str, subject: str) -> QuerySet[RateImportChange]:
    """Every figure of a rate that an import changed, the newest import first."""
    found = RateImportChange.objects.filter(record__table=table, subject=subject)
    return found.select_related("record__by").order_by("-record__at", "pk")
