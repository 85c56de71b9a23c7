"""Forces of stretch against closed forms, a differentiated energy and the plainest loop."""

import numpy as np
import pytest

from quoting.geometry.sheet.hyperelastic import Net, Triangles, triangles_of
from quoting.geometry.sheet.sheet_mesh import rectangular_sheet


def right_triangle() -> tuple[np.ndarray, np.ndarray]:
    return np.array([[[0.0], [1.0], [0.0]], [[0.0], [0.0], [1.0]]]), np.array([[0], [1], [2]])


def forces_of(triangles: Triangles, places: np.ndarray, mooney: float = 0.0) -> np.ndarray:
    net = Net(triangles, places.shape[1])
    return net.forces(*net.stretched(places), np.zeros((3, triangles.area.size)), mooney)


@pytest.mark.parametrize("mooney", [0.0, 0.1, 1.0])
def test_an_even_stretch_has_the_force_of_its_closed_form(mooney):
    # Mooney's law of rubber, equal stretch both ways: force on the flat width 2 (c1 + c2 l^2)(l - l^-5)
    stretch, (rest, faces) = 1.7, right_triangle()
    places = np.vstack([stretch * rest[:, :, 0], np.zeros(3)])
    forces = forces_of(triangles_of(rest, np.array([0.5]), faces), places, mooney)
    expected = -0.5 * (1 - mooney + mooney * stretch**2) * (stretch - stretch**-5)
    assert forces[0, 1] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("mooney", [0.0, 0.3])
def test_forces_are_the_slope_of_the_energy(mooney):
    rest, faces = right_triangle()
    places = np.array([[0.1, 1.6, 0.4], [0.0, 0.3, 1.2], [0.0, -0.5, 0.8]])

    def energy(at: np.ndarray) -> float:
        # W = c1 (I1 - 3) + c2 (I2 - 3) with 2 (c1 + c2) = 1, from the stretches themselves
        one, other = np.linalg.svd(at[:, 1:] - at[:, :1], compute_uv=False)
        third = 1 / (one * other)
        first = one**2 + other**2 + third**2
        inverse = one**-2 + other**-2 + third**-2
        return 0.5 * 0.5 * ((1 - mooney) * first + mooney * inverse)

    forces = forces_of(triangles_of(rest, np.array([0.5]), faces), places, mooney)
    for place in np.ndindex(3, 3):
        step = np.zeros((3, 3))
        step[place] = 1e-6
        slope = (energy(places + step) - energy(places - step)) / 2e-6
        assert forces[place] == pytest.approx(-slope, abs=1e-8)


def test_forces_balance_and_turning_the_sheet_turns_them():
    sheet = rectangular_sheet(np.linspace(0, 1, 5), np.linspace(0, 2, 7))
    x, y = sheet.places
    places = np.array([1.4 * x, 1.1 * y + 0.2 * x, 0.3 * np.sin(3 * x) * y])
    rest = sheet.places[:, sheet.faces]
    volume = np.full(sheet.faces.shape[1], 1 / 24)
    triangles = triangles_of(rest, volume, sheet.faces)
    turn = np.linalg.qr(np.array([[1.0, 2, 3], [0, 1, 4], [5, 6, 0]]))[0]

    forces = forces_of(triangles, places)

    assert np.abs(forces.sum(axis=1)).max() < 1e-13
    assert forces_of(triangles, turn @ places) == pytest.approx(turn @ forces, abs=1e-13)
