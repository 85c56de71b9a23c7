"""How long a picture of a part takes by its number of triangles, and what reading the part took before it.

Run from the top of the repository: ``python -m tests.benchmarks.picture_speed``. The best of three on a bowl. The last
two columns are the mesh to be turned in a browser, thinned and with a map on it, and its size.
"""

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

import numpy as np
import trimesh

from quoting.geometry.files.reading import read_bodies
from quoting.geometry.pictures.colour_map import ColourMap
from quoting.geometry.pictures.outline import svg_outline
from quoting.geometry.pictures.picture import Drawn, picture
from quoting.geometry.pictures.turning import Map, turning
from quoting.geometry.pictures.viewpoint import oblique

COUNTS = (1_000, 5_000, 20_000, 100_000, 500_000, 1_000_000)  # triangles, about
REPEATS = 3
UP = np.array([0.0, 0.0, 1.0])


def bowl(count: int) -> trimesh.Trimesh:
    """A round bowl with a wavy wall of about ``count`` triangles, in mm."""
    rings = int((count / 6) ** 0.5)
    turn, out = np.meshgrid(np.linspace(0, 2 * np.pi, 3 * rings + 1), np.linspace(0.01, 1, rings), indexing="ij")
    wave = 1 + 0.05 * np.sin(9 * turn) * out
    points = np.stack((300 * out * wave * np.cos(turn), 300 * out * wave * np.sin(turn), 150 * out**4), axis=2)
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]
    corners = np.concatenate([np.stack(face, axis=2).reshape(-1, 3, 3) for face in ((a, d, b), (b, d, c))])
    return trimesh.Trimesh(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3), process=False)


def best(run: Callable[[], object]) -> float:
    """Shortest of a few runs [s]."""
    times = []
    for _ in range(REPEATS):
        start = perf_counter()
        run()
        times.append(perf_counter() - start)
    return min(times)


def main() -> None:
    """Print the table."""
    print(
        f"{'triangles':>10} {'read':>8} {'prepare':>8} {'shaded':>8} {'coloured':>9} {'outline':>8} {'turning':>8}"
        "   [s], 900 x 600 px"
    )
    for count in COUNTS:
        with TemporaryDirectory() as folder:
            path = Path(folder, "bowl.stl")
            bowl(count).export(path)
            reading = best(lambda path=path: read_bodies(path, 0.001))
            surface = read_bodies(path, 0.001).bodies[0]
        view, drawn = oblique(surface.vertices, UP), Drawn(surface)
        colours = ColourMap(surface.centres[:, 2] * 1000, "Height [mm]", 0, 160)
        row = (
            reading, best(lambda s=surface: Drawn(s)), best(lambda d=drawn, v=view: picture(d, v)),
            best(lambda d=drawn, v=view, c=colours: picture(d, v, colours=c)),
            best(lambda s=surface, v=view: svg_outline(s, v, "bowl")),
            best(lambda s=surface, c=colours: turning(s, UP, Map(s, c), None)),
        )  # fmt: skip
        print(f"{len(surface.faces):>10,} " + " ".join(f"{time:>8.2f}" for time in row), end="")
        print(f"   {len(turning(surface, UP, Map(surface, colours), None)) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
