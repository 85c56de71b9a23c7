"""The board as a table to take along, one row a resource and week, as CSV or XLSX; no text of it is ever a formula."""

from collections.abc import Iterable
from datetime import date

from quoting.desk import charts, labels
from quoting.desk.board_rows import Shown, clash_rows
from quoting.desk.csv_text import csv_text
from quoting.desk.workbook import workbook

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
    return workbook({"Board": (HEADINGS, rows), "Clashes": (CLASH_HEADINGS, _clashes(view))})


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


def file_name(view: Shown, on: date, form: str) -> str:
    return f"board-{on.isoformat()}-{view.chosen.weeks}-weeks.{form}"
