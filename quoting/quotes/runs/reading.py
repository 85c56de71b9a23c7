"""Runs from text: the one list of what a run has, read alike from a form, a file and the command line."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from quoting import units
from quoting.intake.catalog_values import RefusedError
from quoting.intake.table_file import Cell, FileRow, Limits, Unread, read_table, refuse
from quoting.planning.run_models import RUN_RANGES

LIMITS = Limits(file=12 * 1024 * 1024, rows=60_000)  # of a file of runs: bytes, rows
MOST_PARTS, MOST_NOTE = 10_000_000, 500
EARLIEST = date(2000, 1, 1)  # a run before it is a slip of the year; house limit
DAY_FORM = "a day as YYYY-MM-DD, such as 2026-11-25"
_BLANKS = re.compile(r"([0-9]{1,7}) ?(?:blanks?|sheets?)", re.IGNORECASE | re.ASCII)
_COUNT = re.compile(r"[0-9]{1,8}", re.ASCII)


@dataclass(frozen=True)
class Column:
    """One thing that is told of a run. ``kind`` says how it is read, ``help`` what is meant and how it is typed."""

    field: str
    heading: str
    kind: str
    help: str
    required: bool = False


COLUMNS = (
    Column("job", "Job", "job", "Number of its quote, such as Q-2026-0001.", True),
    Column("machine", "Machine", "machine", "The one that ran it, by its code.", True),
    Column("started", "Started", "day", "First day on the machine.", True),
    Column("ended", "Ended", "day", "Last day on the machine.", True),
    Column("parts_good", "Parts good", "count", "Good parts after trimming.", True),
    Column("parts_scrapped", "Parts scrapped", "count", "Lost in forming and trimming, without start-up shots.", True),
    Column("heats", "Heats", "count", "Shots of the run, start-up counted."),
    Column("index_time", "Index time", "time", "From shot to shot, such as 95 s or 1.6 min."),
    Column("setup_hours", "Set-up time", "hours", "On the machine before the run, such as 3.5 h or 210 min."),
    Column("run_hours", "Run time", "hours", "From first to last shot, such as 12 h."),
    Column("sheet_used", "Sheet used", "sheet", "All that was drawn, such as 1250 lb, 567 kg or 64 blanks."),
    Column("trim_time", "Trim time a part", "time", "From piece to piece, such as 150 s."),
    Column("parts_per_pallet", "Parts a pallet", "count", "As shipped."),
    Column("delivered", "Delivered", "day", "Day at the dock. Fill it in when the job is complete: it is then done."),
    Column("note", "Note", "text", "What the next estimate should know."),
)
HEADINGS = tuple(one.heading for one in COLUMNS)


@dataclass(frozen=True)
class Told:
    """A run as it was told, in SI but hours [h]."""

    job: str
    machine: str
    started: date
    ended: date
    parts_good: int
    parts_scrapped: int
    heats: int | None = None
    index_time: float | None = None
    setup_hours: float | None = None
    run_hours: float | None = None
    sheet_mass: float | None = None
    blanks: int | None = None
    trim_time: float | None = None
    parts_per_pallet: int | None = None
    delivered: date | None = None
    note: str = ""

    @property
    def key(self) -> tuple[str, str, date]:
        return self.job, self.machine, self.started

    @property
    def figures(self) -> dict[str, Any]:
        """Everything but the job and the machine."""
        return {name: value for name, value in vars(self).items() if name not in ("job", "machine")}


@dataclass(frozen=True)
class Wrong:
    """One wrong cell: its row in the spreadsheet (headings are row 1; 0 in a form), column, given, accepted."""

    row: int
    field: str
    column: str
    given: str
    accepted: str


@dataclass(frozen=True)
class House:
    """What a run is held against: jobs that were ordered, machines, the day."""

    jobs: Collection[str]
    machines: Collection[str]
    today: date


@dataclass(frozen=True)
class RunTable:
    """A file as read: runs with their rows, and every wrong cell."""

    told: tuple[tuple[int, Told], ...]
    wrong: tuple[Wrong, ...]


def read_run(cells: Mapping[str, Cell], house: House, row: int = 0) -> tuple[Told | None, tuple[Wrong, ...]]:
    """One run from its cells by field; all that is wrong with it where it cannot be taken."""
    values, wrong = {}, []
    for column in COLUMNS:
        cell = cells.get(column.field, "")
        try:
            values |= _value(column, cell, house)
        except RefusedError as refused:
            wrong.append(Wrong(row, column.field, column.heading, _given(cell), refused.accepted))
    wrong += _between(values, cells, row)
    return (None, tuple(wrong)) if wrong else (Told(**values), ())


def read_run_table(content: bytes, house: House) -> RunTable:
    """All runs of a file. Raises InputErrors where the file as a whole is no such table."""
    heading, *rows = read_table(content, LIMITS)
    places = _places(heading)
    told, wrong = [], []
    for row in rows:
        cells = {field: row.cells[at] for field, at in places.items() if at < len(row.cells)}
        one, refused = read_run(cells, house, row.number)
        beyond = [cell for cell in row.cells[len(heading.cells) :] if cell != ""]
        if beyond:
            refused += (Wrong(row.number, "", "beside the table", _given(beyond[0]), "nothing right of the headings"),)
        if refused:
            wrong += refused
        else:
            told.append((row.number, one))
    return RunTable(tuple(told), tuple(wrong))


def _places(heading: FileRow) -> dict[str, int]:
    found = ["" if isinstance(cell, Unread) else str(cell).strip().casefold() for cell in heading.cells]
    known = {one.heading.casefold(): one for one in COLUMNS}
    unknown = [one for one in found if one and one not in known]
    missing = [one.heading for one in COLUMNS if one.required and one.heading.casefold() not in found]
    if unknown:
        raise refuse(f"a column {units.shortened(unknown[0])}", "the headings " + ", ".join(HEADINGS))
    if missing:
        raise refuse(f"a table without the column {missing[0]}", "the headings " + ", ".join(HEADINGS))
    if len(set(filter(None, found))) < len([one for one in found if one]):
        raise refuse("two columns of one heading", "each heading once")
    return {known[one].field: at for at, one in enumerate(found) if one}


def _value(column: Column, cell: Cell, house: House) -> dict[str, Any]:
    if isinstance(cell, Unread):
        raise RefusedError(cell.accepted)
    if cell == "" or (isinstance(cell, str) and not cell.strip()):
        if column.required:
            raise RefusedError(f"a value: {column.help[0].lower()}{column.help[1:].rstrip('.')}")
        return {}
    if column.kind == "day":
        return {column.field: _day(cell, house.today)}
    if isinstance(cell, date):
        raise RefusedError("text, not a day")
    return _READ[column.kind](column.field, cell.strip(), house)


def _job(field: str, text: str, house: House) -> dict[str, Any]:
    if text not in house.jobs:
        raise RefusedError("the number of a job that was ordered, such as Q-2026-0001")
    return {field: text}


def _machine(field: str, text: str, house: House) -> dict[str, Any]:
    if text not in house.machines:
        raise RefusedError("the code of a machine of the house")
    return {field: text}


def _day(cell: str | date, today: date) -> date:
    try:
        day = cell if isinstance(cell, date) else date.fromisoformat(cell.strip() if len(cell) < 20 else "")
    except ValueError:
        raise RefusedError(DAY_FORM) from None
    if not EARLIEST <= day <= today:
        raise RefusedError(f"{DAY_FORM}, not before {EARLIEST.year} and not after today ({today})")
    return day


def _count(field: str, text: str, house: House) -> dict[str, Any]:
    least = 0 if field in ("parts_good", "parts_scrapped") else 1
    if not _COUNT.fullmatch(text) or not least <= int(text) <= MOST_PARTS:
        raise RefusedError(f"a whole number in digits, from {least} to {MOST_PARTS}")
    return {field: int(text)}


@lru_cache(maxsize=4096)  # a long file says the same times again and again, and exact conversion is slow
def _measured(text: str, kind: str) -> float:
    try:
        return units.read(text, kind)
    except units.UnitError as error:
        raise RefusedError(error.accepted) from error


def _within(field: str, text: str, kind: str) -> dict[str, Any]:
    value, (low, high) = _measured(text, kind), RUN_RANGES[field]
    if not max(low, 1e-6) <= value <= high:
        unit = {"time": "s", "hours": "h", "mass": "kg"}[kind]
        least = f"from {units.show(low, unit)}" if low else "above zero"
        raise RefusedError(f"{units.accepted(kind)}, {least}, at most {units.show(high, unit)}")
    return {field: value}


def _sheet(field: str, text: str, house: House) -> dict[str, Any]:
    counted = _BLANKS.fullmatch(text)
    if counted and 1 <= int(counted[1]) <= MOST_PARTS:
        return {"blanks": int(counted[1])}
    try:
        return _within("sheet_mass", text, "mass")
    except RefusedError as refused:
        raise RefusedError(f"{refused.accepted}; or blanks, such as 64 blanks") from refused


def _text(field: str, text: str, house: House) -> dict[str, Any]:
    if len(text) > MOST_NOTE or not all(mark.isprintable() or mark in "\r\n\t" for mark in text):
        raise RefusedError(f"printable text of at most {MOST_NOTE} characters")
    return {field: " ".join(text.split())}


_READ = {
    "job": _job, "machine": _machine, "count": _count, "sheet": _sheet, "text": _text,
    "time": lambda field, text, house: _within(field, text, "time"),
    "hours": lambda field, text, house: _within(field, text, "hours"),
}  # fmt: skip


def _between(values: Mapping[str, Any], cells: Mapping[str, Cell], row: int) -> list[Wrong]:
    """What figures must be to each other."""
    wrong = []

    def refuse_field(field: str, accepted: str) -> None:
        heading = next(one.heading for one in COLUMNS if one.field == field)
        wrong.append(Wrong(row, field, heading, _given(cells.get(field, "")), accepted))

    started, ended = values.get("started"), values.get("ended")
    if started and ended and ended < started:
        refuse_field("ended", f"a day not before the start ({started})")
    if started and (values.get("delivered") or started) < started:
        refuse_field("delivered", f"a day not before the start ({started})")
    if values.get("parts_good") == 0 and values.get("parts_scrapped") == 0:
        refuse_field("parts_good", "at least one part, good or scrapped")
    return wrong


def _given(cell: Cell) -> str:
    if isinstance(cell, Unread):
        return cell.given
    return units.shortened(str(cell)) if cell != "" else "nothing"
