"""The board as a table to take along, one row a resource and week, as CSV or XLSX; no text of it is ever a formula."""

import io
from collections.abc import Iterable
from datetime import date

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

from quoting.cells import escaped
from quoting.desk import charts, labels
from quoting.desk.board_rows import Shown, clash_rows
from quoting.desk.csv_text import csv_text

CSV, XLSX = "csv", "xlsx"
TYPES = {
    CSV: "text/csv; charset=utf-8",
    XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
HEADINGS = (
    "Plant", "Kind", "Resource", "Kind of machine", "Week (Monday)", "Available, h", "Won, h", "Quoted, h",
    "Quoted by chance, h", "Expected load, %", "Word",
)  # fmt: skip
CLASH_HEADINGS = ("What", "Where", "Week (Monday)", "Hours", "Limit, h", "Jobs")
Row = tuple[object, ...]


def board_file(view: Shown, form: str) -> bytes:
    """What the filters leave of the board, all weeks; in a workbook the clashes stand on a second sheet."""
    rows = list(_rows(view))
    if form == CSV:
        return csv_text([HEADINGS, *rows]).encode("utf-8-sig")  # the mark lets spreadsheets know that it is UTF-8
    return _workbook({"Board": (HEADINGS, rows), "Clashes": (CLASH_HEADINGS, list(_clashes(view)))})


def _rows(view: Shown) -> Iterable[Row]:
    board, weeks = view.seen.board, view.seen.weeks
    for number in view.rows:
        row = board.resources[number]
        machine_kind = labels.said(view.seen.machine_kinds.get(row.code, ""))
        about = (row.plant, labels.RESOURCES[row.kind], row.code, machine_kind)
        hours = (array[number].tolist() for array in (board.available, board.booked, board.quoted, board.weighted))
        for week, available, won, quoted, weighted in zip(weeks, *hours, strict=True):
            word = labels.LOAD_WORDS[charts.load_word(won, weighted, available, quoted)]
            load = round(charts.load_percent(won + weighted, available), 1) if available > 0 else None
            yield (*about, week, *(round(one, 2) for one in (available, won, quoted, weighted)), load, word)


def _clashes(view: Shown) -> Iterable[Row]:
    for one in clash_rows(view)[0]:
        hours = (round(one["measured"], 2), round(one["limit"], 2))
        yield (one["what"], one["where"], one["week"], *hours, "; ".join(one["jobs"]))


def _workbook(sheets: dict[str, tuple[Iterable[str], list[Row]]]) -> bytes:
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


def _cell(value: object) -> object:
    # A workbook cannot hold control characters; a question mark shows where one was.
    return escaped(ILLEGAL_CHARACTERS_RE.sub("?", value)) if isinstance(value, str) else value


def file_name(view: Shown, on: date, form: str) -> str:
    return f"board-{on.isoformat()}-{view.chosen.weeks}-weeks.{form}"
