"""Sag of the hot sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from materials.constants import STANDARD_GRAVITY
from materials.hanging_shape import parabola_length_ratio
from materials.ranges import OutsideRangeError
from materials.sag import (
    SIZE_EXPONENT,
    disc_sag,
    newtonian_sag,
    sag,
    sag_ratio,
    slack_ratio,
    span_share_for,
)

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


def test_a_round_sheet_hangs_as_a_cap():
    # s^3 = 3 rho g a^4 (1 - nu)/(8 E) by hand, six digits
    assert disc_sag(1050, 1e6, 0.45) * 1e3 == pytest.approx(42.9392, rel=1e-5)


def test_a_square_frame_hangs_deeper_than_the_round_one_inside_it_and_less_than_the_one_around_it():
    inside, around = disc_sag(1050, 1e6, 0.45), disc_sag(1050, 1e6, 0.45 * 2**0.5)

    assert inside < sag(1050, 1e6, 0.9, 0.9) < around


def test_a_strip_in_balance_by_root_finding_hangs_as_the_formula_says():
    def unbalanced(hang):  # scipy.optimize.brentq on stress over modulus less strain of the exact parabola
        return 1050 * STANDARD_GRAVITY * 0.9**2 / (8 * hang) / 1e7 - (parabola_length_ratio(hang / 0.9) - 1)

    # the formula takes strain as 8 r^2/3, which at this sag is within 0.3 % of the arc
    assert sag(1050, 1e7, 0.9, 1e4) == pytest.approx(brentq(unbalanced, 0.005, 0.2), rel=2e-3)


@pytest.mark.parametrize(("viscosity", "millimetres"), [(1e7, 86.3865), (1e6, 186.114)])
def test_a_flowing_strip_hangs_as_deep_after_a_minute_as_worked_by_hand(viscosity, millimetres):
    # s^3 = 9 rho g L^4 t/(512 mu) by hand, six digits
    assert newtonian_sag(950, viscosity, 0.9, 60) * 1e3 == pytest.approx(millimetres, rel=1e-5)


def test_a_flowing_strip_followed_in_time_hangs_as_the_formula_says():
    def sinking(_, hang):  # strain rate 16 s ds/dt/(3 L^2) = stress rho g L^2/(8 s) over 4 mu
        return 3 * 950 * STANDARD_GRAVITY * 0.9**4 / (16 * 8 * 4 * 1e7 * hang**2)

    # scipy.integrate.solve_ivp from a sag of 1 mm
    followed = solve_ivp(sinking, (0, 60), [1e-3], rtol=1e-9, atol=1e-12).y[0, -1]
    assert newtonian_sag(950, 1e7, 0.9, 60) == pytest.approx(followed, rel=1e-5)


def test_flow_has_not_begun_at_the_start_and_grows_with_the_cube_root_of_time():
    assert newtonian_sag(950, 1e7, 0.9, 0.0) == 0.0
    assert newtonian_sag(950, 1e7, 0.9, 80.0) == pytest.approx(2 * newtonian_sag(950, 1e7, 0.9, 10.0))


@given(SPAN, SPAN, st.floats(0.2, 3.0))
def test_elastic_sag_grows_with_size_to_the_power_of_four_thirds(a, b, factor):
    grown = sag(1050, 1e6, a * factor, b * factor)

    assert grown == pytest.approx(sag(1050, 1e6, a, b) * factor**SIZE_EXPONENT, rel=1e-9)


@given(SPAN, SPAN, st.floats(0.01, 1.0))
def test_a_blank_cut_down_by_the_share_named_hangs_just_as_far_as_wanted(a, b, wanted):
    share = span_share_for(sag(1050, 1e6, a, b), wanted)

    assert sag(1050, 1e6, share * a, share * b) == pytest.approx(wanted, rel=1e-9)


def test_room_for_no_sag_at_all_is_room_for_no_blank():
    assert span_share_for(0.1, 0.0) == 0.0


def test_heat_alone_makes_a_sheet_hang_by_a_sixteenth_of_its_span():
    # sqrt(3 x 0.0104/8) = sqrt(0.0039) = 0.06245 by hand
    assert slack_ratio(0.0104) == pytest.approx(0.06245, abs=1e-6)


@given(st.floats(0.0, 0.02))
def test_the_slack_lies_on_a_parabola_as_long_as_the_grown_sheet(strain):
    # 8 r^2/3 leaves out 32 r^4/5, here below 4e-4
    assert parabola_length_ratio(slack_ratio(strain)) == pytest.approx(1 + strain, abs=4e-4)


def test_the_hang_is_compared_with_the_shorter_span():
    assert sag_ratio(0.1, 2.0, 1.0) == sag_ratio(0.1, 1.0, 2.0) == 0.1
    assert sag_ratio(np.array([0.1, 0.2]), 2.0, np.array([1.0, 4.0])).tolist() == [0.1, 0.1]


@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan")])
def test_a_sheet_without_stiffness_is_refused(wrong):
    with pytest.raises(OutsideRangeError, match="hot_modulus"):
        sag(1050, wrong, 0.9, 0.9)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: disc_sag(1050, 1e6, 0.45, 0.6),
        lambda: newtonian_sag(950, 0.0, 0.9, 60),
        lambda: newtonian_sag(950, 1e7, 0.9, -1.0),
        lambda: span_share_for(0.0, 0.1),
        lambda: sag_ratio(0.1, 0.0, 1.0),
        lambda: slack_ratio(-0.001),
    ],
)
def test_values_that_no_sheet_has_are_refused(ask):
    with pytest.raises(OutsideRangeError):
        ask()


def test_many_sheets_at_once_hang_as_each_alone():
    spans = np.array([[0.9], [1.2]])
    moduli = np.array([1e5, 1e6, 1e7])

    together = sag(1050, moduli, spans, 2.0)

    assert together.shape == (2, 3)
    assert together[1, 2] == pytest.approx(sag(1050, 1e7, 1.2, 2.0), rel=1e-14)
    assert newtonian_sag(950, moduli, 0.9, 60)[1] == pytest.approx(newtonian_sag(950, 1e6, 0.9, 60), rel=1e-14)
    assert disc_sag(1050, moduli, 0.45)[1] == pytest.approx(disc_sag(1050, 1e6, 0.45), rel=1e-14)
    assert span_share_for(np.array([0.1, 0.2]), 0.1)[1] == pytest.approx(span_share_for(0.2, 0.1), rel=1e-14)
    assert type(sag(1050, 1e6, 0.9, 0.9)) is type(sag_ratio(0.1, 1.0, 1.0)) is float


@given(st.floats(1e4, 1e8), st.floats(1.0, 10.0), SPAN, SPAN)
def test_a_stiffer_hot_modulus_never_sags_more(modulus, factor, a, b):
    assert sag(1050, modulus * factor, a, b) <= sag(1050, modulus, a, b)


@given(SPAN, SPAN, st.floats(1.0, 3.0))
def test_a_wider_frame_never_sags_less_and_turning_it_changes_nothing(a, b, factor):
    assert sag(1050, 1e6, a * factor, b) >= sag(1050, 1e6, a, b)
    assert sag(1050, 1e6, a, b) == pytest.approx(sag(1050, 1e6, b, a))
