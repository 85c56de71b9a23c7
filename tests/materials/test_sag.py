"""Sag of the hot sheet."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from materials.ranges import OutsideRangeError
from materials.sag import parabola_length_ratio, sag

SPAN = st.floats(0.2, 4.0)


@pytest.mark.parametrize(
    ("density", "modulus", "span", "millimetres"),
    [(1050, 1e5, 0.9, 146.850), (1050, 1e6, 0.9, 68.1617), (1050, 1e7, 0.9, 31.6379), (950, 1e6, 1.2, 96.7469)],
)
def test_a_long_sheet_hangs_like_a_strip(density, modulus, span, millimetres):
    # strip formula s^3 = 3 rho g L^4/(64 E) by hand, six digits
    assert sag(density, modulus, span, 1e4) * 1e3 == pytest.approx(millimetres, rel=1e-5)


def test_a_square_sheet_carries_half_its_weight_each_way():
    assert sag(1050, 1e6, 0.9, 0.9) == pytest.approx(sag(1050 / 2, 1e6, 0.9, 1e4), rel=1e-9)


@pytest.mark.parametrize("ratio", [0.0, 1e-8, 0.02, 0.05, 0.10, 0.20])
def test_the_parabola_has_the_length_of_its_arc(ratio):
    # scipy.integrate.quad of the arc y = 4 r x (1 - x)
    expected, _ = quad(lambda x: sqrt(1 + (4 * ratio * (1 - 2 * x)) ** 2), 0, 1)
    assert parabola_length_ratio(ratio) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan")])
def test_a_sheet_without_stiffness_is_refused(wrong):
    with pytest.raises(OutsideRangeError, match="hot_modulus"):
        sag(1050, wrong, 0.9, 0.9)


@given(st.floats(1e4, 1e8), st.floats(1.0, 10.0), SPAN, SPAN)
def test_a_stiffer_hot_modulus_never_sags_more(modulus, factor, a, b):
    assert sag(1050, modulus * factor, a, b) <= sag(1050, modulus, a, b)


@given(SPAN, SPAN, st.floats(1.0, 3.0))
def test_a_wider_frame_never_sags_less_and_turning_it_changes_nothing(a, b, factor):
    assert sag(1050, 1e6, a * factor, b) >= sag(1050, 1e6, a, b)
    assert sag(1050, 1e6, a, b) == pytest.approx(sag(1050, 1e6, b, a))
