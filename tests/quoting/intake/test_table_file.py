"""Bad files of every kind are refused with what was given and what is accepted; good ones are read cell by cell."""

import io
import zipfile
from datetime import date, datetime
from datetime import time as clock

import pytest
from openpyxl import Workbook

from quoting.intake.reading_result import InputErrors
from quoting.intake.table_file import LARGEST_FILE, MOST_ROWS, FileRow, Unread, read_table


def workbook(*rows, **changes) -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(list(row))
    if changes.get("second_sheet"):
        book.create_sheet("more").sheet_state = "hidden"
    book.save(out)
    return out.getvalue()


def rebuilt(content: bytes, **parts: bytes) -> bytes:
    """The same archive with some parts replaced or added; a name is written with _ for / and __ for a point."""
    out = io.BytesIO()
    names = {name.replace("__", ".").replace("_", "/"): data for name, data in parts.items()}
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for one in old.infolist():
            new.writestr(one.filename, names.pop(one.filename, None) or old.read(one.filename))
        for name, data in names.items():
            new.writestr(name, data)
    return out.getvalue()


def refusal(content: bytes) -> str:
    with pytest.raises(InputErrors) as refused:
        read_table(content)
    assert [error.field for error in refused.value.errors] == ["file"]
    return refused.value.errors[0].message


GOOD = workbook(("Rate", "Value"), ("price.margin", "20 %"))
SHEET_XML = b"""<?xml version="1.0"?>%s<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">
<dimension ref="A1:XFD1048576"/><sheetData>%s</sheetData></worksheet>"""
CELL = '<c r="{}{}" t="inlineStr"><is><t>{}</t></is></c>'


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "an empty file"),
        (b"  \n \n", "an empty file"),
        (b",,\n,,\n", "a file without rows"),
        (b"x" * (LARGEST_FILE + 1), "at most 5 MB"),
        ("Größe;Wert\n1;2".encode("cp1252"), "another coding than UTF-8"),
        ("a,b\n1,2".encode("utf-16"), "another coding than UTF-8"),
        (b"a,b\n1,\0\n", "NUL"),
        (b'a,b\n"1,2\n', "text that is no CSV"),
        (b'a,b\n"1"x,2\n', "text that is no CSV"),
        (b"a\n" + b"1\n" * (MOST_ROWS + 1), "at most 20,000 rows"),
        (b"a" + b",b" * 50, "at most 40 columns"),
        (b"PK\x03\x04 not an archive", "an archive that cannot be read"),
        (GOOD[: len(GOOD) // 2], "an archive that cannot be read"),
        (workbook(("a",), second_sheet=True), "a workbook of 2 sheets"),
        (rebuilt(GOOD, **{"xl_worksheets_sheet1__xml": b"<worksheet"}), "a workbook that cannot be read"),
        (rebuilt(GOOD, **{"xl_workbook__xml": b"<a/>"}), "a workbook"),
        (rebuilt(GOOD, **{"..evil__txt": b"x"}), "points outside"),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_a_file_that_is_no_table_is_refused_by_what_it_is(content, said):
    assert said in refusal(content)


def test_a_workbook_that_unpacks_to_much_is_refused_before_it_is_unpacked(monkeypatch):
    bomb = rebuilt(GOOD, **{"xl_media_a__bin": b"\0" * (60 * 2**20)})
    assert len(bomb) < 200_000

    def unpack(*_):
        raise AssertionError("nothing is unpacked")

    monkeypatch.setattr(zipfile.ZipFile, "open", unpack)
    assert "unpacks to too much" in refusal(bomb)


def test_a_workbook_of_a_million_styles_is_refused():
    styles = b"<styleSheet>" + b"<xf/>" * 1_000_000 + b"</styleSheet>"
    assert "unpacks to too much" in refusal(rebuilt(GOOD, **{"xl_styles__xml": styles}))


def test_a_workbook_of_very_many_texts_or_cells_is_refused_before_they_are_read():
    texts = b"<sst>" + b"<si><t>x</t></si>" * 500_000 + b"</sst>"
    cells = SHEET_XML % (b"", b'<row r="1">' + b"<c/>" * 1_600_000 + b"</row>")
    for part in ({"xl_sharedStrings__xml": texts}, {"xl_worksheets_sheet1__xml": cells}):
        assert "too many cells or texts" in refusal(rebuilt(GOOD, **part))


def test_an_archive_of_many_parts_is_refused():
    parts = {f"part{number}": b"x" for number in range(300)}
    assert "parts" in refusal(rebuilt(GOOD, **parts))


@pytest.mark.parametrize(
    "kind",
    [
        b'<!DOCTYPE a [<!ENTITY b "boom"><!ENTITY c "&b;&b;&b;&b;">]>',
        b'<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/hostname">]>',
        b'<!DOCTYPE a SYSTEM "http://127.0.0.1:9/x.dtd">',
    ],
)
@pytest.mark.parametrize("coding", ["utf-8", "utf-16"])
def test_a_workbook_with_entities_is_refused_whatever_its_coding(kind, coding):
    xml = (SHEET_XML % (kind, b"")).decode().replace("?>", f' encoding="{coding}"?>', 1).encode(coding)
    assert "document type" in refusal(rebuilt(GOOD, **{"xl_worksheets_sheet1__xml": xml}))


def test_what_a_sheet_says_of_its_own_size_is_not_believed():
    rows = f'<row r="1">{CELL.format("A", 1, "Rate")}</row><row r="3">{CELL.format("A", 3, "x")}</row>'
    found = read_table(rebuilt(GOOD, **{"xl_worksheets_sheet1__xml": SHEET_XML % (b"", rows.encode())}))
    assert [row.number for row in found] == [1, 3]


def test_a_row_far_down_is_one_row_too_many():
    rows = f'<row r="1">{CELL.format("A", 1, "Rate")}</row><row r="1048576">{CELL.format("A", 1048576, "x")}</row>'
    xml = SHEET_XML % (b"", rows.encode())
    assert "at most 20,000 rows" in refusal(rebuilt(GOOD, **{"xl_worksheets_sheet1__xml": xml}))


def test_a_formula_an_error_a_time_and_a_truth_are_no_values():
    found = read_table(
        workbook(("a", "b", "c", "d"), ("=1+1", "#N/A", datetime.combine(date(2026, 12, 1), clock(8, 30)), True))
    )[1].cells
    assert all(isinstance(cell, Unread) for cell in found)
    assert [cell.given for cell in found] == ["a formula", "#N/A", "the time 2026-12-01 08:30:00", "True"]


def test_numbers_and_dates_of_a_workbook_are_read_as_they_are_seen():
    book, out = Workbook(), io.BytesIO()
    book.active.append(["heading"] * 6)
    book.active.append([2.55, 1250, 0.05, date(2026, 12, 1), 2.55 * 1.1, " text "])
    book.active["C2"].number_format = "0%"
    book.save(out)
    assert read_table(out.getvalue())[1].cells == ("2.55", "1250", "5 %", date(2026, 12, 1), "2.805", "text")


@pytest.mark.parametrize("mark", [",", ";"])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_csv_is_read_with_comma_or_semicolon_with_or_without_mark(mark, coding, end):
    text = end.join([f"a{mark}b", f"00123{mark}'=1+1", "", f'"x{mark}y"{mark}é'])
    found = read_table(text.encode(coding))
    assert found == (FileRow(1, ("a", "b")), FileRow(2, ("00123", "=1+1")), FileRow(4, (f"x{mark}y", "é")))
