"""The sheet while it is formed: where its nodes are, which lie on the tool, and its triangles."""

from dataclasses import dataclass

import numpy as np

from quoting.geometry.sheet.hyperelastic import Triangles, area_vectors, triangles_of
from quoting.geometry.sheet.sheet_mesh import FlatSheet, split_long
from quoting.geometry.sheet.tool_field import ToolField

Array = np.ndarray

WHOLE = 1 - 1e-9  # -, share of its parent from which a triangle is the parent itself
TOUCHING = 1.0  # cells, distance at which a place lies on the tool


@dataclass
class MovingSheet:
    """Changes as forming goes on. Lengths [-] in units of the tool field.

    ``places`` (3, n); ``clamped`` and ``held`` (n,), held includes clamped; ``faces`` (3, m); ``rest`` (2, 3, m) shape
    of each triangle without stress; ``volume`` (m,) over gauge; ``way`` (3, n) that each node went in the last step;
    ``lying`` (m,) 1 where a triangle held at all corners lies on the tool, 0 where not, -1 where nobody looked yet.
    """

    flat: Array
    places: Array
    clamped: Array
    held: Array
    faces: Array
    rest: Array
    volume: Array
    way: Array
    lying: Array

    def triangles(self) -> Triangles:
        return triangles_of(self.rest, self.volume, self.faces)

    def areas(self) -> Array:
        """Area of each triangle now (m,)."""
        return np.linalg.norm(area_vectors(self.faces, self.places), axis=0)

    def free(self) -> Array:
        """Triangles (m,) that can still move."""
        return ~self.held[self.faces].all(axis=0)

    def longest(self) -> Array:
        """Longest edge of each triangle now (m,)."""
        corners = self.places[:, self.faces]
        return np.sqrt(np.max(np.sum((corners - np.roll(corners, 1, axis=1)) ** 2, axis=0), axis=0))

    def centres(self) -> Array:
        """Middle of each triangle now (m, 3)."""
        return self.places[:, self.faces].mean(axis=1).T

    def wall(self) -> float:
        """Wall over gauge of what can move, on the whole [-]; 1 where nothing can."""
        free = self.free()
        return float(self.volume[free].sum() / self.areas()[free].sum()) if free.any() else 1.0

    def slip(self, thinning: float, was_free: Array) -> None:
        """Let what was held give off volume to what can move: it thins to ``thinning`` of its wall, up to 1 [-]."""
        free = self.free()
        held = ~was_free
        if not free.any():
            return
        given = float(self.volume[held].sum()) * (1 - thinning)
        self.volume = np.where(held, self.volume * thinning, self.volume)
        self.volume[free] *= 1 + given / float(self.volume[free].sum())

    def split(self, wanted: Array, tool: ToolField) -> None:
        """Halve triangles; new nodes are free unless they lie on the tool or in it."""
        halves = split_long(self.faces, self.places, wanted)
        corners = (self.rest[:, halves.corners[0], halves.parent] + self.rest[:, halves.corners[1], halves.parent]) / 2
        share = _flat_area(corners) / _flat_area(self.rest)[halves.parent]
        self.volume = self.volume[halves.parent] * share
        self.lying = np.where(share > WHOLE, self.lying[halves.parent], -1).astype(np.int8)
        self.faces, self.rest = halves.faces, corners
        one, other = halves.ends
        places = (self.places[:, one] + self.places[:, other]) / 2
        both = self.held[one] & self.held[other]
        places, on_tool = _on_tool(places, both, tool)
        self.places = np.concatenate([self.places, places], axis=1)
        self.flat = np.concatenate([self.flat, (self.flat[:, one] + self.flat[:, other]) / 2], axis=1)
        self.way = np.concatenate([self.way, (self.way[:, one] + self.way[:, other]) / 2], axis=1)
        self.held = np.concatenate([self.held, on_tool | (self.clamped[one] & self.clamped[other])])
        self.clamped = np.concatenate([self.clamped, self.clamped[one] & self.clamped[other]])


def laid_out(sheet: FlatSheet, level: float) -> MovingSheet:
    """A flat sheet at a level, held by its clamp."""
    places = np.vstack([sheet.places, np.full(sheet.places.shape[1], level)])
    rest = sheet.places[:, sheet.faces]
    held, unknown = sheet.clamped.copy(), np.full(rest.shape[2], -1, np.int8)
    return MovingSheet(
        sheet.places, places, sheet.clamped, held, sheet.faces, rest, _flat_area(rest), 0 * places, unknown
    )


def _flat_area(corners: Array) -> Array:
    (a, c), (b, d) = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return (a * d - b * c) / 2


def _on_tool(places: Array, both_held: Array, tool: ToolField) -> tuple[Array, Array]:
    """New nodes between two held ones: on the tool where they are as good as there; out of it where they are in it."""
    inside = places[2] < tool.height(places[0], places[1])
    touching = tool.touches(places.T, TOUCHING * tool.cell)
    deep = np.flatnonzero(inside & ~touching)
    moved = places.copy()
    moved[:, deep] = tool.nearest(places[:, deep].T)[1].T
    return moved, inside | (both_held & touching)
