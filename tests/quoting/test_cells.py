"""No text of ours turns into a formula in a spreadsheet, and what was escaped comes back as it was."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from quoting.cells import STARTS, escaped, unescaped

DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "=cmd|' /C calc'!A0", "'=1", "''=1"]


@given(st.text())
def test_what_was_escaped_comes_back_as_it_was(text):
    assert unescaped(escaped(text)) == text


@given(st.sampled_from(STARTS), st.text())
def test_no_escaped_text_begins_like_a_formula(start, text):
    assert not escaped(start + text).startswith(STARTS)


@pytest.mark.parametrize("text", ["2 %", "ABS, natural", "'tis", "", "4 s", "O'Hara =x"])
def test_a_harmless_text_stays_as_it_is(text):
    assert escaped(text) == text == unescaped(text)


@pytest.mark.parametrize("number", [-4, -4.5, 0])
def test_a_number_stays_a_number(number):
    assert escaped(number) == number


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_reader_of_workbooks_sees_text_and_no_formula(text):
    book, out = Workbook(), io.BytesIO()
    book.active.append([escaped(text), -4])
    book.save(out)
    first, second = load_workbook(io.BytesIO(out.getvalue())).active[1]
    assert (first.data_type, second.data_type, second.value) == ("s", "n", -4)


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_reader_of_csv_sees_no_cell_that_begins_like_a_formula(text):
    out = io.StringIO(newline="")
    csv.writer(out).writerow(["a", escaped(text)])
    assert not next(csv.reader(io.StringIO(out.getvalue(), newline="")))[1].startswith(STARTS)
