"""The form and the contract say the same, both ways."""

import json

import pytest

from quoting.desk.form_fields import KEYS
from quoting.desk.inquiry_text import inquiry_from, typed_from
from quoting.desk.templatetags.desk import day, input_value, money
from quoting.intake.fields import BY_KEY
from quoting.intake.part import TOOL_SIDES

from .conftest import INQUIRIES, QUOTED


@pytest.mark.parametrize("path", sorted(INQUIRIES.glob("*.json")), ids=lambda path: path.stem)
def test_an_inquiry_survives_the_way_through_the_form(path):
    inquiry = json.loads(path.read_text())

    assert inquiry_from(typed_from(inquiry)) == inquiry


@pytest.mark.parametrize("side", TOOL_SIDES)
def test_the_side_of_the_tool_survives_the_way_through_the_form(side):
    inquiry = json.loads((INQUIRIES / f"{QUOTED}.json").read_text())
    inquiry["part"]["tool_side"] = side

    assert inquiry_from(typed_from(inquiry)) == inquiry


def test_every_field_is_on_the_form():
    assert set(KEYS) == set(BY_KEY)


def test_an_empty_form_is_an_empty_inquiry():
    assert inquiry_from({}) == {}


def test_money_and_dates_are_written_out():
    assert money("1234.5") == "$1,234.50"
    assert money(None) == "–"
    assert day("2026-11-05") == "5 Nov 2026"


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        ("90", "$/h", "$90.00/h"), ("1.655", "$/lb", "$1.655/lb"), ("102", "-", "102"), ("0.02", "-", "0.02"),
        ("2", "people", "2 people"), (None, "-", "–"),
    ],
)  # fmt: skip
def test_an_input_of_a_cost_line_carries_its_unit(value, unit, text):
    assert input_value(value, unit) == text
