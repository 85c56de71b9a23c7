"""The slab between two faces: conservation, symmetry, scaling and limits."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.heat_content import enthalpy, heat_content_of
from materials.polymer import Polymer
from tests.material_samples import CELSIUS, amorphous, semicrystalline
from tests.reference.slab_runs import INSULATED, Face, Run, film_face, held_face, oven_face, run

PLAIN = amorphous(specific_heat_solid=2000.0)
DIFFUSIVITY = PLAIN.conductivity / (PLAIN.density * 2000.0)
ROOM = 20 + CELSIUS
few = settings(max_examples=25, deadline=None)

polymers = st.builds(
    lambda melts, jump, latent, width: (
        semicrystalline(latent_heat=latent, melting_width=width)
        if melts
        else amorphous(specific_heat_hot=1400.0 * (1 + jump))
    ),
    st.booleans(),
    st.floats(0.0, 0.8),
    st.floats(40e3, 200e3),
    st.floats(4.0, 12.0),
)
gauges = st.floats(0.0015, 0.0127)
banks = st.builds(
    lambda heater, exchange, film: oven_face(heater + CELSIUS, exchange, film, 80 + CELSIUS),
    st.floats(300.0, 550.0),
    st.floats(0.4, 0.85),
    st.floats(0.0, 30.0),
)


def own_time(polymer: Polymer, thickness: float) -> float:
    """Time that heat needs through the thickness [s]."""
    return polymer.density * polymer.specific_heat_hot * thickness**2 / polymer.conductivity


def assert_balanced(found: Run) -> None:
    # conservation of energy: what passes the faces and what the sheet holds are summed apart
    assert found.energy_in == pytest.approx(found.energy_stored, rel=0.005)


@given(polymers, gauges, banks, banks, st.floats(0.02, 0.5))
@few
def test_heat_that_enters_an_oven_sheet_is_heat_that_it_holds(polymer, gauge, first, second, share):
    found = run(polymer, gauge, ROOM, first, second, share * own_time(polymer, gauge), steps=200)
    assert found.energy_in > 0
    assert_balanced(found)


@given(polymers, gauges, st.floats(50.0, 800.0), st.floats(0.0, 100.0), st.floats(0.05, 0.5))
@few
def test_heat_that_leaves_a_cooling_wall_is_heat_that_it_lost(polymer, wall, tool, free, share):
    faces = film_face(tool, 60 + CELSIUS), film_face(free, 25 + CELSIUS)
    found = run(polymer, wall, 155 + CELSIUS, *faces, share * own_time(polymer, wall), steps=400)
    assert found.energy_in < 0
    assert_balanced(found)


@given(gauges, st.floats(500.0, 20_000.0), st.floats(1.0, 200.0))
@few
def test_a_constant_flux_brings_what_it_brings(gauge, flux, time):
    time = min(time, 150 * PLAIN.density * gauge * 2000.0 / flux)  # not hotter than 170 degC
    found = run(PLAIN, gauge, ROOM, Face(flux), INSULATED, time)
    # by hand: q t, and q t/(rho cp L) above the start
    assert (found.energy_in, found.energy_stored) == pytest.approx((flux * time, flux * time), rel=1e-6)
    assert found.mean - ROOM == pytest.approx(flux * time / (PLAIN.density * 2000.0 * gauge), rel=1e-6)


def test_the_heat_held_is_that_of_the_profile():
    polymer = semicrystalline()
    hot, mild = (oven_face(c + CELSIUS, 0.6, 8.0, 80 + CELSIUS) for c in (450.0, 350.0))
    found = run(polymer, 0.006, ROOM, hot, mild, 150.0, nodes=41)
    heat = heat_content_of((polymer,))
    gained = (enthalpy(heat, found.profile[:, None]) - enthalpy(heat, np.array([ROOM])))[:, 0]
    # trapezoidal rule, numpy
    assert found.energy_stored == pytest.approx(polymer.density * np.trapezoid(gained, found.places), rel=0.003)
    # the same for the mean
    assert found.mean == pytest.approx(np.trapezoid(found.profile, found.places) / 0.006, abs=0.1)


@given(polymers, gauges, banks, st.floats(0.02, 0.5))
@few
def test_like_faces_give_a_profile_that_reads_the_same_from_both(polymer, gauge, face, share):
    found = run(polymer, gauge, ROOM, face, face, share * own_time(polymer, gauge), steps=200)
    assert found.profile == pytest.approx(found.profile[::-1], abs=1e-6)
    assert found.places == pytest.approx(gauge - found.places[::-1], abs=1e-12)


@given(gauges, banks, banks, st.floats(0.02, 0.5))
@few
def test_a_sheet_turned_over_has_its_profile_turned_over(gauge, first, second, share):
    time = share * own_time(PLAIN, gauge)
    up, down = run(PLAIN, gauge, ROOM, first, second, time), run(PLAIN, gauge, ROOM, second, first, time)
    assert up.profile == pytest.approx(down.profile[::-1], abs=1e-6)


@given(st.floats(0.001, 0.006), st.floats(0.02, 1.0))
@few
def test_twice_the_gauge_takes_four_times_as_long_where_conduction_alone_counts(gauge, fourier):
    hot, time = held_face(170 + CELSIUS), fourier * gauge**2 / DIFFUSIVITY
    thin, thick = run(PLAIN, gauge, ROOM, hot, hot, time), run(PLAIN, 2 * gauge, ROOM, hot, hot, 4 * time)
    # time goes with L^2/a: the two profiles are one
    assert thick.profile == pytest.approx(thin.profile, abs=0.01)


@given(st.floats(0.3, 3.0), st.floats(5.0, 15.0))
@few
def test_a_thin_sheet_follows_the_lumped_exponential(share, film):
    thickness = 0.0002
    face, lag = film_face(film, 200 + CELSIUS), PLAIN.density * 2000.0 * thickness / (2 * film)
    found = run(PLAIN, thickness, ROOM, face, face, share * lag)
    # limit of small Biot number: T = T8 + (T0 - T8) exp(-2 h t/(rho cp L))
    expected = 200 + CELSIUS - 180 * np.exp(-share)
    assert found.profile == pytest.approx(expected, abs=0.6)  # K: h L/(2 k) is up to 0.008


@given(st.floats(0.001, 0.010), st.floats(20.0, 800.0), st.floats(5.0, 100.0))
@few
def test_after_a_long_time_the_sheet_is_a_straight_line_between_its_faces(wall, tool, free):
    long = 40 * PLAIN.density * 2000.0 * wall * (1 / (tool + free) + wall / PLAIN.conductivity)
    found = run(PLAIN, wall, 160 + CELSIUS, film_face(tool, 50 + CELSIUS), film_face(free, 25 + CELSIUS), long)
    # limit of long time: conductances in series, q = (T1 - T2)/(1/h1 + L/k + 1/h2)
    flux = 25 / (1 / tool + wall / PLAIN.conductivity + 1 / free)
    straight = 50 + CELSIUS - flux / tool - flux / PLAIN.conductivity * found.places
    assert found.profile == pytest.approx(straight, abs=0.01)


def test_after_a_long_time_in_the_oven_the_faces_are_in_balance_with_their_banks():
    upper, lower = (oven_face(c + CELSIUS, 0.6, 8.0, 80 + CELSIUS) for c in (330.0, 250.0))
    found = run(PLAIN, 0.004, ROOM, upper, lower, 6000.0)
    first, second = found.faces
    # at rest what enters one face leaves by the other, through the sheet: q = k (T1 - T2)/L
    through = PLAIN.conductivity * (first - second) / 0.004
    assert upper.flux(first) == pytest.approx(through, abs=1.0)  # W/m2 of some 900
    assert -lower.flux(second) == pytest.approx(through, abs=1.0)
