"""Rates by key (freight; overhead and all others) as the tables hold them."""

from collections.abc import Iterable
from datetime import date

from quoting.intake.catalog_values import RefusedError, read_value
from quoting.intake.rate_tables import Entry, Figure, WrongCell, table_of
from quoting.intake.rates_file import rate_kind, read_rates
from quoting.intake.reading_result import InputErrors
from quoting.quotes.models import RateRow
from quoting.quotes.rates.changes import Kept, Preview

Rows = dict[tuple[str, date], tuple[str, str]]  # key and first day -> value and source


class KeyedBook:
    """The rates of one of the two tables by key."""

    def __init__(self, table: str):
        self.table = table

    def timelines(self) -> dict[str, tuple[Kept, ...]]:
        """Every rate with its rows by date; one query."""
        found: dict[str, tuple[Kept, ...]] = {}
        for row in RateRow.objects.order_by("key", "valid_from"):
            if table_of(row.key) == self.table:
                kept = Kept(row.valid_from, (_figure(row),), row.source, of=(row.key,))
                found[row.key] = (*found.get(row.key, ()), kept)
        return found

    def refused(self, entries: Iterable[Entry]) -> list[WrongCell]:
        """Nothing beyond what the reader refuses: every known key may get a row."""
        return []

    def refused_together(self, preview: Preview) -> list[WrongCell]:
        """What contradicts once these rows are kept and did not before, such as scrap that leaves no good part."""
        before = {(row.key, row.valid_from): (row.value, row.source) for row in RateRow.objects.all()}
        entries = [one.entry for one in preview.to_keep]
        after = before | {(one.subject, one.valid_from): (one.figures[0].text, one.source or "file") for one in entries}
        wrong: dict[tuple[str, str], WrongCell] = {}
        for day in sorted({one.valid_from for one in entries}):
            standing = {error.message for error in _errors(before, day)}
            for error in _errors(after, day):
                if error.message not in standing:
                    key = error.field.removeprefix("rates.")
                    row = next((one.rows[0] for one in entries if one.subject == key), 0)
                    wrong[error.field, error.given] = WrongCell(row, "Value", f"{key}: {error.given}", error.accepted)
        return list(wrong.values())

    def write(self, entry: Entry, source: str) -> None:
        row = RateRow.objects.filter(key=entry.subject, valid_from=entry.valid_from).first()
        row = row or RateRow(key=entry.subject, valid_from=entry.valid_from)
        row.value, row.source = entry.figures[0].text, source
        row.full_clean()
        row.save()


def _figure(row: RateRow) -> Figure:
    """The row's value; as its bare text where no reader knows it, so that it is shown and can be replaced."""
    kind = rate_kind(row.key)
    try:
        return Figure("Value", row.value, read_value(row.value, kind) if kind else row.value)
    except RefusedError:
        return Figure("Value", row.value, row.value)


def _errors(rows: Rows, day: date) -> tuple:
    listed = [
        {"key": key, "value": value, "valid_from": begins.isoformat(), "source": source}
        for (key, begins), (value, source) in rows.items()
    ]
    try:
        read_rates({"rates": listed}, day)
    except InputErrors as errors:
        return errors.errors
    return ()
