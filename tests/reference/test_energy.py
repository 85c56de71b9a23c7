"""Radiation, heat content and stored air against published constants and independent integrals."""

import ht
import numpy as np
import pytest
import scipy.constants
from scipy.integrate import quad

from materials.compressed_air import stored_air_energy
from materials.constants import STANDARD_ATMOSPHERE, STANDARD_GRAVITY, STEFAN_BOLTZMANN, ZERO_CELSIUS
from materials.exposure import Heaters, grey_exchange, net_flux
from materials.heat_content import enthalpy, heat_content_of, specific_heat
from tests.material_samples import CELSIUS, amorphous, semicrystalline


def test_constants_are_those_of_codata():
    # scipy.constants, CODATA 2018 or later
    published = scipy.constants
    expected = (published.Stefan_Boltzmann, published.g, published.atm, published.zero_Celsius)
    found = (STEFAN_BOLTZMANN, STANDARD_GRAVITY, STANDARD_ATMOSPHERE, ZERO_CELSIUS)
    assert found == pytest.approx(expected, rel=1e-10)


def test_radiant_flux_agrees_with_a_heat_transfer_library():
    # ht 1.2.0: ht.q_rad(emissivity=0.834677, T=673.15, T2=293.15) prints 9368.4689 W/m2
    expected = ht.q_rad(emissivity=0.834677, T=673.15, T2=293.15)
    assert expected == pytest.approx(9368.4689, abs=0.02)

    assert net_flux(Heaters(673.15, 0.90, 1.0), 0.92, 293.15, 293.15, 0.0) == pytest.approx(expected, rel=3e-6)


@pytest.mark.parametrize(
    ("celsius", "cold", "hot"), [(316, 5.35255, 4.18466), (400, 9.36849, 8.20059), (600, 27.1602, 25.9923)]
)
def test_radiant_flux_agrees_with_hand_values(celsius, cold, hot):
    # kW/m2, Stefan-Boltzmann law by hand, emissivities 0.90 and 0.92, sheet at 20 and 150 degC, six digits
    heaters = Heaters(celsius + CELSIUS, 0.90, 1.0)
    found = [net_flux(heaters, 0.92, surface + CELSIUS, 300.0, 0.0) / 1e3 for surface in (20, 150)]
    assert found == pytest.approx([cold, hot], rel=2e-5)


def test_black_planes_exchange_everything():
    assert grey_exchange(1.0, 1.0) == 1.0


@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline(specific_heat_hot=2600.0)])
def test_heat_content_is_the_integral_of_specific_heat(polymer):
    heat = heat_content_of((polymer,))
    # scipy.integrate.quad
    expected, _ = quad(
        lambda t: float(specific_heat(heat, np.array([t]))[0]),
        293.15,
        433.15,
        points=(polymer.step_temperature, polymer.melting_temperature),
        limit=400,
    )
    gained = enthalpy(heat, np.array([433.15])) - enthalpy(heat, np.array([293.15]))
    assert gained[0] == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize(
    ("polymer", "kilojoules"),
    [
        (amorphous(specific_heat_solid=2000.0, step_temperature=1.0), 260),
        (semicrystalline(), 489),
    ],
)
def test_heat_into_a_kilogram_agrees_with_a_hand_sum(polymer, kilojoules):
    # cp x 130 K + latent heat by hand: 2000 x 130 = 260 kJ/kg; 2300 x 130 + 190 000 = 489 kJ/kg
    heat = heat_content_of((polymer,))
    gained = enthalpy(heat, np.array([150 + CELSIUS])) - enthalpy(heat, np.array([20 + CELSIUS]))
    assert gained[0] / 1e3 == pytest.approx(kilojoules, abs=0.1)


def test_stored_air_agrees_with_the_work_of_expansion():
    pressure, volume = 689476.0, 0.54
    absolute = pressure + STANDARD_ATMOSPHERE
    # isothermal expansion to the atmosphere, scipy.integrate.quad of p dV
    work, _ = quad(lambda v: absolute * volume / v, volume, volume * absolute / STANDARD_ATMOSPHERE)
    # internal energy of a diatomic gas above that at the same volume and atmospheric pressure: 5/2 (p - pa) V
    internal = 2.5 * pressure * volume

    found = stored_air_energy(pressure, volume)

    assert found.isothermal == pytest.approx(work, rel=1e-9)
    assert found.brode == pytest.approx(internal, rel=1e-9)
