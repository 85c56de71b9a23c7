"""How the measuring of a part grows with its triangles, and what the ray tracer saves.

Run from the top of the repository: ``python -m tests.benchmarks.geometry_speed``. One core. The part is half a ball of
even wall; seconds of processor time, so that other work on the machine does not count. The naive test tries every
triangle for every ray in numpy (Moeller and Trumbore's test), on a sample of rays in the same run.
"""

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import resource
from collections.abc import Callable
from time import process_time

import numpy as np

from quoting.geometry.shape.draw import best_draws
from quoting.geometry.shape.measures import measured
from quoting.geometry.shape.moldability import moldability
from quoting.geometry.shape.prepared import prepared, sampled
from quoting.geometry.shape.rays import Rays
from quoting.geometry.shape.seen import viewed
from quoting.geometry.surface import Surface
from tests.quoting.geometry import shapes

STEPS = (35, 51, 112, 177, 251)  # triangles grow with the square, some 8 x steps^2
SAMPLE = 200  # rays of the naive test
MANY = 20_000  # rays of the tracer


def timed(work: Callable[[], object]) -> tuple[float, object]:
    start = process_time()
    found = work()
    return process_time() - start, found


def stages(surface: Surface) -> list[float]:
    """Seconds for preparing, the draw, the views, the sizes, and the troubles on both tools."""
    prepare, known = timed(lambda: prepared(surface))
    draw, draws = timed(lambda: best_draws(known))
    direction = np.array(draws[0].direction)
    view, views = timed(lambda: viewed(known, direction))
    sizes, _ = timed(lambda: measured(surface, direction, views))
    trouble, _ = timed(lambda: [moldability(surface, direction, tool, views) for tool in ("female", "male")])
    return [prepare, draw, view, sizes, trouble]


def naive(surface: Surface, origins: np.ndarray, directions: np.ndarray) -> np.ndarray:
    """The face that each ray meets first, every triangle tried; -1 for none."""
    first, second, third = np.moveaxis(surface.vertices[surface.faces], 1, 0)
    one, two = second - first, third - first
    found = np.full(len(origins), -1)
    for number, (origin, direction) in enumerate(zip(origins, directions, strict=True)):
        across = np.cross(direction, two)
        facing = np.einsum("ij,ij->i", one, across)
        scale = 1 / np.where(np.abs(facing) < 1e-15, np.inf, facing)
        u = np.einsum("ij,ij->i", origin - first, across) * scale
        turned = np.cross(origin - first, one)
        v, away = turned @ direction * scale, np.einsum("ij,ij->i", two, turned) * scale
        met = (facing != 0) & (u >= 0) & (v >= 0) & (u + v <= 1) & (away > 0)
        found[number] = np.where(met, away, np.inf).argmin() if met.any() else -1
    return found


def rays_compared(surface: Surface) -> None:
    points, face = sampled(surface, MANY)
    normals = surface.normals[face]
    build, rays = timed(lambda: Rays(surface.vertices, surface.faces, surface.normals))
    origins = points - rays.off * normals
    tracer, hit = timed(lambda: rays.first(origins, -normals))
    some = slice(0, MANY, MANY // SAMPLE)
    plain, expected = timed(lambda: naive(surface, origins[some], -normals[some]))
    per_ray, per_plain = tracer / MANY, plain / SAMPLE
    whole = (build + tracer) / MANY
    print(
        f"{len(surface.faces):8d} {per_ray * 1e6:12.2f} {per_plain * 1e6:12.0f} {per_plain / per_ray:10.0f} "
        f"{per_plain / whole:10.0f} {np.mean(hit[some] == expected):10.3f}"
    )


def main() -> None:
    print("triangles  prepare     draw    views    sizes  trouble      all [s]   peak memory [GB]")
    parts = [shapes.bowl(steps=step) for step in STEPS]
    for part in parts:
        seconds = stages(part)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        print(f"{len(part.faces):9d}", *(f"{s:8.2f}" for s in seconds), f"{sum(seconds):12.2f} {peak:18.2f}")
    print("\ntriangles  tracer [us]   naive [us]      ratio  with build  same face")
    for part in parts[:4]:
        rays_compared(part)


if __name__ == "__main__":
    main()
