"""Plastic against metal."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.ranges import OutsideRangeError
from materials.stiffness import (
    ALUMINIUM,
    DEFLECTED_MODULUS,
    KSI,
    METALS,
    POUND_PER_CUBIC_INCH,
    STEEL,
    equal_stiffness_thickness,
    expansion_of,
    panel_mass,
    stiffness_ratio,
    warm_modulus,
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


def test_every_metal_that_an_inquiry_may_name_is_known():
    from quoting.intake.part import METALS as NAMED

    assert set(METALS) == set(NAMED)


@pytest.mark.parametrize(
    ("metal", "per_kelvin"),
    [("steel", 11.7e-6), ("stainless", 17.2e-6), ("aluminium", 24e-6)],
)
def test_metals_grow_as_a_table_says(metal, per_kelvin):
    # Linear thermal expansion: AISI 1020 and grade 304, amesweb.info; aluminium 24, tigerquesttech.com
    assert METALS[metal].expansion == pytest.approx(per_kelvin, rel=0.02)


@pytest.mark.parametrize(
    ("metal", "modulus_psi", "pounds_per_cubic_inch"),
    [("steel", 29.5e6, 0.286), ("stainless", 28e6, 0.287), ("aluminium", 10.3e6, 0.098)],
)
def test_moduli_and_densities_of_metals_are_those_of_a_table(metal, modulus_psi, pounds_per_cubic_inch):
    # Elements of Metric Gear Technology, table 18-10: plain carbon steel 29 to 30, 300 series 28, wrought alloys of
    # aluminium 10 to 10.6 million psi
    assert METALS[metal].modulus == pytest.approx(modulus_psi * KSI / 1000, rel=0.03)
    assert METALS[metal].density == pytest.approx(pounds_per_cubic_inch * POUND_PER_CUBIC_INCH, rel=0.015)


def test_the_bar_of_the_deflection_test_has_the_modulus_of_a_beam_loaded_in_its_middle():
    # Beam theory by another way: P = 2 s b h^2/(3 L), d = P L^3/(48 E I), I = b h^3/12, for any width b
    stress, span, height, width, sag = 0.455e6, 0.1, 0.0127, 0.003, 0.25e-3
    load = 2 * stress * width * height**2 / (3 * span)
    modulus = load * span**3 / (48 * sag * width * height**3 / 12)
    assert pytest.approx(modulus) == DEFLECTED_MODULUS


def test_the_modulus_falls_from_room_to_the_deflection_temperature_and_then_there_is_none():
    levels = [warm_modulus(2.2e9, 368.15, kelvin) for kelvin in (250.0, 296.15, 320.0, 350.0, 368.15)]
    assert levels[0] == levels[1] == 2.2e9
    assert levels == sorted(levels, reverse=True)
    assert levels[-1] == pytest.approx(DEFLECTED_MODULUS)
    assert warm_modulus(2.2e9, 368.15, 368.2) is None


def test_a_plastic_softer_than_the_deflected_bar_is_not_made_stiffer_by_warmth():
    assert warm_modulus(1.5e8, 320.0, 310.0) == 1.5e8


def test_a_plastic_that_deflects_below_room_temperature_is_read_without_harm():
    assert warm_modulus(1.5e8, 290.0, 280.0) == 1.5e8
    assert warm_modulus(1.5e8, 290.0, 295.0) is None


def test_a_metre_of_abs_outgrows_a_metre_of_steel_eight_times():
    # alpha L dT by hand: 95e-6 x 1 m x 40 K = 3.8 mm beside 11.7e-6 x 1 x 40 = 0.468 mm
    assert expansion_of(1.0, 95e-6, 40.0) == pytest.approx(3.8e-3)
    assert expansion_of(1.0, STEEL.expansion, 40.0) == pytest.approx(0.468e-3)
