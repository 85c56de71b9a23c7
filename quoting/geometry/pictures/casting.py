"""Which face each ray of sight meets first. Rays run against the view, so points are (right, up, nearer)."""

from dataclasses import dataclass

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

from quoting.geometry.pictures.viewpoint import Viewpoint
from quoting.geometry.surface import Surface

Array = np.ndarray
BOX = 100.0  # size to which the model is brought before the single precision of the ray caster
ABOVE = 1.0  # rays start this many boxes above it


@dataclass(frozen=True, eq=False)
class Hits:
    """What rays met: the face of each, -1 for none; for those that met one the shares of its corners and how near."""

    face: Array  # (r,)
    shares: Array  # (r, 3) [-], 0 where nothing was met
    near: Array  # (r,) [m], -inf where nothing was met


class Traced:
    """A surface ready for rays, whatever the view; made once for all its pictures."""

    def __init__(self, surface: Surface) -> None:
        self.faces = surface.faces
        self.low = surface.vertices.min(axis=0)
        self.size = max(float(np.ptp(surface.vertices, axis=0).max()), 1e-12)
        self._scene = EmbreeScene()
        TriangleMesh(self._scene, self._boxed(surface.vertices), np.ascontiguousarray(self.faces, dtype=np.int32))

    def _boxed(self, points: Array) -> Array:
        return np.ascontiguousarray((points - self.low) / self.size * BOX, dtype=np.float32)

    def first(self, starts: Array, way: Array) -> Array:
        """The face that each ray meets first, -1 for none: from ``starts`` (r, 3) [m], all along ``way`` (3,) [-]."""
        ways = np.tile(way.astype(np.float32), (len(starts), 1))
        return np.asarray(self._scene.run(self._boxed(starts), ways))


class Caster:
    """A part ready for rays along one view."""

    def __init__(self, traced: Traced, view: Viewpoint, seen: Array) -> None:
        """``seen`` are the corners (n, 3) [m] as `Viewpoint.seen` gives them."""
        self.traced, self.axes, self.seen = traced, view.axes, seen
        self.above = float(seen[:, 2].max()) + ABOVE * traced.size

    def cast(self, right: Array, up: Array) -> Hits:
        """Rays at the places given [m], straight away from the eye."""
        starts = np.stack((right, up, np.full(len(right), self.above)), axis=1) @ self.axes
        return self._located(self.traced.first(starts, -self.axes[2]), right, up)

    def _located(self, face: Array, right: Array, up: Array) -> Hits:
        met = np.flatnonzero(face >= 0)
        one, two, three = np.moveaxis(self.seen[self.traced.faces[face[met]]], 1, 0)
        there = np.stack((right[met], up[met]), axis=1)
        u, v, w = two[:, :2] - one[:, :2], three[:, :2] - one[:, :2], there - one[:, :2]
        whole = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        whole[whole == 0] = np.inf  # a face seen edge-on: its first corner stands for it
        second = np.clip((w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / whole, 0, 1)
        third = np.clip((u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0]) / whole, 0, 1 - second)
        shares, near = np.zeros((len(face), 3)), np.full(len(face), -np.inf)
        shares[met] = np.stack((1 - second - third, second, third), axis=1)
        near[met] = (shares[met] * np.stack((one[:, 2], two[:, 2], three[:, 2]), axis=1)).sum(axis=1)
        return Hits(face, shares, near)
