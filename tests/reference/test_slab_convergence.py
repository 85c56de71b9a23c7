"""How fast the error falls with grid and step, and what is left of it on the usual grid."""

from dataclasses import replace

import numpy as np
import pytest

from materials.cooling import CoolingCase, cooled
from materials.exposure import Heaters
from materials.heating import HeatedSheet, heated
from tests.material_samples import CELSIUS, amorphous, semicrystalline
from tests.reference.slab_runs import film_face, finely_cooled, finely_heated, imbalance, oven_face, run

SECOND_ORDER = 1.8  # at least; 2 in the limit
EXCHANGE = 0.70 / (1 / 0.90 + 1 / 0.92 - 1)
# Smooth problems: one specific heat, or a peak so wide that no node jumps over it.
PLAIN = amorphous(specific_heat_solid=2000.0)
WIDE_PEAK = semicrystalline(melting_width=20.0)
BANKS = tuple(oven_face(c + CELSIUS, EXCHANGE, 8.0, 80 + CELSIUS) for c in (400.0, 300.0))
TOOL_AND_AIR = film_face(500.0, 50 + CELSIUS), film_face(30.0, 25 + CELSIUS)
PROBLEMS = {
    "radiant banks": (PLAIN, 0.006, 20 + CELSIUS, *BANKS, 90.0),
    "radiant banks, wide melting": (WIDE_PEAK, 0.006, 20 + CELSIUS, *BANKS, 200.0),
    "tool and air": (PLAIN, 0.004, 160 + CELSIUS, *TOOL_AND_AIR, 60.0),
}


def orders(errors: list[float]) -> list[float]:
    """Observed order, where each run is twice as fine as the one before."""
    return [float(np.log2(coarse / fine)) for coarse, fine in zip(errors, errors[1:], strict=False)]


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_error_in_space_falls_with_the_square_of_the_spacing(name):
    def faces_and_mean(nodes):
        found = run(*PROBLEMS[name], nodes=nodes, steps=400)
        return np.array([*found.faces, found.mean])

    # against itself on a grid eight times as fine as the finest here, with like steps
    finest = faces_and_mean(321)
    errors = [float(np.abs(faces_and_mean(nodes) - finest).max()) for nodes in (11, 21, 41)]

    assert min(orders(errors)) > SECOND_ORDER
    assert errors[1] < 0.3  # K, of the usual number of nodes


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_error_in_time_falls_with_the_square_of_the_step(name):
    # against itself with steps sixteen times as fine as the finest here, on one grid, worst node
    finest = run(*PROBLEMS[name], nodes=31, steps=2560).profile
    errors = [
        float(np.abs(run(*PROBLEMS[name], nodes=31, steps=steps).profile - finest).max()) for steps in (40, 80, 160)
    ]

    assert min(orders(errors)) > SECOND_ORDER
    assert errors[1] < 0.05  # K


def some_sheets() -> tuple[HeatedSheet, ...]:
    return tuple(
        HeatedSheet(polymer, gauge, 20 + CELSIUS, *(Heaters(t + CELSIUS, 0.9, 0.7) for t in levels), 80 + CELSIUS, 8.0)
        for polymer in (amorphous(), semicrystalline())
        for gauge in (0.002, 0.006, 0.0127)
        for levels in ((330, 330), (480, 420))
    )


def some_walls() -> tuple[CoolingCase, ...]:
    return tuple(
        CoolingCase(polymer, wall, 150 + CELSIUS, tool, free, 30 + CELSIUS)
        for polymer in (amorphous(), semicrystalline())
        for wall in (0.001, 0.003, 0.01)
        for tool, free in ((500.0, 10.0), (100.0, 60.0))
    )


def test_the_usual_grid_is_good_to_a_third_of_a_percent():
    # against itself, eight times as many nodes and fifteen times as many steps
    assert heated(some_sheets()).time == pytest.approx(finely_heated(some_sheets()).time, rel=0.0033)
    assert cooled(some_walls()).time == pytest.approx(finely_cooled(some_walls()).time, rel=0.0033)


@pytest.mark.parametrize("width", [4.0, 3.0, 2.0, 1.0], ids="{} K".format)
def test_how_wide_the_melting_peak_is_hardly_matters_to_a_wall_that_freezes_through_it(width):
    def times(peak):
        polymer = semicrystalline(melting_width=peak)
        return cooled(tuple(replace(wall, polymer=polymer) for wall in some_walls()[2:3])).time

    # the usual peak of 6 K: the same heat leaves between the same two temperatures
    assert times(width) == pytest.approx(times(6.0), rel=0.02)


def test_what_passes_the_faces_is_what_the_sheet_holds():
    # conservation of energy; the two sides are summed apart
    assert imbalance(heated(some_sheets())) == pytest.approx(0.0, abs=2e-3)
    assert imbalance(cooled(some_walls())) == pytest.approx(0.0, abs=5e-3)
