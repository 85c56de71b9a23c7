"""Rate tables as CSV and XLSX, in the form that an import takes back."""

import csv
import io
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

from materials.amounts import trimmed
from quoting.cells import escaped
from quoting.intake.rate_rows import pounds
from quoting.intake.rate_tables import LABOUR_TABLE, RESIN, TABLES
from quoting.quotes.rates.books import standing
from quoting.quotes.rates.changes import Kept

Row = tuple[str | Decimal | date | None, ...]
CSV, XLSX = "csv", "xlsx"
TYPES = {
    CSV: "text/csv; charset=utf-8",
    XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def rates_file(table: str, on: date, form: str) -> bytes:
    """The rates of a table in force on a day, as a file of that form."""
    rows = [row for one in standing(table, on) for row in _rows(table, one.kept)]
    return (_csv if form == CSV else _xlsx)(TABLES[table].headings, rows, TABLES[table].label)


def _rows(table: str, kept: Kept) -> list[Row]:
    dated = (kept.valid_from, kept.source if kept.valid_from else None)
    if table == RESIN:
        name, *masses = kept.of
        once = kept.figures[len(masses) :]
        colour, least, regrind = once[0].value, once[1].text, once[2].value
        tiers = zip(masses, kept.figures, strict=False)
        return [
            (name, pounds(float(mass)), trimmed(tier.value), trimmed(colour), least, trimmed(regrind), *dated)
            for mass, tier in tiers
        ]
    if table == LABOUR_TABLE:
        kind, plant, code = kept.of
        return [(plant, kind, code or None, trimmed(kept.figures[0].value), *dated)]
    return [(kept.of[0], kept.figures[0].text, *dated)]


def _csv(headings: Iterable[str], rows: list[Row], _label: str) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows([[_as_text(cell) for cell in row] for row in rows])
    return out.getvalue().encode("utf-8-sig")  # the mark lets spreadsheets know that it is UTF-8


def _as_text(cell: str | Decimal | date | None) -> str:
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return cell.isoformat() if isinstance(cell, date) else escaped(cell)


def _xlsx(headings: Iterable[str], rows: list[Row], label: str) -> bytes:
    book = Workbook()
    sheet = book.active
    sheet.title = label
    sheet.append(list(headings))
    for row in rows:
        sheet.append([_as_cell(cell) for cell in row])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for column in sheet.columns:
        widest = max(len(str(cell.value or "")) for cell in column)
        sheet.column_dimensions[column[0].column_letter].width = min(60, widest + 3)
        for cell in column:
            if isinstance(cell.value, date | Decimal):
                cell.number_format = "yyyy-mm-dd" if isinstance(cell.value, date) else "0.00##"
    sheet.freeze_panes = "A2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _as_cell(cell: str | Decimal | date | None) -> str | Decimal | date | None:
    # A workbook cannot hold control characters; a question mark shows where one was.
    return escaped(ILLEGAL_CHARACTERS_RE.sub("?", cell)) if isinstance(cell, str) else cell
