"""Sheets formed: time by resolution, and the step of all triangles at once against a plain loop over them.

Run from the top of the repository: ``python -m tests.benchmarks.membrane_speed``. One core. The loop does the same sums
in plain Python, one triangle after the other, and must come to the same forces.
"""

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")

from math import radians
from time import perf_counter, process_time

import numpy as np

from quoting.geometry.sheet.hyperelastic import Net, Triangles, triangles_of
from quoting.geometry.sheet.membrane import COARSE, FINE, Clamping, Plug, Resolution, form
from quoting.geometry.sheet.sheet_mesh import rectangular_sheet
from quoting.geometry.surface import Surface
from tests.quoting.geometry.membrane_tools import UP, cylinder, open_box

INCH = 0.0254
REPEATS = 7
ROUGH = Resolution(nodes=20, cells=240, steps=25, relaxing=120, faces=3_000)


def plain_forces(triangles: Triangles, places: np.ndarray, pressure: float) -> list[list[float]]:
    """The same as ``Net.forces`` of a neo-Hookean sheet under pressure, in plain Python."""
    at = places.T.tolist()
    faces, volumes, inverses = triangles.faces.T.tolist(), triangles.area.tolist(), triangles.inverse.T.tolist()
    forces = [[0.0, 0.0, 0.0] for _ in at]
    for (i, j, k), volume, ((a, c), (b, d)) in zip(faces, volumes, inverses, strict=True):
        u = [at[j][n] - at[i][n] for n in range(3)]
        v = [at[k][n] - at[i][n] for n in range(3)]
        along = [u[n] * a + v[n] * c for n in range(3)]
        across = [u[n] * b + v[n] * d for n in range(3)]
        xx, yy = sum(p * p for p in along), sum(p * p for p in across)
        xy = sum(p * q for p, q in zip(along, across, strict=True))
        square = (xx * yy - xy * xy) ** 2
        s_xx, s_yy, s_xy = 1 - yy / square, 1 - xx / square, xy / square
        push = [
            -pressure / 6 * (u[1] * v[2] - u[2] * v[1]),
            -pressure / 6 * (u[2] * v[0] - u[0] * v[2]),
            -pressure / 6 * (u[0] * v[1] - u[1] * v[0]),
        ]
        for n in range(3):
            second = -volume * (along[n] * (s_xx * a + s_xy * b) + across[n] * (s_xy * a + s_yy * b))
            third = -volume * (along[n] * (s_xx * c + s_xy * d) + across[n] * (s_xy * c + s_yy * d))
            forces[i][n] += push[n] - second - third
            forces[j][n] += push[n] + second
            forces[k][n] += push[n] + third
    return forces


def compare(nodes: int) -> None:
    sheet = rectangular_sheet(np.linspace(-1, 1, nodes + 1), np.linspace(-1, 1, nodes + 1))
    x, y = sheet.places
    places = np.array([1.2 * x, 1.1 * y, -0.5 * (1 - x**2) * (1 - y**2)])
    rest = sheet.places[:, sheet.faces]
    triangles = triangles_of(rest, np.full(sheet.faces.shape[1], 2 / nodes**2), sheet.faces)

    net = Net(triangles, places.shape[1])

    def at_once() -> np.ndarray:
        along, across = net.stretched(places)
        return net.forces(along, across, net.area_vectors(along, across) * (-0.7 / 3))

    error = np.abs(at_once() - np.array(plain_forces(triangles, places, 0.7)).T).max()
    ours = min(_timed(at_once) for _ in range(REPEATS * 5))
    plain = min(_timed(lambda: plain_forces(triangles, places, 0.7)) for _ in range(REPEATS))
    print(
        f"{sheet.faces.shape[1]:7d} triangles: at once {ours * 1e3:7.3f} ms, loop {plain * 1e3:8.2f} ms, "
        f"ratio {plain / ours:5.0f}, greatest difference {error:.1e}"
    )


def _timed(call) -> float:  # noqa: ANN001
    start = perf_counter()
    call()
    return perf_counter() - start


def ribbed(size: tuple[float, float, float], ribs: int, height: float, nodes: int = 181) -> Surface:
    """A tray as heights on a grid [m], walls at 5 deg, with ribs across that stand up from its base."""
    length, width, depth = size
    x, y = np.linspace(-length / 2, length / 2, nodes), np.linspace(-width / 2, width / 2, nodes)
    x, y = np.meshgrid(x, y, indexing="ij")
    walls = np.minimum(length / 2 - np.abs(x), width / 2 - np.abs(y)) / np.tan(radians(5))
    pitch, slope = length / (ribs + 1), np.tan(radians(8))
    off = np.abs((x / pitch + 0.5) % 1 - 0.5) * pitch
    rib = np.where(np.abs(y) < width / 2 - 0.05, np.clip((0.012 + height * slope - off) / slope, 0, height), 0.0)
    number = np.arange(x.size).reshape(x.shape)
    a, b, c, d = (some.ravel() for some in (number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]))
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return Surface(
        np.column_stack([x.ravel(), y.ravel(), np.minimum(rib - np.minimum(depth, walls), 0).ravel()]), faces
    )


BOX = open_box(40 * INCH, 28 * INCH, 8 * INCH, radians(2), 0.187 * INCH)
NARROW = open_box(0.9, 0.25, 0.3, radians(2), 0.01)
DEEP = cylinder(0.2, 0.4)
WEB = Clamping("rectangle", 2 * INCH)
CASES = {
    "box female": (BOX, WEB, {}),
    "box with plug": (BOX, WEB, {"plug": Plug()}),
    "box with bubble": (BOX, WEB, {"pre_stretch": 1.3}),
    "box male": (BOX, WEB, {"tool_side": "male"}),
    "cylinder as deep as wide": (DEEP, Clamping("circle"), {}),
    "cylinder with plug": (DEEP, Clamping("circle"), {"plug": Plug()}),
    "deep narrow box": (NARROW, WEB, {}),
    "deep narrow box, plug": (NARROW, WEB, {"plug": Plug()}),
    "tray with ribs": (ribbed((1.0, 0.6, 0.1), 5, 0.04), WEB, {}),
}


def forming(name: str, resolution: Resolution) -> None:
    for what, (tool, clamping, how) in CASES.items():
        start = process_time()
        formed = form(tool, UP, clamping, resolution=resolution, **how)
        print(
            f"{name:7s} {what:25s} {process_time() - start:6.2f} s of one core, {formed.marched:6d} steps in time, "
            f"{len(formed.faces):6d} triangles, minimum {formed.minimum:.3f}, 5 % {formed.fifth_percentile:.3f}, "
            f"mean {formed.mean:.3f}, covered {formed.covered:.3f}"
        )


if __name__ == "__main__":
    for size in (20, 40, 80):
        compare(size)
    for label, how in (("rough", ROUGH), ("coarse", COARSE), ("fine", FINE)):
        forming(label, how)
