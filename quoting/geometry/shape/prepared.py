"""A surface made fit to be measured: corners joined, one way of winding, outside out; or a plain refusal.

The file is not trusted: what cannot be measured honestly is refused, what can be measured with doubt carries a warning.
"""

from dataclasses import dataclass

import numpy as np
import trimesh
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from quoting.geometry.shape.rays import Rays
from quoting.geometry.surface import Array, Surface

JOIN = 1e-7  # corners closer than this share of the size are one [-]; judgement: far above float32 noise of a STEP
REWIND_LIMIT = 60_000  # faces; the library walks them one by one, some 20 us each
HOLLOW_FILL = 0.35  # volume over volume of the convex hull below which a closed solid is a thin wall [-]; judgement
FLAT_WALL = 0.02  # or its wall is thinner than this share of the root of one skin's area [-]; judgement
SAMPLES = 3000  # points on the surface for wall and draw search


class UnmeasurableError(ValueError):
    """The surface cannot be measured honestly; the text says why."""


@dataclass(frozen=True, eq=False)
class Prepared:
    """Faces in the order of the file, less what ``source`` leaves out.

    ``kind``: 'skin' (open), 'shell' (thin wall), 'lump' (filled) or 'hollow' (closed void).
    """

    surface: Surface
    rays: Rays
    kind: str
    wall: float | None  # m
    watertight: bool
    volume: float | None  # m3
    bodies: int
    source: Array  # (m,) number of each face in the file; crushed and repeated ones are left out
    file_faces: int
    void: Array  # (m,) bool: faces of a void inside another body
    free_edges: Array  # (k, 2) vertices of edges that have one face only
    warnings: tuple[str, ...]


def prepared(surface: Surface) -> Prepared:
    """Joined, wound one way, outside out, and told which kind of body it is.

    Parameters
    ----------
    surface : Surface
        As the file gives it [m].

    Returns
    -------
    prepared : Prepared
        Sound faces in their order [m].

    Raises
    ------
    UnmeasurableError
        Empty, flat to nothing, not finite, or wound in both ways and too large to mend.
    """
    mesh, source = _joined(surface)
    mesh, warnings = _wound(mesh)
    labels = trimesh.graph.connected_component_labels(mesh.face_adjacency, node_count=len(mesh.faces))
    watertight = bool(mesh.is_watertight)
    ready = Surface(np.asarray(mesh.vertices), np.asarray(mesh.faces))
    volumes = _volumes(ready, labels)
    if watertight and volumes.sum() < 0:
        ready, volumes = _inside_out(mesh), -volumes
    rays = Rays(ready.vertices, ready.faces, ready.normals)
    kind, wall = _kind(ready, rays, volumes, watertight)
    volume = float(volumes.sum()) if watertight else None
    void = (volumes < -1e-4 * volumes.max())[labels] & watertight
    free = _free_edges(mesh)
    if not watertight:
        warnings += (f"the surface is not closed ({len(free)} free edges): no volume, and measured as an open skin",)
    return Prepared(
        ready,
        rays,
        kind,
        wall,
        watertight,
        volume,
        int(labels.max()) + 1,
        source,
        len(surface.faces),
        void,
        free,
        warnings,
    )


def _joined(surface: Surface) -> tuple[trimesh.Trimesh, Array]:
    vertices, faces = np.asarray(surface.vertices, float), np.asarray(surface.faces, int)
    if len(faces) == 0 or len(vertices) < 3:
        raise UnmeasurableError("the model has no faces")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise UnmeasurableError("the model's faces name corners that are not there")
    used = vertices[np.unique(faces)]
    if not np.isfinite(used).all() or not 1e-6 < np.linalg.norm(np.ptp(used, axis=0)) < 1e4:
        raise UnmeasurableError("the model is not of finite size")
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    digits = int(np.ceil(-np.log10(JOIN * np.linalg.norm(np.ptp(used, axis=0)))))
    mesh.merge_vertices(digits_vertex=digits)
    if not mesh.area > 0:
        raise UnmeasurableError("the model has no area")
    sound = mesh.nondegenerate_faces(height=0.0) & mesh.unique_faces()
    mesh.update_faces(sound)
    return mesh, np.flatnonzero(sound)


def _wound(mesh: trimesh.Trimesh) -> tuple[trimesh.Trimesh, tuple[str, ...]]:
    if mesh.is_winding_consistent:
        return mesh, ()
    if len(mesh.faces) > REWIND_LIMIT:
        raise UnmeasurableError("the faces are wound in both directions: inside and outside cannot be told apart")
    trimesh.repair.fix_winding(mesh)
    return mesh, ("the faces were wound in both directions; they were turned alike",)


def _inside_out(mesh: trimesh.Trimesh) -> Surface:
    return Surface(np.asarray(mesh.vertices), np.ascontiguousarray(np.asarray(mesh.faces)[:, ::-1]))


def _free_edges(mesh: trimesh.Trimesh) -> Array:
    edges = mesh.edges_sorted
    single = trimesh.grouping.group_rows(edges, require_count=1)
    return edges[single]


def loops(edges: Array) -> int:
    """How many separate rings or lines these edges (k, 2) make [-]."""
    if len(edges) == 0:
        return 0
    nodes, inverse = np.unique(edges, return_inverse=True)
    ends = inverse.reshape(-1, 2)
    graph = coo_matrix((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(len(nodes), len(nodes)))
    return int(connected_components(graph, directed=False)[0])


def _kind(surface: Surface, rays: Rays, volumes: Array, watertight: bool) -> tuple[str, float | None]:
    if not watertight:
        return "skin", None
    wall = median_wall(surface, rays)
    if (volumes < -1e-4 * volumes.max()).any():
        return "hollow", wall
    spread = np.sqrt(surface.mesh.area / 2)
    step = max(1, len(surface.vertices) // 20_000)
    fill = volumes.sum() / trimesh.convex.convex_hull(surface.vertices[::step]).volume if len(surface.faces) > 4 else 1
    smallest = surface.mesh.bounding_box_oriented.extents.min() if len(surface.faces) < 5000 else 0.0
    is_flat_tray = wall < FLAT_WALL * spread and (not smallest or wall < 0.9 * smallest)
    return ("shell", wall) if fill < HOLLOW_FILL or is_flat_tray else ("lump", None)


def _volumes(surface: Surface, labels: Array) -> Array:
    """Signed volume of each connected body (k,) [m3]; a void inside another body has a negative one."""
    corners = surface.vertices[surface.faces] - surface.vertices.mean(axis=0)
    signed = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    return np.bincount(labels, weights=signed)


def sampled(surface: Surface, count: int = SAMPLES) -> tuple[Array, Array]:
    """Points spread evenly over the area (n, 3) [m] and the face of each (n,); fixed, no chance in it.

    Every ``count``-th of the area gets one point, in the order of the faces; the place inside the face follows the
    golden ratio.
    """
    cumulative = np.cumsum(surface.areas)
    at = (np.arange(count) + 0.5) / count * cumulative[-1]
    face = np.minimum(np.searchsorted(cumulative, at), len(cumulative) - 1)
    u, v = np.modf(np.arange(count) * 0.7548776662466927)[0], np.modf(np.arange(count) * 0.5698402909980532)[0]
    root = np.sqrt(u)
    share = np.stack([1 - root, root * (1 - v), root * v], axis=1)
    return np.einsum("nk,nkd->nd", share, surface.vertices[surface.faces[face]]), face


def median_wall(surface: Surface, rays: Rays) -> float:
    """Half of the area has a wall thinner than this [m]: rays from the surface inwards to the next face."""
    points, face = sampled(surface)
    normals = surface.normals[face]
    distance = rays.hits(points - rays.off * normals, -normals)[1]
    found = distance[np.isfinite(distance)]
    return float(np.median(found)) + rays.off if len(found) else 0.0
