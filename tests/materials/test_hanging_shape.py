"""Parabola and catenary, and how far they part."""

from math import cosh, sinh, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from materials.constants import STANDARD_GRAVITY
from materials.hanging_shape import catenary_length_ratio, catenary_sag, parabola_length_ratio
from materials.ranges import OutsideRangeError
from materials.sag import sag

# sag over span; parabola, catenary: computed apart from this code, with the two closed forms, to nine digits
TABLE = [
    (0.02, 1.00106564, 1.00106587),
    (0.05, 1.00662723, 1.00663585),
    (0.10, 1.02606063, 1.02618687),
    (0.15, 1.05711594, 1.05767399),
    (0.20, 1.09823008, 1.09971821),
]


@pytest.mark.parametrize("ratio", [0.0, 1e-8, 0.02, 0.05, 0.10, 0.20])
def test_the_parabola_has_the_length_of_its_arc(ratio):
    # scipy.integrate.quad of the arc y = 4 r x (1 - x)
    expected, _ = quad(lambda x: sqrt(1 + (4 * ratio * (1 - 2 * x)) ** 2), 0, 1)
    assert parabola_length_ratio(ratio) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("ratio", "parabola", "catenary"), TABLE)
def test_both_shapes_have_the_lengths_of_the_table(ratio, parabola, catenary):
    assert parabola_length_ratio(ratio) == pytest.approx(parabola, abs=6e-9)
    assert catenary_length_ratio(ratio) == pytest.approx(catenary, abs=6e-9)


@pytest.mark.parametrize("ratio", [0.05, 0.10, 0.15, 0.20])
def test_the_catenary_agrees_with_a_chain_found_by_root_finding(ratio):
    # scipy.optimize.brentq for the radius a with a (cosh(1/(2 a)) - 1) = r, then 2 a sinh(1/(2 a))
    a = brentq(lambda radius: radius * (cosh(1 / (2 * radius)) - 1) - ratio, 0.05, 50)
    assert catenary_length_ratio(ratio) == pytest.approx(2 * a * sinh(1 / (2 * a)), abs=1e-10)


def test_the_shapes_part_by_one_part_in_ten_thousand_at_a_tenth_and_by_fifteen_at_a_fifth():
    ratios = np.array([0.05, 0.10, 0.20])

    # from the table: 1.00663585 - 1.00662723, 1.02618687 - 1.02606063, 1.09971821 - 1.09823008
    parted = catenary_length_ratio(ratios) - parabola_length_ratio(ratios)
    assert parted == pytest.approx([0.0000086, 0.0001262, 0.0014881], abs=1e-7)


@pytest.mark.parametrize(("modulus", "ratio"), [(1e7, 0.035), (1e6, 0.076), (1e5, 0.168)])
def test_an_elastic_catenary_agrees_with_its_tension_integrated_along_the_arc(modulus, ratio):
    def unbalanced(u):
        half, radius = 0.45, 0.45 / u
        arc = 2 * radius * sinh(u)
        weight = 1050 * STANDARD_GRAVITY * 0.9 / arc  # of 1 m gauge, on the stretched length
        # scipy.integrate.quad of the tension weight a cosh(x/a) along the arc
        pull, _ = quad(lambda x: weight * radius * cosh(x / radius) ** 2, -half, half)
        return pull / arc / modulus - (arc / 0.9 - 1)

    u = brentq(unbalanced, 0.01, 3)
    expected = 0.45 / u * (cosh(u) - 1)

    assert catenary_sag(1050, modulus, 0.9) == pytest.approx(expected, rel=1e-9)
    assert expected / 0.9 == pytest.approx(ratio, abs=1e-3)


@given(st.floats(1e6, 1e9), st.floats(0.3, 3.0))
def test_the_strip_is_a_little_high_beside_the_catenary_and_closes_on_it_when_stiff(modulus, span):
    parabola, catenary = sag(1050, modulus, span, 1e5), catenary_sag(1050, modulus, span)

    ratio = parabola / span
    assert parabola < catenary < parabola * (1 + 1.5 * ratio**2)


@given(st.floats(0.001, 4.0), st.floats(1.01, 1.2))
def test_a_deeper_shape_is_longer_and_the_catenary_the_longer_of_the_two(ratio, factor):
    assert catenary_length_ratio(ratio * factor) > catenary_length_ratio(ratio) > 1
    assert catenary_length_ratio(ratio) >= parabola_length_ratio(ratio)


def test_a_straight_sheet_is_as_long_as_its_span():
    assert catenary_length_ratio(0.0) == parabola_length_ratio(0.0) == 1.0


@pytest.mark.parametrize("wrong", [-0.1, 5.1, float("nan")])
def test_a_catenary_of_no_sheet_is_refused(wrong):
    with pytest.raises(OutsideRangeError, match="sag_ratio"):
        catenary_length_ratio(wrong)


def test_a_parabola_that_hangs_upwards_is_refused():
    with pytest.raises(OutsideRangeError, match="sag_ratio"):
        parabola_length_ratio(-0.1)


def test_many_shapes_at_once_are_each_alone():
    ratios = np.array([[0.0, 1e-8], [0.1, 0.2]])

    assert catenary_length_ratio(ratios)[1, 1] == pytest.approx(catenary_length_ratio(0.2), rel=1e-14)
    assert parabola_length_ratio(ratios)[1, 0] == pytest.approx(parabola_length_ratio(0.1), rel=1e-14)
    assert catenary_sag(1050, np.array([1e5, 1e6]), 0.9)[1] == pytest.approx(catenary_sag(1050, 1e6, 0.9), rel=1e-14)
    assert type(catenary_length_ratio(0.1)) is type(parabola_length_ratio(0.1)) is float
