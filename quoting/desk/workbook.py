"""A plain workbook (XLSX): texts stand in their cells as such, never as formulas."""

import io
from collections.abc import Iterable, Sequence
from datetime import date

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

from quoting.cells import escaped

Cell = str | float | date | None


def workbook(sheets: dict[str, tuple[Sequence[str], Iterable[Sequence[Cell]]]]) -> bytes:
    """Sheets by title, each with bold headings that stay in view, rows of texts, finite numbers, days or nothing."""
    book = Workbook(write_only=True)
    for title, (headings, rows) in sheets.items():
        sheet = book.create_sheet(title)
        sheet.freeze_panes = "A2"
        for number, heading in enumerate(headings):
            sheet.column_dimensions[chr(ord("A") + number)].width = max(12, len(heading) + 3)
        sheet.append([_bold(sheet, heading) for heading in headings])
        for row in rows:
            sheet.append([_cell(value) for value in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _bold(sheet: object, heading: str) -> object:
    cell = WriteOnlyCell(sheet, heading)
    cell.font = Font(bold=True)
    return cell


def _cell(value: Cell) -> Cell:
    # A workbook cannot hold control characters; a question mark shows where one was.
    return escaped(ILLEGAL_CHARACTERS_RE.sub("?", value)) if isinstance(value, str) else value
