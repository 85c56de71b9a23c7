"""Stiffness of the hot sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from materials.hot_strength import hot_modulus_at, membrane_modulus
from materials.ranges import OutsideRangeError
from materials.sag import sag
from tests.material_samples import CELSIUS, amorphous, semicrystalline

ABS = amorphous()  # window 127 to 182, normal 149 degC, 1 MPa there


def test_at_its_normal_forming_temperature_a_polymer_has_its_hot_modulus():
    assert hot_modulus_at(ABS, ABS.normal_forming_temperature) == pytest.approx(1e6)


@pytest.mark.parametrize("polymer", [ABS, semicrystalline()])
def test_across_its_window_a_polymer_loses_nine_tenths_of_its_stiffness(polymer):
    cold, hot = polymer.lower_forming_temperature, polymer.upper_forming_temperature
    assert hot_modulus_at(polymer, cold) == pytest.approx(10 * hot_modulus_at(polymer, hot))


def test_eleven_kelvin_of_fifty_five_are_a_fifth_of_a_decade():
    # 10^(11/55) = 10^0.2 = 1.584893 by hand
    assert hot_modulus_at(ABS, 138 + CELSIUS) == pytest.approx(1.584893e6, rel=1e-6)


def test_a_cold_sheet_is_no_stiffer_than_its_data_sheet():
    assert hot_modulus_at(ABS, 100.0) == ABS.flexural_modulus


@given(st.floats(350.0, 500.0), st.floats(0.1, 50.0))
def test_warmer_is_never_stiffer(temperature, more):
    assert hot_modulus_at(ABS, temperature + more) <= hot_modulus_at(ABS, temperature)


@given(st.floats(400.0, 455.0), st.integers(2, 20))
def test_an_even_sheet_is_as_stiff_as_its_temperature_says(temperature, nodes):
    assert membrane_modulus(ABS, np.full(nodes, temperature)) == pytest.approx(hot_modulus_at(ABS, temperature))


def test_a_sheet_with_a_cold_middle_is_stiffer_than_its_mean_temperature_says():
    profile = 422.0 + np.array([15.0, 0.0, -15.0, 0.0, 15.0])
    assert membrane_modulus(ABS, profile) > hot_modulus_at(ABS, 422.0)


def test_a_parabolic_profile_has_the_modulus_of_its_integral():
    def temperature(x):
        return 415.0 + 20.0 * (2 * x - 1) ** 2

    # scipy.integrate.quad over the thickness
    expected, _ = quad(lambda x: hot_modulus_at(ABS, temperature(x)), 0, 1)
    assert membrane_modulus(ABS, temperature(np.linspace(0, 1, 201))) == pytest.approx(expected, rel=1e-4)


def test_weights_of_any_sum_give_each_node_its_share():
    profile = np.array([420.0, 430.0, 440.0])

    # shares 1/4, 1/2, 1/4 are those of the trapezoid rule
    assert membrane_modulus(ABS, profile, np.array([2.0, 4.0, 2.0])) == pytest.approx(membrane_modulus(ABS, profile))
    assert membrane_modulus(ABS, profile, np.array([0.0, 0.0, 3.0])) == pytest.approx(hot_modulus_at(ABS, 440.0))


def test_many_sheets_are_taken_along_the_other_axes():
    profiles = np.array([[420.0, 430.0], [422.0, 440.0], [424.0, 450.0]])

    together = membrane_modulus(ABS, profiles)

    assert together.shape == (2,)
    assert together[1] == pytest.approx(membrane_modulus(ABS, profiles[:, 1]))
    assert isinstance(membrane_modulus(ABS, profiles[:, 0]), float)


def test_cooler_lower_heaters_lessen_the_sag():
    # eleven kelvin cooler throughout: 1.584893 times the modulus, so the cube root of it less sag, 0.857696
    even, cooler = np.full(5, 149 + CELSIUS), np.full(5, 138 + CELSIUS)
    hung, less = (sag(1050, membrane_modulus(ABS, one), 1.0, 0.8) for one in (even, cooler))
    assert less / hung == pytest.approx(0.857696, rel=1e-6)


@pytest.mark.parametrize(
    ("profile", "weights"),
    [
        (np.array([420.0]), None),
        (np.array([420.0, 0.0]), None),
        (np.array([420.0, 430.0]), np.array([1.0])),
        (np.array([420.0, 430.0]), np.array([1.0, -1.0])),
        (np.array([420.0, 430.0]), np.array([0.0, 0.0])),
        (430.0, None),
    ],
)
def test_a_profile_that_is_none_is_refused(profile, weights):
    with pytest.raises(OutsideRangeError):
        membrane_modulus(ABS, profile, weights)
