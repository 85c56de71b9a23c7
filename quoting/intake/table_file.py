"""A table from a CSV or XLSX file: rows of cells with their numbers, or what is wrong with the file as a whole.

What the file holds, not its name, says how it is read. Nothing is unpacked before its size is known.
"""

import csv
import io
import zlib
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from zipfile import BadZipFile, ZipFile

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from quoting.cells import unescaped
from quoting.intake.reading_result import InputError, InputErrors

LARGEST_FILE = 5 * 1024 * 1024  # bytes
MOST_ROWS = 20_000
MOST_COLUMNS = 40
LARGEST_UNPACKED = 40 * 1024 * 1024  # bytes of all parts of a workbook together; 20,000 full rows take some 15 MB
LARGEST_PART = {"xl/styles.xml": 2 * 1024 * 1024}  # each style costs time; a workbook of ours has a few hundred bytes
MOST_PARTS = 200
# Reading time goes with the elements: 20,000 full rows of the widest table have some 1.0 million "<", by our count.
MOST_MARKS = 1_500_000
SPREADSHEET_DIGITS = ".15g"  # digits that a spreadsheet keeps of a number, from memory, unverified

AS_SAVED = "a workbook as a spreadsheet program saves it"
FORM = "a CSV file in UTF-8 with commas or semicolons, or an XLSX workbook"
_BROKEN = (
    BadZipFile, InvalidFileException, zlib.error, EOFError, OSError, KeyError, ValueError, TypeError, AttributeError,
    IndexError, SyntaxError, NotImplementedError, RuntimeError, OverflowError,
)  # fmt: skip


@dataclass(frozen=True)
class Limits:
    """How large a file [bytes] and how many rows below its headings are read."""

    file: int = LARGEST_FILE
    rows: int = MOST_ROWS


USUAL = Limits()


@dataclass(frozen=True)
class Unread:
    """A cell that is no plain value: what it holds, and what is accepted in its place."""

    given: str
    accepted: str


Cell = str | date | Unread


@dataclass(frozen=True)
class FileRow:
    """One row that is not blank; ``number`` is that of the spreadsheet, the headings being row 1."""

    number: int
    cells: tuple[Cell, ...]


def refuse(given: str, accepted: str) -> InputErrors:
    return InputErrors((InputError("file", given, accepted),))


def read_table(content: bytes, limits: Limits = USUAL) -> tuple[FileRow, ...]:
    """The rows of a file, the first of which holds the headings.

    Parameters
    ----------
    content : bytes
        The file [-].
    limits : Limits
        How much is read [-].

    Returns
    -------
    rows : tuple
        FileRow without blank ones [-].

    Raises
    ------
    InputErrors
        The file is too large, has too many rows, is neither CSV nor XLSX, or may harm its reader.
    """
    if len(content) > limits.file:
        raise refuse(f"{len(content) / 1e6:.1f} MB", f"a file of at most {limits.file // 2**20} MB")
    if not content.strip():
        raise refuse("an empty file", FORM)
    rows = (_xlsx_rows if content.startswith(b"PK") else _csv_rows)(content, limits.rows)
    if not rows:
        raise refuse("a file without rows", "a row of headings and rows of values below it")
    return tuple(rows)


def _collected(numbered: Any, most: int) -> list[FileRow]:
    rows = []
    for number, cells in numbered:
        if number > most + 1:
            raise refuse("more rows", f"at most {most:,} rows below the headings")
        while cells and cells[-1] == "":
            cells.pop()
        if len(cells) > MOST_COLUMNS:
            raise refuse(f"{len(cells):,} columns", f"at most {MOST_COLUMNS} columns")
        if cells:
            rows.append(FileRow(number, tuple(cells)))
    return rows


def _csv_rows(content: bytes, most: int) -> list[FileRow]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse("text in another coding than UTF-8", FORM) from error
    if "\0" in text:
        raise refuse("a file with NUL characters", FORM)
    heading = text.lstrip("\r\n").partition("\n")[0]
    mark = ";" if heading.count(";") > heading.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    try:
        return _collected(
            ((number, [unescaped(cell.strip(" ")) for cell in row]) for number, row in enumerate(reader, 1)), most
        )
    except csv.Error as error:
        raise refuse(f"text that is no CSV ({error})", FORM) from error


def _xlsx_rows(content: bytes, most: int) -> list[FileRow]:
    _refuse_bomb(content)
    try:
        book = load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
        if len(book.sheetnames) != 1:
            raise refuse(
                f"a workbook of {len(book.sheetnames)} sheets", "a workbook with one sheet, hidden ones counted"
            )
        sheet = book.worksheets[0] if book.worksheets else None
        if sheet is None:
            raise refuse("a workbook without a table", FORM)
        sheet.reset_dimensions()  # what the file says of its own size is not believed
        found = sheet.iter_rows(max_col=MOST_COLUMNS)
        return _collected(((number, [_cell(one) for one in row]) for number, row in enumerate(found, 1)), most)
    except InputErrors:
        raise
    except _BROKEN as error:
        raise refuse(f"a workbook that cannot be read ({type(error).__name__})", FORM) from error


def _refuse_bomb(content: bytes) -> None:
    """Refuse by the directory of the archive, before anything is unpacked; then by what XML must not hold."""
    try:
        archive = ZipFile(io.BytesIO(content))
        _refuse_parts(archive)
        _refuse_contents(archive)
    except InputErrors:
        raise
    except _BROKEN as error:
        raise refuse(f"an archive that cannot be read ({type(error).__name__})", FORM) from error


def _refuse_parts(archive: ZipFile) -> None:
    parts = archive.infolist()
    names = [part.filename for part in parts]
    if len(parts) > MOST_PARTS or len(set(names)) < len(names):
        raise refuse(f"an archive of {len(parts):,} parts", AS_SAVED)
    if any(name.startswith(("/", "\\")) or ".." in name for name in names) or any(part.flag_bits & 1 for part in parts):
        raise refuse("an archive with a protected part, or one that points outside", FORM + " without a password")
    over = any(part.file_size > LARGEST_PART.get(part.filename, LARGEST_UNPACKED) for part in parts)
    if over or sum(part.file_size for part in parts) > LARGEST_UNPACKED:
        raise refuse("a workbook that unpacks to too much", f"at most {LARGEST_UNPACKED // 2**20} MB unpacked")


def _refuse_contents(archive: ZipFile) -> None:
    marks = 0
    for part in archive.infolist():
        data = archive.read(part).replace(b"\0", b"")  # without NUL, UTF-16 shows its marks as UTF-8 does
        marks += data.count(b"<")
        if b"<!DOCTYPE" in data:
            raise refuse("a workbook with a document type of its own", AS_SAVED)
    if marks > MOST_MARKS:
        raise refuse("a workbook with too many cells or texts", f"one table of at most {MOST_ROWS:,} rows")


def _cell(cell: Any) -> Cell:
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return Unread("a formula", "the value itself (in the spreadsheet: copy, paste as values)")
    if cell.data_type == "e" or isinstance(value, bool):
        return Unread(str(value)[:40], "a value typed as text or number")
    if isinstance(value, datetime):
        return value.date() if value.time() == time() else Unread(f"the time {value}", "a day without a time")
    if isinstance(value, date):
        return value
    if isinstance(value, int | float):
        return _number(value, "%" in (cell.number_format or ""))
    if isinstance(value, str):
        return unescaped(value.strip(" "))
    return Unread(f"a {type(value).__name__}", "a value typed as text or number")


def _number(value: float, as_percent: bool) -> str:
    """A number as it is seen in the spreadsheet."""
    exact = Decimal(format(value, SPREADSHEET_DIGITS))
    return f"{(exact * 100).normalize():f} %" if as_percent else f"{exact:f}"
