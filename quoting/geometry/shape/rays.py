"""Rays against the triangles of one body, many at a time."""

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

from quoting.geometry.surface import Array

UNIT = 100.0  # the tracer works in single precision: the body is moved to the middle and made so large
OFF = 2e-5  # a ray starts so far off its face, of the body's diagonal [-]: far above that precision, below any wall
BATCH = 200_000  # rays at a time; bounds the memory


class Rays:
    """A body to shoot at. ``size``: diagonal of its box [m]; ``off``: how far a ray starts off its face [m]."""

    def __init__(self, vertices: Array, faces: Array, normals: Array):
        low, high = vertices.min(axis=0), vertices.max(axis=0)
        self.size = float(np.linalg.norm(high - low))
        self.off = OFF * self.size
        self._middle, self._scale = (low + high) / 2, UNIT / self.size
        self._normals, self._first_corner = normals, vertices[faces[:, 0]]
        self._scene = EmbreeScene(robust=True)  # no ray slips through between two faces
        placed = ((vertices - self._middle) * self._scale).astype(np.float32)
        self._mesh = TriangleMesh(self._scene, placed, faces.astype(np.int32))

    def first(self, origins: Array, directions: Array) -> Array:
        """The face that each ray (n, 3), (n, 3) or (3,), meets first (n,); -1 for none."""
        found = np.full(len(origins), -1, int)
        for start in range(0, len(origins), BATCH):
            part = slice(start, start + BATCH)
            at = ((origins[part] - self._middle) * self._scale).astype(np.float32)
            along = np.ascontiguousarray(
                np.broadcast_to(directions if directions.ndim == 1 else directions[part], at.shape), np.float32
            )
            found[part] = self._scene.run(np.ascontiguousarray(at), along, query="INTERSECT")
        return found

    def hits(self, origins: Array, directions: Array) -> tuple[Array, Array]:
        """The face met first (n,), -1 for none, and how far away it is (n,) [m], infinite for none; unit directions."""
        face = self.first(origins, directions)
        distance = np.full(len(face), np.inf)
        met = face >= 0
        normal = self._normals[face[met]]
        facing = np.einsum("ij,ij->i", normal, np.broadcast_to(directions, origins.shape)[met])
        away = np.einsum("ij,ij->i", normal, self._first_corner[face[met]] - origins[met])
        distance[met] = np.abs(away / np.where(np.abs(facing) < 1e-12, 1e-12, facing))
        return face, distance
