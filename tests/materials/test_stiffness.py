"""Plastic against metal."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.ranges import OutsideRangeError
from materials.stiffness import (
    ALUMINIUM,
    KSI,
    METALS,
    POUND_PER_CUBIC_INCH,
    STEEL,
    equal_stiffness_thickness,
    panel_mass,
    stiffness_ratio,
)

ABS_MODULUS, ABS_DENSITY = 300 * KSI, 0.038 * POUND_PER_CUBIC_INCH


@pytest.mark.parametrize(
    ("metal", "inches", "plastic_inches", "mass_ratio"),
    [(STEEL, 0.0359, 0.165, 0.614), (STEEL, 0.0598, 0.274, 0.614), (ALUMINIUM, 0.080, 0.257, 1.248)],
)
def test_abs_in_place_of_metal_agrees_with_a_hand_table(metal, inches, plastic_inches, mass_ratio):
    # E1 t1^3 = E2 t2^3 by hand, three digits: ABS 300 ksi and 0.038 lb/in3
    wall = equal_stiffness_thickness(metal.modulus, inches, ABS_MODULUS)

    assert wall == pytest.approx(plastic_inches, abs=0.0006)
    ratio = panel_mass(1.0, wall, ABS_DENSITY) / panel_mass(1.0, inches, metal.density)
    assert ratio == pytest.approx(mass_ratio, abs=0.001)


def test_equal_stiffness_is_a_ratio_of_one():
    wall = equal_stiffness_thickness(STEEL.modulus, 0.001, ABS_MODULUS)
    assert stiffness_ratio(ABS_MODULUS, wall, STEEL.modulus, 0.001) == pytest.approx(1.0)


def test_metals_are_found_by_their_name_and_are_heavier_and_stiffer_than_plastic():
    for name, metal in METALS.items():
        assert metal.name == name
        assert metal.modulus > 10 * ABS_MODULUS
        assert metal.density > 2 * ABS_DENSITY


def test_a_panel_of_nothing_is_refused():
    with pytest.raises(OutsideRangeError, match="thickness"):
        panel_mass(1.0, 0.0, 1000.0)


@given(st.floats(1e8, 3e11), st.floats(1e-4, 0.02), st.floats(1e8, 3e11))
def test_there_and_back_again_gives_the_same_panel(modulus, thickness, other):
    through = equal_stiffness_thickness(modulus, thickness, other)
    assert equal_stiffness_thickness(other, through, modulus) == pytest.approx(thickness, rel=1e-9)


def test_many_panels_at_once_are_each_alone():
    gauges = np.array([0.001, 0.002, 0.003])
    walls = equal_stiffness_thickness(STEEL.modulus, gauges, ABS_MODULUS)

    assert walls[2] == pytest.approx(equal_stiffness_thickness(STEEL.modulus, 0.003, ABS_MODULUS), rel=1e-14)
    assert stiffness_ratio(ABS_MODULUS, walls, STEEL.modulus, gauges) == pytest.approx([1.0, 1.0, 1.0])
    assert panel_mass(gauges, 0.002, 1000.0).tolist() == pytest.approx([0.002, 0.004, 0.006])
