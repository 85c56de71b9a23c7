"""Floats to money."""

from decimal import Decimal

import numpy
from hypothesis import given
from hypothesis import strategies as st

from quoting.costing.money import exact, to_cent, up_to_cent
from quoting.costing.money import given as record


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_float_comes_back_from_its_decimal(number):
    assert float(exact(number)) == number


def test_a_numpy_scalar_is_read_like_a_float():
    assert exact(numpy.float64(0.1)) == Decimal("0.1")


def test_half_a_cent_is_rounded_up():
    assert to_cent(Decimal("0.005")) == Decimal("0.01")
    assert to_cent(Decimal("0.0049")) == Decimal("0.00")


def test_a_floor_is_reached_by_rounding_up():
    assert up_to_cent(Decimal("0.0001")) == Decimal("0.01")


@given(st.floats(-1e12, 1e12))
def test_an_input_keeps_its_value_as_plain_decimal_text(number):
    text = record("x", number, "-").value

    assert "e" not in text.lower()
    assert float(text) == number
