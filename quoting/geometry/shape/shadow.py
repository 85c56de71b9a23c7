"""The shadow of a part along the draw, and its heights on a plan grid; both in the part's own frame."""

import numpy as np
import shapely

from quoting.geometry.shape.prepared import Prepared
from quoting.geometry.shape.seen import Views
from quoting.geometry.surface import Array

LEVEL = 1e-6  # cosine to the draw below which a face stands upright [-]
SNAP = 1e-6  # plan points closer than this share of the size are one [-]; single precision of a file
ASIDE = np.array([0.0171, 0.0293])  # of a cell: no ray runs along a wall or a diagonal of a symmetric part
MOST_EDGES = 6_000  # that part the plan into cells; beyond, a grid
ROUGH_CELLS = 500  # of that grid along the longer side
SLIVER = 1e-6  # openings below this share of the plan are gaps of the drawing [-]


def silhouette(known: Prepared, axes: Array) -> tuple[shapely.Geometry, bool]:
    """The true shadow along the draw, openings left out [m].

    Edges where the surface turns from up to down, and free edges, part the plan into cells; a ray along the draw
    through each cell tells whether the part is there. (The library's own projection needs a spatial index.)

    Parameters
    ----------
    known : Prepared
        The body [m].
    axes : array
        Length, width and draw as rows (3, 3) [-].

    Returns
    -------
    outline, is_rough : Polygon or MultiPolygon, bool
        Along length and width [m]. Rough: so many edges turn (a scan, say) that it was told on a grid, size over 500.
    """
    mesh, snap = known.surface.mesh, SNAP * known.rays.size
    rise = mesh.face_normals @ axes[2]
    pair = np.sign(np.where(np.abs(rise) < LEVEL, 0.0, rise))[mesh.face_adjacency]
    turning = mesh.face_adjacency_edges[pair[:, 0] != pair[:, 1]]
    edges = np.concatenate([turning, known.free_edges]) if len(known.free_edges) else turning
    if len(edges) > MOST_EDGES:
        return _on_grid(known, axes), True
    plan = np.round(mesh.vertices[edges] @ axes[:2].T / snap) * snap
    plan = np.unique(np.where(_swapped(plan), plan[:, ::-1], plan), axis=0)
    lines = shapely.linestrings(plan[(plan[:, 0] != plan[:, 1]).any(axis=1)])
    cells = shapely.get_parts(shapely.polygonize([shapely.union_all(lines, grid_size=snap)]))
    if len(cells) == 0:
        return shapely.Polygon(), False
    return shapely.union_all(cells[_covered(known, axes, shapely.point_on_surface(cells))], grid_size=snap), False


def _on_grid(known: Prepared, axes: Array) -> shapely.Geometry:
    """The shadow from a ray through every cell of a grid, its steps drawn straight."""
    plan = known.surface.vertices @ axes[:2].T
    low, high = plan.min(axis=0), plan.max(axis=0)
    pitch = float((high - low).max()) / ROUGH_CELLS
    counts = np.ceil((high - low) / pitch).astype(int) + 2
    x, y = (low[i] + pitch * (np.arange(counts[i]) - 0.5 + ASIDE[i]) for i in (0, 1))
    points = shapely.points(np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2))
    steps = np.diff(np.pad(_covered(known, axes, points).reshape(counts).astype(int), ((0, 0), (1, 1))), axis=1)
    row, start = np.nonzero(steps == 1)
    _, end = np.nonzero(steps == -1)
    left, bottom = x[row] - pitch / 2, y[0] - pitch / 2
    boxes = shapely.box(left, bottom + start * pitch, left + pitch, bottom + end * pitch)
    return shapely.union_all(boxes, grid_size=pitch / 1000).simplify(pitch)


def _swapped(plan: Array) -> Array:
    """Lines to be turned so that equal ones read alike (n, 1, 1) bool."""
    step = plan[:, 1] - plan[:, 0]
    return ((step[:, 0] < 0) | ((step[:, 0] == 0) & (step[:, 1] < 0)))[:, None, None]


def _covered(known: Prepared, axes: Array, points: Array) -> Array:
    low = (known.surface.vertices @ axes[2]).min() - 0.01 * known.rays.size
    origins = np.stack([shapely.get_x(points), shapely.get_y(points), np.full(len(points), low)], axis=1)
    return known.rays.first(origins @ axes, axes[2]) >= 0


def parts(outline: shapely.Geometry) -> list[shapely.Polygon]:
    """The polygons of a silhouette."""
    return [part for part in getattr(outline, "geoms", [outline]) if part.geom_type == "Polygon" and part.area > 0]


def openings(outline: shapely.Geometry) -> tuple[float, ...]:
    """Length round each opening [m], longest first."""
    rings = [ring for part in parts(outline) for ring in part.interiors]
    real = [ring.length for ring in rings if shapely.Polygon(ring).area > SLIVER * outline.area]
    return tuple(sorted(map(float, real), reverse=True))


def height_field(views: Views, tool: str, cells: int) -> tuple[Array, float, Array]:
    """How high above the tool's side the part is first met, on a plan grid.

    Parameters
    ----------
    views : Views
        Of the part [m].
    tool : str
        female (looked at from below) or male (from above, heights counted downwards).
    cells : int
        Along the longer side [-].

    Returns
    -------
    height, pitch, origin : array, float, array
        (nx, ny) [m], infinite where nothing is met; cell size [m]; middle of cell 0, 0 (2,) [m].
    """
    sign = 1.0 if tool == "female" else -1.0
    low, high = views.mesh.bounds[:, :2]
    pitch = float((high - low).max() / cells)
    counts = np.maximum(1, np.ceil((high - low) / pitch - 1e-6)).astype(int) + 2
    origin = (low + high) / 2 - ((counts - 1) / 2 + ASIDE) * pitch
    x, y = (origin[i] + pitch * np.arange(counts[i]) for i in (0, 1))
    start = views.mesh.bounds[0 if sign > 0 else 1, 2] - sign * 0.01 * views.size
    mesh = views.mesh
    origins = np.stack([*(g.ravel() for g in np.meshgrid(x, y, indexing="ij")), np.full(counts.prod(), start)], axis=1)
    face = views.first(origins, np.array([0, 0, sign]))
    height = np.full(len(face), np.inf)
    hit = face >= 0
    normal, corner = mesh.face_normals[face[hit]], mesh.vertices[mesh.faces[face[hit], 0]]
    slope = np.einsum("ij,ij->i", normal[:, :2], corner[:, :2] - origins[hit, :2])
    up = np.where(np.abs(normal[:, 2]) < 1e-9, np.inf, normal[:, 2])
    height[hit] = sign * np.clip(corner[:, 2] + slope / up, *views.mesh.bounds[:, 2])
    return height.reshape(counts), pitch, origin
