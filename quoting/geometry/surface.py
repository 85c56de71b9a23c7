"""A surface of triangles, as it comes out of a CAD file."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import trimesh

Array = np.ndarray


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles of one body: a closed solid, or one skin of a sheet. Vertices [m]; faces index them."""

    vertices: Array  # (n, 3)
    faces: Array  # (m, 3)

    @cached_property
    def mesh(self) -> trimesh.Trimesh:
        """The same for the mesh library, vertices and faces as they are."""
        return trimesh.Trimesh(self.vertices, self.faces, process=False)

    @property
    def normals(self) -> Array:
        """Unit normal of each face (m, 3) [-]; zero where a face has no area."""
        return self.mesh.face_normals

    @property
    def areas(self) -> Array:
        """Area of each face (m,) [m2]."""
        return self.mesh.area_faces

    @property
    def centres(self) -> Array:
        """Middle of each face (m, 3) [m]."""
        return self.mesh.triangles_center
