"""A rate table from its file: every wrong cell by row, column, given and accepted."""

from datetime import date, datetime, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.intake.rate_reading import read_rate_table
from quoting.intake.rate_rows import pounds
from quoting.intake.rate_tables import TABLES
from quoting.intake.reading_result import InputErrors
from quoting.units import read
from tests.quoting.quotes.rate_files import as_csv, as_xlsx

DAY = date(2026, 12, 1)
SHEET = ("Mill ABS", "0 lb", "2.55", "0", "500 lb", "0.45", "2026-12-01", "mill quote")


def tier(**changes):
    """One row of the resin table; a heading's first word names the cell that differs."""
    names = ("sheet", "weight", "price", "colour", "least", "regrind", "begins", "source")
    return tuple(changes.get(name, cell) for name, cell in zip(names, SHEET, strict=True))


def found(table, *rows, effective=None, form=as_csv):
    return read_rate_table(form(table, *rows), TABLES[table], effective)


def wrong(table, *rows, **more):
    return [(one.row, one.column, one.given) for one in found(table, *rows, **more).wrong]


def test_rows_of_one_sheet_and_day_are_one_price_table():
    read = found("resin", tier(weight="500 lb", price="2.25"), tier(), tier(begins="2027-01-01"))
    assert [(one.subject, one.valid_from, one.rows) for one in read.entries] == [
        ("Mill ABS", DAY, (2, 3)), ("Mill ABS", date(2027, 1, 1), (4,)),
    ]  # fmt: skip
    assert [(one.name, one.value) for one in read.entries[0].figures[:2]] == [
        ("From 0 lb ($/lb)", Decimal("2.55")), ("From 500 lb ($/lb)", Decimal("2.25")),
    ]  # fmt: skip
    assert read.wrong == ()


@pytest.mark.parametrize("given", ["1,234.50", "1.234,50", "$2.55", "2,55", "-2.55", "2.55555", "two", "1e3", "2.55 $"])
def test_money_that_can_be_misread_is_refused_with_the_form_that_cannot(given):
    read = found("resin", tier(price=given))
    assert [(one.row, one.column) for one in read.wrong] == [(2, "Price per pound ($)")]
    assert "such as 1234.50" in read.wrong[0].accepted
    assert read.entries == ()


@pytest.mark.parametrize(
    "given",
    ["01/02/2026", "1.2.2026", "2026-2-1", "26-02-01", "20260201", "46023", "2026-02-30", "Feb 1", "2026-W05-1"],
)
def test_a_date_that_can_be_misread_is_refused_with_the_form_that_cannot(given):
    read = found("overhead", ("price.overhead", "13 %", given, ""))
    assert [(one.row, one.column, one.given) for one in read.wrong] == [(2, "Valid from", f'"{given}"')]
    assert "YYYY-MM-DD" in read.wrong[0].accepted


def test_a_real_date_of_a_workbook_is_a_date_and_its_number_is_none():
    rows = [
        ("price.overhead", "13 %", one, "")
        for one in (DAY, datetime.combine(DAY, time()), 46357, datetime.combine(DAY, time(9)))
    ]
    read = found("overhead", *rows, form=as_xlsx)
    assert [one.row for one in read.wrong] == [2, 3, 4, 5]  # 2 and 3 name the same day twice
    assert {one.column for one in read.wrong if one.row > 3} == {"Valid from"}
    assert [one.valid_from for one in found("overhead", rows[0], form=as_xlsx).entries] == [DAY]


def test_a_value_that_the_spreadsheet_made_a_date_is_refused():
    read = found("overhead", ("error.sheet_price", date(2026, 9, 10), DAY, ""), form=as_xlsx)
    assert [(one.row, one.column) for one in read.wrong] == [(2, "Value")]
    assert "made a date of it" in read.wrong[0].accepted


def test_a_formula_is_refused_and_never_worked_out():
    read = found("overhead", ("price.overhead", "=0.1+0.03", DAY, ""), form=as_xlsx)
    assert [(one.column, one.given) for one in read.wrong] == [("Value", "a formula")]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([tier(), tier(colour="50", weight="500 lb")], [(3, "Colour charge per order ($)")]),
        ([tier(weight="100 lb")], [(2, "From order weight")]),
        ([tier(), tier(weight="0 kg")], [(3, "From order weight")]),
        ([tier(weight="0"), tier(weight="500 lb")], [(2, "From order weight"), (3, "Sheet")]),
        ([tier(sheet="")], [(2, "Sheet")]),
        ([tier(least="1,000 lb")], [(2, "Minimum order")]),
        ([(*tier(), "beside")], [(2, "")]),
        ([tier(source="x" * 301)], [(2, "Source")]),
        ([tier(source="two\nlines")], [(2, "Source")]),
    ],
)
def test_a_wrong_price_table_is_told_by_row_and_column(rows, said):
    read = found("resin", *rows)
    assert [(one.row, one.column) for one in read.wrong] == said
    assert read.entries == ()


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (("P-1", "labor", "", "36", "", ""), "Rate for"),
        (("P-1", "labour", "M-1", "36", "", ""), "Machine or trimmer"),
        (("P-1", "machine", "", "36", "", ""), "Machine or trimmer"),
        (("", "labour", "", "36", "", ""), "Plant"),
        (("P-1", "labour", "", "", "", ""), "Rate per hour ($)"),
    ],
)
def test_a_wrong_hour_rate_is_told_by_its_column(row, column):
    assert [one[:2] for one in wrong("labour", row, effective=DAY)] == [(2, column)]


@pytest.mark.parametrize(
    ("table", "key", "value", "said"),
    [
        ("overhead", "freight.circuity", "1.2", "stands in Freight"),
        ("freight", "price.margin", "20 %", "stands in Overhead and other rates"),
        ("overhead", "price.margn", "20 %", "a rate of this table, such as price.overhead"),
    ],
)
def test_a_rate_of_another_table_or_of_none_is_refused(table, key, value, said):
    read = found(table, (key, value, "2026-12-01", ""))
    assert [one.column for one in read.wrong] == ["Rate"]
    assert said in read.wrong[0].accepted


def test_two_rows_of_one_rate_and_day_count_neither():
    rows = [("price.margin", "20 %", "2026-12-01", ""), ("price.margin", "25 %", "2026-12-01", "")]
    read = found("overhead", *rows, ("price.margin", "25 %", "2026-12-02", ""))
    assert [(one.row, one.column) for one in read.wrong] == [(2, "Rate"), (3, "Rate")]
    assert [one.valid_from for one in read.entries] == [date(2026, 12, 2)]


def test_an_effective_date_goes_before_the_column():
    rows = [("price.margin", "20 %", "2026-01-01", ""), ("price.overhead", "12 %", "", "")]
    assert {one.valid_from for one in found("overhead", *rows, effective=DAY).entries} == {DAY}
    assert [one.valid_from for one in found("overhead", *rows).entries] == [date(2026, 1, 1), None]


def test_columns_may_stand_in_any_order_and_headings_in_any_case():
    content = as_csv(
        "overhead", ("13 %", "price.overhead", "", "2026-12-01"), headings=("VALUE", " rate ", "source", "Valid From")
    )
    read = read_rate_table(content, TABLES["overhead"], None)
    assert [(one.subject, one.figures[0].value, one.valid_from) for one in read.entries] == [
        ("price.overhead", Decimal("0.13"), DAY)
    ]


@pytest.mark.parametrize(
    ("headings", "said"),
    [(("Rate", "Price"), "Price"), (("Rate", "Rate"), "twice"), (("Rate",), "no heading Value"), (("a", "b"), '"a"')],
)
def test_wrong_headings_are_told_with_the_right_ones(headings, said):
    with pytest.raises(InputErrors) as refused:
        read_rate_table(as_csv("overhead", ("x", "y"), headings=headings), TABLES["overhead"], None)
    assert said in str(refused.value)
    assert "Rate, Value, Valid from, Source" in str(refused.value)


@given(st.decimals("0", "99999", places=4), st.sampled_from(["lb", "kg", "oz"]))
def test_a_mass_in_pounds_is_read_as_the_same_mass_again(amount, unit):
    mass = read(f"{amount:f} {unit}", "mass")
    assert read(pounds(mass), "mass") == pytest.approx(mass, rel=1e-12, abs=1e-12)


def test_whole_pounds_stay_whole():
    assert [pounds(read(f"{one} lb", "mass")) for one in (500, 2000, 10000, 0.5)] == [
        "500 lb", "2000 lb", "10000 lb", "0.5 lb",
    ]  # fmt: skip


def test_a_file_of_very_many_days_is_refused():
    rows = [("price.margin", "20 %", f"2027-01-{day:02d}", "") for day in range(1, 26)]
    with pytest.raises(InputErrors, match="at most 24 different days"):
        found("overhead", *rows)
