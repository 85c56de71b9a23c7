"""Blanks off a mill's web: which way round, how many side by side."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.web import web_cut


def test_the_worked_blank_goes_two_wide_across_an_84_inch_web():
    # by hand: 84/33 = 2 lanes of 66 in used, 84/45 = 1 lane of 45 in
    cut = web_cut(45, 33, widest=84, longest=168)
    assert (cut.across, cut.along, cut.lanes, cut.turned) == (33, 45, 2, False)
    assert cut.width_used == pytest.approx(66 / 84)


def test_a_blank_wider_than_the_web_is_turned_and_a_longer_one_is_not_made():
    # 90 x 50 in: only 50 in goes across a web of 60 in; 61 x 61 in goes no way
    assert web_cut(90, 50, widest=60, longest=120).across == 50
    lacking = web_cut(61, 61, widest=60, longest=120)
    assert not lacking.fits
    assert lacking.spare == pytest.approx(-1)


def test_the_saw_limits_the_length():
    assert not web_cut(130, 50, widest=60, longest=120).fits
    assert web_cut(120, 60, widest=60, longest=120).fits


sides = st.floats(0.1, 5)


@given(sides, sides, sides, sides)
def test_either_way_round_is_the_same_blank_and_what_fits_one_way_is_found(length, width, widest, longest):
    cut, other = web_cut(length, width, widest, longest), web_cut(width, length, widest, longest)
    either = (length <= widest and width <= longest) or (width <= widest and length <= longest)
    assert cut.fits == other.fits == either or abs(cut.spare) < 1e-8
    if cut.fits:
        assert cut.lanes >= 1
        assert cut.width_used <= 1 + 1e-6
