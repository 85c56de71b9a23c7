"""A melting front that walks into a sheet, against the similarity solution of Stefan and Neumann.

The face of a solid at its melting temperature is brought to a higher one at once. The march knows no front: it spreads
the latent heat over a peak, so it can only come near as the peak narrows and the grid follows.
"""

from functools import cache

import mpmath
import numpy as np
import pytest

from tests.material_samples import semicrystalline
from tests.reference.slab_runs import INSULATED, held_face, run

STEP = 60.0  # K, of the face above the melting temperature
TIME = 50.0  # s
THICKNESS = 0.006  # m, twice as thick as the front goes deep
BELOW = 3.0  # widths of the peak below its middle: nothing has melted there yet

POLYMER = semicrystalline()
SPECIFIC_HEAT = POLYMER.specific_heat_hot
DIFFUSIVITY = POLYMER.conductivity / (POLYMER.density * SPECIFIC_HEAT)


def stefan_root() -> float:
    """lambda of ``lambda exp(lambda^2) erf(lambda) = Ste/sqrt(pi)``, Ste = cp (Ts - Tm)/latent heat."""
    stefan_number = SPECIFIC_HEAT * STEP / POLYMER.latent_heat
    residual = lambda z: z * mpmath.exp(z**2) * mpmath.erf(z) - stefan_number / mpmath.sqrt(mpmath.pi)  # noqa: E731
    return float(mpmath.findroot(residual, 0.5))


def exact_depth() -> float:
    return 2 * stefan_root() * np.sqrt(DIFFUSIVITY * TIME)


def exact_heat() -> float:
    """``integral of k (Ts - Tm)/(erf(lambda) sqrt(pi a t)) dt`` [J/m2]"""
    return 2 * POLYMER.conductivity * STEP * np.sqrt(TIME / (np.pi * DIFFUSIVITY)) / float(mpmath.erf(stefan_root()))


@cache
def melted(width: float, nodes: int, steps: int) -> tuple[float, float]:
    """Depth of the melting temperature and heat taken up, both relative to the similarity solution, less 1."""
    polymer = semicrystalline(melting_width=width)
    melting = polymer.melting_temperature
    found = run(
        polymer,
        THICKNESS,
        melting - BELOW * width,
        held_face(melting + STEP),
        INSULATED,
        TIME,
        nodes=nodes,
        steps=steps,
    )
    assert (np.diff(found.profile) <= 1e-6).all(), "colder with every step into the sheet"
    depth = np.interp(-melting, -found.profile, found.places)
    return float(depth / exact_depth() - 1), float(found.energy_stored / exact_heat() - 1)


def test_the_similarity_solution_is_in_balance_itself():
    # Stefan condition, by hand: the heat through the face melts the layer and warms it above the melting temperature
    root = stefan_root()
    latent = POLYMER.density * POLYMER.latent_heat * exact_depth()
    profile = lambda x: 1 - mpmath.erf(x * root) / mpmath.erf(root)  # noqa: E731
    sensible = POLYMER.density * SPECIFIC_HEAT * STEP * exact_depth() * float(mpmath.quad(profile, [0, 1]))
    assert latent + sensible == pytest.approx(exact_heat(), rel=1e-9)


WIDTHS = [
    pytest.param(4.0, 41, 400, 0.10, id="4 K"),
    pytest.param(2.0, 41, 400, 0.055, id="2 K"),
    pytest.param(1.0, 81, 800, 0.03, id="1 K"),
    pytest.param(0.5, 161, 1600, 0.018, id="0.5 K"),
]


@pytest.mark.parametrize(("width", "nodes", "steps", "within"), WIDTHS)
def test_a_narrow_melting_peak_walks_in_as_a_front_does(width, nodes, steps, within):
    depth, heat = melted(width, nodes, steps)
    # Neumann's similarity solution: s = 2 lambda sqrt(a t), lambda exp(lambda^2) erf(lambda) = Ste/sqrt(pi), mpmath
    assert depth == pytest.approx(0.0, abs=within)
    # heat through the face in the same solution
    assert heat == pytest.approx(0.0, abs=within)


def assert_what_is_left_halves(*runs: tuple[float, int, int]) -> None:
    found = [melted(*one) for one in runs]
    for wide, narrow in zip(found, found[1:], strict=False):
        # what is left goes with the width of the peak over the step of temperature
        assert np.divide(narrow, wide) == pytest.approx([0.5, 0.5], abs=0.1)


def test_the_front_comes_nearer_as_the_peak_narrows():
    assert_what_is_left_halves((8.0, 41, 400), (4.0, 41, 400), (2.0, 41, 400))


def test_the_front_comes_nearer_as_the_peak_narrows_and_the_grid_follows():
    assert_what_is_left_halves((4.0, 41, 400), (2.0, 81, 800), (1.0, 161, 1600))


def test_a_finer_grid_does_not_move_the_front_much():
    (depth, heat), (finer_depth, finer_heat) = melted(4.0, 41, 400), melted(4.0, 81, 800)
    assert finer_depth == pytest.approx(depth, abs=0.005)
    assert finer_heat == pytest.approx(heat, abs=0.002)
