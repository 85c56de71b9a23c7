"""The march through the sheet against series, an inverse Laplace transform and a general-purpose integrator."""

from dataclasses import replace

import mpmath
import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import erf

from materials.cooling import CoolingCase, cooled, cooling_times
from materials.heat_content import HeatContent
from materials.heating import HeatedSheet, Heaters, heated
from materials.slab import Faces, Marched, Pace, Slabs, march, mean_temperature
from tests.material_samples import CELSIUS, amorphous, semicrystalline

CONDUCTIVITY, DENSITY, SPECIFIC_HEAT, THICKNESS = 0.19, 1050.0, 2000.0, 0.006
DIFFUSIVITY = CONDUCTIVITY / (DENSITY * SPECIFIC_HEAT)
HALF = THICKNESS / 2


def after(time, first, second, start, thickness=THICKNESS, nodes=41, steps=400) -> Marched:
    """A slab of constant properties between two (supply, film) faces, at a fixed time."""
    one = np.ones(1)
    heat = HeatContent(*(one * v for v in (SPECIFIC_HEAT, SPECIFIC_HEAT, 0.0, 0.0, 1.0, 1.0)))
    faces = [Faces(supply * one, 0 * one, film * one) for supply, film in (first, second)]
    slabs = Slabs(thickness * one, DENSITY * one, CONDUCTIVITY * one, heat, start * one, *faces)
    pace = Pace(1e9 * one, time / steps * one, time * one, nodes, steps)
    return march(slabs, lambda now, which: np.ones((1, which.size)), pace)


def core_surface_mean(marched: Marched) -> tuple[float, float, float]:
    middle = marched.profile.shape[0] // 2
    return float(marched.profile[middle, 0]), float(marched.profile[0, 0]), float(marched.mean[0])


@pytest.mark.parametrize("time", [30.0, 60.0, 120.0])
def test_a_step_of_surface_temperature_agrees_with_the_series(time):
    # Textbook series of a slab whose surfaces are stepped from Ti to Ts (Carslaw and Jaeger form, re-derived):
    # (T - Ts)/(Ti - Ts) = sum 4 (-1)^n/((2n+1) pi) exp(-(2n+1)^2 pi^2 Fo/4) at mid-plane; mean 8/((2n+1)^2 pi^2).
    fourier = DIFFUSIVITY * time / HALF**2
    decay = lambda n: mpmath.exp(-((2 * n + 1) ** 2) * mpmath.pi**2 * fourier / 4)  # noqa: E731
    core = mpmath.nsum(lambda n: 4 * (-1) ** int(n) / ((2 * n + 1) * mpmath.pi) * decay(n), [0, 40])
    mean = mpmath.nsum(lambda n: 8 / ((2 * n + 1) ** 2 * mpmath.pi**2) * decay(n), [0, 40])

    found = core_surface_mean(after(time, (170.0e8, 1e8), (170.0e8, 1e8), start=20.0))

    assert found[0] == pytest.approx(float(170 - 150 * core), abs=0.05)  # K: our allowance
    assert found[2] == pytest.approx(float(170 - 150 * mean), abs=0.05)


def test_constant_flux_agrees_with_the_series():
    # Textbook series for constant flux on both faces (re-derived), X = 0 at mid-plane and 1 at the face:
    # T = Ti + q l/k (Fo + (3 X^2 - 1)/6 - 2/pi^2 sum (-1)^n/n^2 exp(-n^2 pi^2 Fo) cos(n pi X)).
    flux, fourier = 5000.0, DIFFUSIVITY * 60 / HALF**2
    scale = flux * HALF / CONDUCTIVITY

    def series(place):
        terms = sum((-1) ** n / n**2 * mpmath.exp(-((n * mpmath.pi) ** 2) * fourier) * mpmath.cos(n * mpmath.pi * place)
                    for n in range(1, 60))  # fmt: skip
        return float(20 + scale * (fourier + (3 * place**2 - 1) / mpmath.mpf(6) - 2 / mpmath.pi**2 * terms))

    found = core_surface_mean(after(60.0, (flux, 0.0), (flux, 0.0), start=20.0))

    assert found == pytest.approx((series(0), series(1), 20 + scale * fourier), abs=0.02)


def test_films_on_both_faces_agree_with_the_series():
    # Textbook series for Bi = h l/k: z tan z = Bi, C = 4 sin z/(2 z + sin 2 z) (re-derived).
    film, biot, fourier = 60.0, 60.0 * HALF / CONDUCTIVITY, DIFFUSIVITY * 60 / HALF**2
    roots = [
        mpmath.findroot(
            lambda z: z * mpmath.sin(z) - biot * mpmath.cos(z),
            (n * mpmath.pi + 1e-9, n * mpmath.pi + mpmath.pi / 2),
            solver="anderson",
        )
        for n in range(12)
    ]
    terms = [4 * mpmath.sin(z) / (2 * z + mpmath.sin(2 * z)) * mpmath.exp(-(z**2) * fourier) for z in roots]
    pairs = list(zip(terms, roots, strict=True))
    shares = sum(terms), sum(t * mpmath.cos(z) for t, z in pairs), sum(t * mpmath.sin(z) / z for t, z in pairs)

    found = core_surface_mean(after(60.0, (200 * film, film), (200 * film, film), start=20.0))

    assert found == pytest.approx([float(200 - 180 * share) for share in shares], abs=0.02)


@pytest.mark.parametrize(("free_film", "time"), [(30.0, 60.0), (30.0, 120.0), (100.0, 60.0)])
def test_cooling_between_tool_and_air_agrees_with_an_inverse_laplace_transform(free_film, time):
    # Transformed slab equation, T = T0/s + A cosh(m x) + B sinh(m x), m = sqrt(s/a), two film conditions;
    # inverted numerically by mpmath (Talbot).
    thickness, start, tool, air, film = 0.004, 160.0, 50.0, 25.0, 500.0

    def transformed(place):
        def at(s):
            m = mpmath.sqrt(s / DIFFUSIVITY)
            cosh, sinh = mpmath.cosh(m * thickness), mpmath.sinh(m * thickness)
            left = mpmath.matrix(
                [
                    [-film, CONDUCTIVITY * m],
                    [CONDUCTIVITY * m * sinh + free_film * cosh, CONDUCTIVITY * m * cosh + free_film * sinh],
                ]
            )
            right = mpmath.matrix([film * (start - tool) / s, -free_film * (start - air) / s])
            a, b = mpmath.lu_solve(left, right)
            return start / s + a * mpmath.cosh(m * place) + b * mpmath.sinh(m * place)

        return float(mpmath.invertlaplace(at, time, method="talbot"))

    found = after(time, (film * tool, film), (free_film * air, free_film), start, thickness)

    assert found.profile[0, 0] == pytest.approx(transformed(0), abs=0.02)
    assert found.profile[-1, 0] == pytest.approx(transformed(thickness), abs=0.02)


def integrated(sheet: HeatedSheet, nodes: int = 121) -> tuple[float, float]:
    """Heating time and hottest face by scipy's BDF on a grid of its own, in enthalpy, nothing shared but the polymer.

    Cell-centred, radiation not linearised, heat content inverted by interpolation.
    """
    p, gauge = sheet.polymer, sheet.gauge
    spacing = gauge / nodes
    scale = np.linspace(250.0, 600.0, 200_001)
    heat = p.specific_heat_solid * scale
    heat = heat + (p.specific_heat_hot - p.specific_heat_solid) * np.maximum(scale - p.step_temperature, 0)
    heat = heat + p.latent_heat / 2 * (1 + erf((scale - p.melting_temperature) / p.melting_width))

    def face(cell, bank):
        """Flux into a face half a cell away from the middle of its cell, by Newton."""
        factor = bank.view_factor / (1 / bank.emissivity + 1 / p.emissivity - 1) * 5.670374419e-8
        g, surface = 2 * p.conductivity / spacing, cell
        for _ in range(8):
            flux = factor * (bank.temperature**4 - surface**4)
            flux += sheet.air_film_coefficient * (sheet.air_temperature - surface)
            slope = -4 * factor * surface**3 - sheet.air_film_coefficient - g
            surface = surface - (flux - g * (surface - cell)) / slope
        return g * (surface - cell), surface

    def rate(_, enthalpy):
        t = np.interp(enthalpy, heat, scale)
        inner = p.conductivity * np.diff(t) / spacing
        into = np.concatenate(([face(t[0], sheet.upper)[0]], -inner))
        out = np.concatenate((inner, [face(t[-1], sheet.lower)[0]]))
        return (into + out) / (p.density * spacing)

    def missing(_, enthalpy):
        t = np.interp(enthalpy, heat, scale)
        return max(p.lower_forming_temperature - t.min(), p.normal_forming_temperature - t.mean())

    missing.terminal = True
    begin = np.full(nodes, np.interp(sheet.start, scale, heat))
    run = solve_ivp(rate, (0, 3600), begin, "BDF", events=missing, rtol=1e-6, atol=10.0)
    ended = np.interp(run.y_events[0][0], heat, scale)
    return float(run.t_events[0][0]), max(face(ended[0], sheet.upper)[1], face(ended[-1], sheet.lower)[1])


@pytest.mark.parametrize("polymer", [amorphous(), semicrystalline()], ids=["amorphous", "melting"])
@pytest.mark.parametrize(("gauge", "upper", "lower"), [(0.003, 350, 350), (0.006, 300, 420), (0.0127, 480, 480)])
def test_heating_agrees_with_a_general_purpose_integrator(polymer, gauge, upper, lower):
    banks = (Heaters(level + CELSIUS, 0.9, 0.7) for level in (upper, lower))
    sheet = HeatedSheet(polymer, gauge, 20 + CELSIUS, *banks, 80 + CELSIUS, 8.0)
    # scipy.integrate.solve_ivp, method BDF, rtol 1e-6, 121 cells
    time, peak = integrated(sheet)

    found = heated((sheet,))

    assert found.time[0] == pytest.approx(time, rel=0.003)  # 0.3 %: our allowance
    assert found.hottest_ever.max() == pytest.approx(peak, abs=0.5)


# Times [s] of a 40-cell half-sheet finite-volume run, good to about 1 % and printed to the second; computed for this
# project apart from the code under test. F = 0.85, Fv = 0.7, air 80 degC, h = 8, start 20 degC, end: core 138 degC.
TIMES = {
    ("ABS", 2): (70, 48, 25),
    ("ABS", 3): (108, 74, 40),
    ("ABS", 4): (148, 101, 56),
    ("ABS", 6): (233, 161, 91),
    ("ABS", 8): (325, 227, 131),
    ("ABS", 10): (425, 298, 176),
    ("HDPE", 3): (250, 163, 84),
    ("HDPE", 6): (519, 343, 180),
    ("HDPE", 10): (910, 607, 327),
}


@pytest.mark.parametrize(("name", "millimetres"), TIMES)
def test_heating_agrees_with_an_earlier_table(name, millimetres):
    make = amorphous if name == "ABS" else semicrystalline
    core = {"lower_forming_temperature": 138 + CELSIUS, "normal_forming_temperature": 100 + CELSIUS, "emissivity": 1.0}
    banks = [Heaters(level + CELSIUS, 0.85, 0.7) for level in (300, 350, 450)]
    sheets = tuple(HeatedSheet(make(**core), millimetres / 1000, 20 + CELSIUS, b, b, 80 + CELSIUS, 8.0) for b in banks)

    assert heated(sheets).time.tolist() == pytest.approx(TIMES[name, millimetres], rel=0.01, abs=0.6)


# Times [s] until the hottest point is at 85 degC: ABS, cp 2000, tool 60, air 25, formed at 160 degC; an 80-cell run
# with steps of 1 s, printed to the second; computed for this project apart from the code under test.
@pytest.mark.parametrize(
    ("millimetres", "times"),
    [(2, (34, 27, 21, 47)), (3, (65, 48, 38, 75)), (4, (104, 74, 57, 107)), (6, (200, 137, 105, 181))],
)
def test_cooling_agrees_with_an_earlier_table(millimetres, times):
    polymer = amorphous(specific_heat_solid=2000.0)
    cases = tuple(
        CoolingCase(polymer, millimetres / 1000, 160 + CELSIUS, tool, air, 25 + CELSIUS)
        for tool, air in ((500, 10), (500, 30), (500, 60), (100, 30))
    )

    assert cooling_times(cases) == pytest.approx(times, abs=1.1)  # s: their step, and a tenth of ours


def some_sheets() -> tuple[HeatedSheet, ...]:
    return tuple(
        HeatedSheet(polymer, gauge, 20 + CELSIUS, *(Heaters(t + CELSIUS, 0.9, 0.7) for t in levels), 353.15, 8.0)
        for polymer in (amorphous(), semicrystalline())
        for gauge in (0.002, 0.006, 0.0127)
        for levels in ((330, 330), (480, 420))
    )


def test_what_passes_the_faces_is_what_the_sheet_holds():
    marched = heated(some_sheets())

    # conservation of energy; the two sides are summed apart, 0.05 % is what the trapezoidal sum of the flux leaves
    assert marched.absorbed == pytest.approx(marched.energy, rel=1e-3)


def test_the_error_in_space_falls_with_the_square_of_the_spacing():
    # one specific heat and like banks: a step that one node after the other meets, and a coldest point that lies
    # between two nodes, roughen the small differences seen here
    plain = amorphous(specific_heat_solid=2000.0)
    sheets = tuple(replace(sheet, polymer=plain) for sheet in some_sheets()[:6:2])
    fine, finer, finest = (heated(sheets, nodes=nodes, steps=800).time for nodes in (11, 21, 41))

    order = np.log2((fine - finer) / (finer - finest))

    assert order == pytest.approx(np.full(3, 2.0), abs=0.05)


def test_the_error_in_time_falls_with_the_square_of_the_step():
    film, end = 60.0, 60.0
    coarse, fine, finer = (
        core_surface_mean(after(end, (200 * film, film), (200 * film, film), 20.0, steps=steps))[1]
        for steps in (40, 80, 160)
    )

    order = np.log2((coarse - fine) / (fine - finer))

    assert order == pytest.approx(2.0, abs=0.15)


def test_the_usual_grid_is_good_to_a_third_of_a_percent():
    sheets = some_sheets()
    walls = tuple(
        CoolingCase(polymer, wall, 150 + CELSIUS, tool, free, 30 + CELSIUS)
        for polymer in (amorphous(), semicrystalline())
        for wall in (0.001, 0.003, 0.01)
        for tool, free in ((500.0, 10.0), (100.0, 60.0))
    )

    assert heated(sheets).time == pytest.approx(heated(sheets, nodes=161, steps=1200).time, rel=0.0033)
    assert cooled(walls).time == pytest.approx(cooled(walls, nodes=161, steps=1200).time, rel=0.0033)


def test_like_banks_give_a_like_sheet_on_both_faces():
    sheet = HeatedSheet(amorphous(), 0.006, 293.15, Heaters(650, 0.9, 0.7), Heaters(650, 0.9, 0.7), 353.15, 8.0)

    profile = heated((sheet,)).profile[:, 0]

    assert profile == pytest.approx(profile[::-1], abs=1e-6)


def test_a_thin_sheet_follows_the_lumped_exponential():
    # limit of small Biot number: T = T8 + (T0 - T8) exp(-2 h t/(rho cp L))
    film, thickness, time = 10.0, 0.0002, 10.0
    expected = 200 - 180 * np.exp(-2 * film * time / (DENSITY * SPECIFIC_HEAT * thickness))

    found = core_surface_mean(after(time, (200 * film, film), (200 * film, film), 20.0, thickness))

    assert found == pytest.approx([expected] * 3, abs=0.2)


def test_after_a_long_time_the_sheet_is_a_straight_line_between_its_faces():
    # limit of long time: conductances in series, q = (T1 - T2)/(1/h1 + L/k + 1/h2)
    first, second = 500.0, 30.0
    flux = (50 - 25) / (1 / first + THICKNESS / CONDUCTIVITY + 1 / second)

    profile = after(5000.0, (50 * first, first), (25 * second, second), 160.0).profile[:, 0]

    assert profile == pytest.approx(np.linspace(50 - flux / first, 25 + flux / second, 41), abs=1e-3)


def test_the_mean_is_that_of_the_nodes_with_half_weight_at_the_faces():
    assert mean_temperature(np.array([[0.0], [1.0], [4.0]]))[0] == pytest.approx(1.5)
