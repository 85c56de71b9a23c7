"""Which face each ray of sight meets first. Rays run against the view, so points are (right, up, nearer)."""

from dataclasses import dataclass

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

Array = np.ndarray
BOX = 100.0  # size to which the model is brought before the single precision of the ray caster
ABOVE = 2.0  # rays start this many boxes above it


@dataclass(frozen=True, eq=False)
class Hits:
    """What rays met: the face of each, -1 for none; for those that met one the shares of its corners and how near."""

    face: Array  # (r,)
    shares: Array  # (r, 3) [-], 0 where nothing was met
    near: Array  # (r,) [m], -inf where nothing was met


class Caster:
    """A part ready for rays along one view."""

    def __init__(self, seen: Array, faces: Array) -> None:
        """``seen`` are the corners (n, 3) [m] as `Viewpoint.seen` gives them."""
        self.corners = seen[faces]
        self.low = seen.min(axis=0)
        self.size = max(float(np.ptp(seen, axis=0).max()), 1e-12)
        self._scene = EmbreeScene()
        scaled = np.ascontiguousarray((seen - self.low) / self.size * BOX, dtype=np.float32)
        TriangleMesh(self._scene, scaled, np.ascontiguousarray(faces, dtype=np.int32))

    def cast(self, right: Array, up: Array) -> Hits:
        """Rays at the places given [m], straight away from the eye."""
        starts = np.empty((len(right), 3), np.float32)
        starts[:, 0] = (right - self.low[0]) / self.size * BOX
        starts[:, 1] = (up - self.low[1]) / self.size * BOX
        starts[:, 2] = ABOVE * BOX
        ways = np.zeros_like(starts)
        ways[:, 2] = -1.0
        face = self._scene.run(starts, ways)
        return self._located(np.asarray(face), right, up)

    def _located(self, face: Array, right: Array, up: Array) -> Hits:
        met = np.flatnonzero(face >= 0)
        one, two, three = np.moveaxis(self.corners[face[met]], 1, 0)
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
