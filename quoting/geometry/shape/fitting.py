"""Which unit and which draw make a model the part whose sizes were typed."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from quoting.geometry.files.file_units import UNITS
from quoting.geometry.shape.draw import Draw, best_draws, draw_along
from quoting.geometry.shape.prepared import Prepared
from quoting.geometry.shape.seen import part_axes
from quoting.geometry.surface import Array

ALONG = 0.9999  # cosine from which an axis of the file is a draw that was found already


@dataclass(frozen=True)
class Fitted:
    """``unit``: mm, in or m, None where it is known. ``draws`` in that unit, best first; ``direction`` is chosen."""

    unit: str | None
    draws: tuple[Draw, ...]
    direction: tuple[float, float, float] | None


def fitted(known: Prepared, sizes: dict[str, float], scale: float | None, draw: Array | None) -> Fitted:
    """The unit and draw with which most typed sizes agree.

    Parameters
    ----------
    known : Prepared
        The body in the unit it was taken in [m].
    sizes : dict
        ``length`` (at least width), ``width``, ``depth`` where typed [m], and ``within``: how far a measured size may
        be off, as a share of it [-].
    scale : float or None
        Metres per file unit as taken [m] where the unit is open; None where it is known.
    draw : array or None
        Out of the cavity (3,) where somebody chose it [-].

    Returns
    -------
    fitted : Fitted
        Of those that agree equally well, the unit as taken goes first, then the better draw; the axes of the file come
        last.
    """
    draws = best_draws(known) if draw is None else ()
    ways = [np.array(one.direction) for one in draws] if draw is None else [draw]
    if draw is None:
        ways += [axis for axis in np.eye(3) if all(abs(axis @ way) < ALONG for way in ways)]
    found = [_sizes(known.surface.vertices, way) for way in ways]
    trials = [
        (_disagreeing(measured, sizes, ratio), unit, ratio, place)
        for unit, ratio in _units(scale) for place, measured in enumerate(found)
    ]  # fmt: skip
    _, unit, ratio, place = min(trials, key=lambda trial: trial[0])
    if draw is not None:
        return Fitted(unit, (), None)
    chosen = draws[place] if place < len(draws) else draw_along(known, ways[place])
    told = draws if chosen in draws else (*draws, chosen)
    return Fitted(unit, tuple(one.scaled(ratio) for one in told), chosen.direction)


def _units(scale: float | None) -> Iterator[tuple[str | None, float]]:
    """Units to try, as taken first, each with its ratio to that."""
    if scale is None:
        yield None, 1.0
        return
    for unit in sorted(UNITS, key=lambda unit: UNITS[unit] != scale):
        yield unit, UNITS[unit] / scale


def _sizes(vertices: Array, direction: Array) -> dict[str, float]:
    length, width, depth = np.ptp(vertices @ part_axes(vertices, direction).T, axis=0)
    return {"length": float(length), "width": float(width), "depth": float(depth)}


def _disagreeing(measured: dict[str, float], sizes: dict[str, float], ratio: float) -> int:
    return sum(
        abs(sizes[side] - ratio * size) > sizes["within"] * ratio * size
        for side, size in measured.items() if side in sizes
    )  # fmt: skip
