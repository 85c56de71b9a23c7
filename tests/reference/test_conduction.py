"""Heat conduction of constant properties against series, an inverse Laplace transform and the half-space."""

import mpmath
import numpy as np
import pytest
from scipy.special import erfc

from tests.material_samples import CELSIUS, amorphous
from tests.reference.slab_runs import INSULATED, Face, film_face, held_face, run
from tests.reference.slab_series import (
    Films,
    mean_share_left_between_held_faces,
    rise_under_constant_flux,
    share_left_between_held_faces,
)

PLAIN = amorphous(specific_heat_solid=2000.0, specific_heat_hot=2000.0)
DIFFUSIVITY = PLAIN.conductivity / (PLAIN.density * 2000.0)
THICKNESS = 0.006
HALF = THICKNESS / 2
FINE = {"nodes": 81, "steps": 400}
START, SURROUNDINGS = 20 + CELSIUS, 200 + CELSIUS


def fourier_number(time: float) -> float:
    return DIFFUSIVITY * time / HALF**2


def measured_from_the_middle(places: np.ndarray) -> np.ndarray:
    return (places - HALF) / HALF


@pytest.mark.parametrize("time", [10.0, 30.0, 60.0, 120.0])
def test_a_step_of_surface_temperature_agrees_with_the_series_all_through_the_sheet(time):
    hot = 170 + CELSIUS
    found = run(PLAIN, THICKNESS, START, held_face(hot), held_face(hot), time, **FINE)

    # Textbook series of a slab whose surfaces are stepped from Ti to Ts (re-derived), mpmath
    share = [share_left_between_held_faces(x, fourier_number(time)) for x in measured_from_the_middle(found.places)]
    assert found.profile == pytest.approx(hot - 150 * np.array(share), abs=0.05)  # K: our allowance
    # the same, mean through the thickness
    mean = hot - 150 * mean_share_left_between_held_faces(fourier_number(time))
    assert found.mean == pytest.approx(mean, abs=0.05)


@pytest.mark.parametrize(
    ("time", "core", "mean"), [(30.0, 79.3327, 112.213), (60.0, 126.883, 142.551), (120.0, 160.266, 163.803)]
)
def test_a_step_of_surface_temperature_agrees_with_printed_digits(time, core, mean):
    hot = 170 + CELSIUS
    found = run(PLAIN, THICKNESS, START, held_face(hot), held_face(hot), time, **FINE)
    # degC at mid-plane and mean, summed to 30 digits by mpmath apart from this suite; guards the series above
    assert (float(np.interp(HALF, found.places, found.profile)), found.mean) == pytest.approx(
        (core + CELSIUS, mean + CELSIUS), abs=0.05
    )


@pytest.mark.parametrize("time", [5.0, 60.0, 200.0])
def test_constant_flux_agrees_with_the_series_all_through_the_sheet(time):
    flux = 5000.0
    found = run(PLAIN, THICKNESS, START, Face(flux), Face(flux), time, **FINE)
    scale = flux * HALF / PLAIN.conductivity

    # Textbook series for constant flux on both faces (re-derived), mpmath; its mean is what two fluxes bring by hand
    rise = [rise_under_constant_flux(x, fourier_number(time)) for x in measured_from_the_middle(found.places)]
    assert found.profile == pytest.approx(START + scale * np.array(rise), abs=0.03)
    assert found.mean == pytest.approx(START + scale * fourier_number(time), abs=0.02)


@pytest.mark.parametrize("film", [10.0, 60.0, 500.0])
@pytest.mark.parametrize("time", [10.0, 60.0])
def test_films_on_both_faces_agree_with_the_series_all_through_the_sheet(film, time):
    face = film_face(film, SURROUNDINGS)
    found = run(PLAIN, THICKNESS, START, face, face, time, **FINE)
    films, fourier = Films(film * HALF / PLAIN.conductivity), fourier_number(time)

    # Textbook series for Bi = h l/k: z tan z = Bi, C = 4 sin z/(2 z + sin 2 z) (re-derived), mpmath
    share = [films.share_left(x, fourier) for x in measured_from_the_middle(found.places)]
    assert found.profile == pytest.approx(SURROUNDINGS - 180 * np.array(share), abs=0.04)
    # the same, each term by sin z/z
    assert found.mean == pytest.approx(SURROUNDINGS - 180 * films.mean_share_left(fourier), abs=0.03)


def test_one_insulated_face_is_half_of_a_sheet_twice_as_thick():
    hot = 170 + CELSIUS
    found = run(PLAIN, HALF, START, held_face(hot), INSULATED, 60.0, **FINE)
    # symmetry: nothing flows through a mid-plane; textbook series as above, mpmath
    share = [share_left_between_held_faces(x / HALF - 1, fourier_number(60.0)) for x in found.places]
    assert found.profile == pytest.approx(hot - 150 * np.array(share), abs=0.05)


def test_a_very_thick_sheet_warms_as_a_half_space():
    time, flux = 40.0, 8000.0
    found = run(PLAIN, 0.040, START, Face(flux), INSULATED, time, nodes=321, steps=400)
    reach = np.sqrt(DIFFUSIVITY * time)
    # half-space under constant flux: T - Ti = 2 q/k sqrt(a t) ierfc(x/(2 sqrt(a t))) (textbook, re-derived), scipy erfc
    depth = found.places / (2 * reach)
    rise = 2 * flux / PLAIN.conductivity * reach * (np.exp(-(depth**2)) / np.sqrt(np.pi) - depth * erfc(depth))
    assert found.profile == pytest.approx(START + rise, abs=0.05)


@pytest.mark.parametrize(("free_film", "time"), [(30.0, 60.0), (30.0, 120.0), (100.0, 60.0)])
def test_cooling_between_tool_and_air_agrees_with_an_inverse_laplace_transform(free_film, time):
    thickness, start, tool, air, film = 0.004, 160 + CELSIUS, 50 + CELSIUS, 25 + CELSIUS, 500.0
    conductivity = PLAIN.conductivity

    def transformed(place):
        def at(s):
            m = mpmath.sqrt(s / DIFFUSIVITY)
            cosh, sinh = mpmath.cosh(m * thickness), mpmath.sinh(m * thickness)
            left = mpmath.matrix(
                [
                    [-film, conductivity * m],
                    [conductivity * m * sinh + free_film * cosh, conductivity * m * cosh + free_film * sinh],
                ]
            )
            right = mpmath.matrix([film * (start - tool) / s, -free_film * (start - air) / s])
            a, b = mpmath.lu_solve(left, right)
            return start / s + a * mpmath.cosh(m * place) + b * mpmath.sinh(m * place)

        return float(mpmath.invertlaplace(at, time, method="talbot"))

    found = run(PLAIN, thickness, start, film_face(film, tool), film_face(free_film, air), time, **FINE)

    # Transformed slab equation, T = T0/s + A cosh(m x) + B sinh(m x), m = sqrt(s/a), two film conditions;
    # inverted numerically by mpmath (Talbot), at every fifth node
    expected = [transformed(x) for x in found.places[::5]]
    assert found.profile[::5] == pytest.approx(expected, abs=0.02)
    printed = {(30.0, 60.0): (57.1377, 85.6322), (30.0, 120.0): (51.9404, 55.9788), (100.0, 60.0): (54.4567, 53.8764)}
    # degC at the two faces, the same transform evaluated apart from this suite
    assert found.faces == pytest.approx([c + CELSIUS for c in printed[free_film, time]], abs=0.02)
