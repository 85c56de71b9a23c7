"""Forces on the press."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.press import (
    HEAD_SPACE,
    LEAST_LOCK_MARGIN,
    PSI,
    box_volume,
    force,
    force_on_lock,
    forming_pressure,
    highest_pressure,
    lock_margin,
    membrane_pressure,
    vacuum_force,
)
from materials.constants import STANDARD_ATMOSPHERE
from materials.ranges import OutsideRangeError
from materials.sheet import INCH

US_TON = 2000 * 4.4482216152605  # N, exact


def test_fifty_psi_on_sixty_by_seventy_two_inches_is_a_hundred_and_eight_tons():
    # 60 x 72 x 50 = 216,000 lbf, by hand
    assert force(50 * PSI, 60 * INCH * 72 * INCH) / US_TON == pytest.approx(108.0)


def test_a_hundred_psi_on_a_box_of_1200_by_900_mm():
    # 689.476 kPa x 1.08 m2 = 744.634 kN, by hand
    assert force(100 * PSI, 1.2 * 0.9) == pytest.approx(744_634, abs=1)


def test_that_box_is_opened_with_eighty_four_us_tons():
    # 744.634 kN = 167,400 lbf = 83.700 US tons, by hand
    assert force_on_lock("pressure", 100 * PSI, 1.2 * 0.9) / US_TON == pytest.approx(83.700, abs=5e-4)


@pytest.mark.parametrize(("vacuum", "kilonewtons", "tons"), [(101325.0, 109.431, 12.3005), (85e3, 91.8, 10.3187)])
def test_a_vacuum_presses_a_sheet_of_1200_by_900_mm_onto_its_tool(vacuum, kilonewtons, tons):
    # vacuum x 1.08 m2, by hand
    assert vacuum_force(vacuum, 1.2 * 0.9) / 1e3 == pytest.approx(kilonewtons, abs=5e-4)
    assert vacuum_force(vacuum, 1.2 * 0.9) / US_TON == pytest.approx(tons, abs=5e-5)


def test_air_above_and_vacuum_below_add_across_the_sheet_but_only_the_air_opens_the_box():
    assert membrane_pressure(60 * PSI, 85e3) == 60 * PSI + 85e3
    assert force_on_lock("pressure", 60 * PSI, 1.0) == 60 * PSI


@given(st.floats(1e4, 5e6), st.floats(0.05, 10.0), st.floats(1.0, 1.5))
def test_at_the_highest_pressure_a_lock_has_just_its_margin(lock, area, margin):
    pressure = highest_pressure(lock, area, margin)
    assert lock_margin(lock, force_on_lock("pressure", pressure, area)) == pytest.approx(margin)


@given(st.floats(0, 1e6), st.floats(0.0, 10.0), st.floats(1.0, 4.0))
def test_more_pressure_or_more_area_never_presses_less(pressure, area, factor):
    assert force(pressure * factor, area) >= force(pressure, area) <= force(pressure, area * factor)


def test_what_nothing_opens_holds_without_end():
    assert lock_margin(0.0, 0.0) == lock_margin(1e6, force_on_lock("vacuum", 85e3, 1.0)) == inf
    assert lock_margin(0.0, 1.0) == 0.0


def test_a_lock_of_nine_hundred_kilonewtons_at_its_usual_margin():
    # 900/(1.2 x 1.08) = 694.444 kPa; at 1.1 757.576 kPa, by hand
    assert highest_pressure(900e3, 1.08, 1.2) == pytest.approx(694_444, abs=1)
    assert highest_pressure(900e3, 1.08, LEAST_LOCK_MARGIN) == pytest.approx(757_576, abs=1)


def test_a_box_of_half_a_metre_with_its_head_space():
    # 1.2 x 0.9 x (0.4 + 0.1) = 0.54 m3, by hand
    assert box_volume(1.08, 0.4, 0.1) == pytest.approx(0.54)
    assert box_volume(1.0, 0.0) == HEAD_SPACE


def test_many_presses_at_once_are_each_alone():
    pressures, areas = np.array([1e5, 4e5]), np.array([[0.5], [1.0], [2.0]])

    assert force(pressures, areas).shape == (3, 2)
    assert force_on_lock("vacuum", pressures, areas).tolist() == [[0.0, 0.0]] * 3
    assert lock_margin(1e5, force(pressures, areas))[2, 1] == pytest.approx(0.125)
    assert lock_margin(1e5, np.array([0.0, 1e5])).tolist() == [inf, 1.0]
    assert highest_pressure(1e5, areas)[2, 0] == 5e4
    assert vacuum_force(np.array([5e4, 1e5]), 2.0).tolist() == [1e5, 2e5]
    assert membrane_pressure(pressures, 5e4).tolist() == [1.5e5, 4.5e5]
    vacua = np.array([5e4, 1e5])
    assert forming_pressure("vacuum", vacua, has_texture=False) is vacua
    assert forming_pressure("pressure", vacua, has_texture=False).tolist() == [60 * PSI] * 2
    assert type(lock_margin(1.2, 1.0)) is float


@pytest.mark.parametrize(
    "ask",
    [
        lambda: force(-1.0, 1.0),
        lambda: force_on_lock("pressure", 1.0, -1.0),
        lambda: vacuum_force(1.01 * STANDARD_ATMOSPHERE, 1.0),
        lambda: membrane_pressure(1e5, 1.01 * STANDARD_ATMOSPHERE),
        lambda: lock_margin(-1.0, 1.0),
        lambda: highest_pressure(1e5, 0.0),
        lambda: highest_pressure(1e5, 1.0, margin=0.9),
        lambda: box_volume(1.0, -0.1),
        lambda: forming_pressure("blowing", 85e3, has_texture=False),
        lambda: force_on_lock("blowing", 85e3, 1.0),
    ],
)
def test_what_no_press_has_is_refused(ask):
    with pytest.raises(OutsideRangeError):
        ask()


def test_texture_takes_twice_the_air():
    assert forming_pressure("pressure", 85e3, has_texture=True) == pytest.approx(120 * PSI)
    assert forming_pressure("pressure", 85e3, has_texture=False) == pytest.approx(60 * PSI)
    assert forming_pressure("vacuum", 85e3, has_texture=True) == 85e3
    assert forming_pressure("twin_sheet", 85e3, has_texture=False) == 85e3


def test_a_vacuum_does_not_open_the_platens():
    assert force_on_lock("vacuum", 85e3, 1.0) == 0.0
    assert force_on_lock("twin_sheet", 85e3, 1.0) == 85e3
