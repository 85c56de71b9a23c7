"""The workbook as its reader finds it."""

import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from quoting.cells import escaped
from quoting.desk.workbook import workbook


def reread(sheets):
    return load_workbook(io.BytesIO(workbook(sheets)))


def test_texts_numbers_days_and_empty_cells_come_back_as_they_were():
    rows = [("P & Q <b>", 12.5, date(2026, 11, 23), None), ("", -3, date(2026, 1, 1), " two  spaces\nand a line ")]

    book = reread({"Board": (("Text", "Number", "Day", "Rest"), rows), "Empty": (("Nothing",), [])})

    assert book.sheetnames == ["Board", "Empty"]
    first, *rest = book["Board"].iter_rows(values_only=True)
    assert first == ("Text", "Number", "Day", "Rest")
    assert [(*row[:2], row[2].date(), row[3]) for row in rest] == [rows[0], (None, *rows[1][1:])]
    assert book["Board"]["C2"].number_format == "yyyy-mm-dd"
    assert book["Board"]["A1"].font.bold and not book["Board"]["A2"].font.bold
    assert book["Board"].freeze_panes == "A2"
    assert book["Board"].column_dimensions["B"].width == 12


def test_what_a_workbook_cannot_hold_is_shown_by_a_question_mark():
    assert reread({"One": (("Text",), [("a\x00b\x1fc",)])})["One"]["A2"].value == "a?b?c"


TEXTS = st.text(st.characters(exclude_characters="\r"))  # XML reads every end of a line as a line feed


@given(st.lists(st.tuples(TEXTS, st.floats(-1e9, 1e9), st.dates(date(1901, 1, 1)))))
def test_no_text_breaks_the_file_or_becomes_a_formula(rows):
    sheet = reread({"One": (("Text", "Number", "Day"), rows)})["One"]

    assert sheet.max_row == len(rows) + 1
    for row, (text, number, day) in zip(sheet.iter_rows(min_row=2), rows, strict=True):
        held = (
            ILLEGAL_CHARACTERS_RE.sub("?", escaped(text)).replace("\r\n", "\n").replace("\r", "\n")
        )  # as XML reads ends of lines
        assert (row[0].value or "") == held and row[0].data_type != "f"
        assert row[1].value == pytest.approx(number, rel=1e-14, abs=1e-300) and row[2].value.date() == day
