"""Stored energy of compressed air."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from materials.compressed_air import HIGHLY_HAZARDOUS, stored_air_energy
from materials.constants import STANDARD_ATMOSPHERE
from materials.ranges import OutsideRangeError


def test_air_at_rest_stores_nothing():
    energy = stored_air_energy(0.0, 1.0)
    assert (energy.isothermal, energy.brode, energy.isentropic, energy.available) == (0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("volume", "brode", "isothermal", "isentropic", "available"),
    [(0.54, 930.79, 877.43, 474.05, 505.11), (1.0, 1723.69, 1624.87, 877.87, 935.39)],
)
def test_a_hundred_psi_stores_what_each_formula_says_by_hand(volume, brode, isothermal, isentropic, available):
    # P1 790.801 kPa absolute, Pa 101.325 kPa, gamma 1.4, by hand to five digits [kJ]
    energy = stored_air_energy(689475.7, volume)

    assert energy.brode / 1e3 == pytest.approx(brode, abs=0.006)
    assert energy.isothermal / 1e3 == pytest.approx(isothermal, abs=0.006)
    assert energy.isentropic / 1e3 == pytest.approx(isentropic, abs=0.006)
    assert energy.available / 1e3 == pytest.approx(available, abs=0.006)


def test_the_work_of_a_slow_and_of_a_sudden_expansion_agree_with_their_integrals():
    start = 3e5 + STANDARD_ATMOSPHERE
    energy = stored_air_energy(3e5, 0.2)

    # scipy.integrate.quad of p dV to the atmosphere, at constant temperature and without heat
    slow, _ = quad(lambda v: start * 0.2 / v, 0.2, 0.2 * start / STANDARD_ATMOSPHERE)
    sudden, _ = quad(lambda v: start * (0.2 / v) ** 1.4, 0.2, 0.2 * (start / STANDARD_ATMOSPHERE) ** (1 / 1.4))
    assert energy.isothermal == pytest.approx(slow, rel=1e-9)
    assert energy.isentropic == pytest.approx(sudden, rel=1e-9)


@given(st.floats(0.0, 2e6), st.floats(0.0, 5.0), st.floats(1.0, 3.0))
def test_more_pressure_never_stores_less_and_the_cautious_figure_is_the_largest(pressure, volume, factor):
    energy, more = stored_air_energy(pressure, volume), stored_air_energy(pressure * factor, volume)

    assert energy.most <= more.most * (1 + 1e-12)
    assert energy.most >= max(energy.brode, energy.isothermal, energy.isentropic, energy.available)


def test_a_large_box_at_sixty_psi_is_highly_hazardous():
    # 413.685 kPa x 0.3 m3/0.4 = 310 kJ by hand, against 100 kJ
    assert stored_air_energy(413685.4, 0.3).most > 3 * HIGHLY_HAZARDOUS


def test_many_boxes_at_once_are_each_alone():
    together = stored_air_energy(np.array([1e5, 4e5]), np.array([[0.1], [0.5]]))

    assert together.most.shape == together.available.shape == (2, 2)
    assert together.isothermal[1, 1] == pytest.approx(stored_air_energy(4e5, 0.5).isothermal, rel=1e-14)
    assert type(stored_air_energy(4e5, 0.5).isothermal) is float


def test_a_box_filled_halfway_stores_half():
    full, half = stored_air_energy(5e5, 0.5), stored_air_energy(5e5, 0.25)
    assert (half.isothermal, half.brode) == pytest.approx((full.isothermal / 2, full.brode / 2))


@pytest.mark.parametrize("wrong", [(-1.0, 1.0), (1.0, -1.0)])
def test_less_than_nothing_is_refused(wrong):
    with pytest.raises(OutsideRangeError):
        stored_air_energy(*wrong)
