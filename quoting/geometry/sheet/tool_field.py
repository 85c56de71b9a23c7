"""A tool as heights along the draw, sampled by rays on a fine grid: where the sheet touches it.

Exact for tools that the sheet can see all of; what lies under an undercut is taken at its visible height and counted.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import trimesh
from scipy.ndimage import maximum_filter
from scipy.spatial import ConvexHull, cKDTree

from quoting.geometry.surface import Surface

Array = np.ndarray

UPRIGHT = 1e-3  # -, cosine to the draw below which a wall is upright and faces nothing
SETTLING = 2.0  # cells, from which a node on the grid looks for the triangle that it lies on


@dataclass(frozen=True)
class Frame:
    """Where the sheet stands: ``axes`` (3, 3) as rows, the last one from tool to sheet, and the middle [m]."""

    axes: Array
    middle: Array

    def inward(self, points: Array) -> Array:
        """World (n, 3) [m] to frame (n, 3) [m]."""
        return (points - self.middle) @ self.axes.T

    def outward(self, points: Array) -> Array:
        """Frame (n, 3) [m] to world (n, 3) [m]."""
        return points @ self.axes + self.middle


def frame_of(surface: Surface, up: Array) -> Frame:
    """Frame along the narrowest rectangle that holds the tool's outline.

    Parameters
    ----------
    surface : Surface
        [m]
    up : ndarray
        (3,) from the tool to the sheet.

    Returns
    -------
    frame : Frame
        Its middle lies in the middle of the rectangle at the level 0 of the world along ``up``.
    """
    up = np.asarray(up, float) / np.linalg.norm(up)
    first = np.cross(up, np.eye(3)[np.argmin(np.abs(up))])
    first /= np.linalg.norm(first)
    plane = np.array([first, np.cross(up, first)])
    flat = surface.vertices[np.unique(surface.faces)] @ plane.T
    hull = flat[ConvexHull(flat).vertices]
    edges = np.roll(hull, -1, axis=0) - hull
    turns = edges / np.linalg.norm(edges, axis=1, keepdims=True)
    along = hull @ turns.T
    across = hull @ np.array([-turns[:, 1], turns[:, 0]])
    area = np.ptp(along, axis=0) * np.ptp(across, axis=0)
    best = int(np.flatnonzero(area <= area.min() * (1 + 1e-9))[0])
    turn = turns[best]
    middle = turn * _middle(along[:, best]) + np.array([-turn[1], turn[0]]) * _middle(across[:, best])
    x = turn @ plane
    return Frame(np.array([x, np.cross(up, x), up]), middle @ plane)


def _middle(values: Array) -> float:
    return float(values.min() + values.max()) / 2


@dataclass(frozen=True)
class ToolField:
    """Heights [-] of the tool on a grid of points, in lengths of ``unit``, and the level that the sheet starts from.

    ``low`` is the first point of the grid (2,), ``cell`` the distance of points, ``rest`` the level beside the part:
    the rim of a female tool, the foot of a male one.
    """

    heights: Array
    low: Array
    cell: float
    rest: float
    unit: float  # m
    hidden: float  # share of the area facing the sheet that something stands over [-]
    skin: trimesh.Trimesh  # the tool itself, in the same lengths

    def height(self, x: Array, y: Array) -> Array:
        """Height at places, linear between four points of the grid."""
        count_u, count_v = self.heights.shape
        u = np.minimum(np.maximum((x - self.low[0]) / self.cell, 0.0), count_u - 1.0)
        v = np.minimum(np.maximum((y - self.low[1]) / self.cell, 0.0), count_v - 1.0)
        i, j = np.minimum(u.astype(np.int64), count_u - 2), np.minimum(v.astype(np.int64), count_v - 2)
        p, q, flat, at = u - i, v - j, self.heights.ravel(), i * count_v + j
        one, other = flat.take(at), flat.take(at + count_v)
        one += q * (flat.take(at + 1) - one)
        other += q * (flat.take(at + count_v + 1) - other)
        return one + p * (other - one)

    @cached_property
    def highest_near(self) -> "ToolField":
        """The same with the highest of the points around each: a rim counts as rim on both of its sides."""
        return replace(self, heights=maximum_filter(self.heights, 3))

    @cached_property
    def _tree(self) -> cKDTree:
        return cKDTree(_filled(self.heights, self.low, self.cell), balanced_tree=False, compact_nodes=False)

    def nearest(self, points: Array) -> tuple[Array, Array]:
        """Distance (n,) of points (n, 3) from the tool and the places there (n, 3), both good to a cell."""
        distance, which = self._tree.query(points)
        return distance, self._tree.data[which]

    def touches(self, points: Array, within: float) -> Array:
        """True where a point (n, 3) is closer to the tool than ``within``."""
        return self._tree.query(points, distance_upper_bound=within)[0] < within

    def settled(self, points: Array) -> Array:
        """Points (n, 3) near the tool moved onto its triangles, along the slope of the grid; else as they are."""
        normals = self._normals(points)
        starts = points + SETTLING * self.cell * normals
        hits, rays, _ = self.skin.ray.intersects_location(starts, -normals, multiple_hits=False)
        near = np.sum((hits - starts[rays]) ** 2, axis=1) < (2 * SETTLING * self.cell) ** 2
        moved = points.copy()
        moved[rays[near]] = hits[near]
        return moved

    def _normals(self, points: Array) -> Array:
        """Out of the tool, from the slope of the grid over two cells each way."""
        x, y, step = points[:, 0], points[:, 1], 2 * self.cell
        slope_x = (self.height(x + step, y) - self.height(x - step, y)) / (2 * step)
        slope_y = (self.height(x, y + step) - self.height(x, y - step)) / (2 * step)
        normals = np.column_stack([-slope_x, -slope_y, np.ones_like(x)])
        return normals / np.linalg.norm(normals, axis=1, keepdims=True)

    def part(self, x: Array, y: Array) -> Array:
        """True where a place stands over the part, not beside it."""
        return np.abs(self.height(x, y) - self.rest) > 1e-3 * self.depth

    @property
    def depth(self) -> float:
        return float(np.ptp(self.heights))


def field_of(surface: Surface, frame: Frame, half: Array, male: bool, cells: int, unit: float) -> ToolField:
    """Sample a tool.

    Parameters
    ----------
    surface : Surface
        [m]
    frame : Frame
    half : ndarray
        (2,) half of the rectangle to sample [m].
    male : bool
        Beside the part lies a plate at the foot; otherwise a rim at the top.
    cells : int
        Along the longer side.
    unit : float
        Length of 1 in the field [m].

    Returns
    -------
    field : ToolField
    """
    cell = 2 * float(np.max(half)) / cells
    count = np.ceil(2 * half / cell).astype(int) + 2  # points half a cell off the middle lines
    count += count % 2
    low = -(count - 1) * cell / 2
    x, y = (low[i] + cell * np.arange(count[i]) for i in (0, 1))
    heights = _cast(surface, frame, x, y)
    levels = frame.inward(surface.vertices[np.unique(surface.faces)])[:, 2]
    rest = float(levels.min() if male else levels.max())
    heights = np.where(np.isnan(heights), rest, heights)
    skin = trimesh.Trimesh(frame.inward(surface.vertices) / unit, surface.faces, process=False)
    return ToolField(heights / unit, low / unit, cell / unit, rest / unit, unit, _hidden(surface, frame), skin)


def _cast(surface: Surface, frame: Frame, x: Array, y: Array) -> Array:
    """Height of the first hit of a ray from the sheet at each point of a grid [m]; not a number where it misses."""
    grid = np.array(np.meshgrid(x, y, indexing="ij")).reshape(2, -1).T
    inside = frame.inward(surface.vertices)
    above = float(inside[:, 2].max()) + float(np.ptp(inside, axis=0).max())
    starts = frame.outward(np.column_stack([grid, np.full(len(grid), above)]))
    ways = np.broadcast_to(-frame.axes[2], starts.shape)
    hits, rays, _ = surface.mesh.ray.intersects_location(starts, ways, multiple_hits=False)
    heights = np.full(len(grid), np.nan)
    heights[rays] = (hits - frame.middle) @ frame.axes[2]
    return _slits_closed(heights.reshape(len(x), len(y)))


def _slits_closed(heights: Array) -> Array:
    """A ray may slip through between two triangles: where most neighbours hit, their mean."""
    around = np.pad(heights, 1, constant_values=np.nan)
    near = np.array([around[2:, 1:-1], around[:-2, 1:-1], around[1:-1, 2:], around[1:-1, :-2]])
    hits = np.sum(~np.isnan(near), axis=0)
    mean = np.nansum(near, axis=0) / np.maximum(hits, 1)
    return np.where(np.isnan(heights) & (hits >= 3), mean, heights)


def _hidden(surface: Surface, frame: Frame) -> float:
    """Share of the area facing the sheet that something stands over, by rays from the middles of its triangles.

    A skin may be wound either way: all of it counts as facing the sheet. Of a solid the side away from it does not.
    """
    facing = surface.normals @ frame.axes[2]
    counts = facing > UPRIGHT if surface.mesh.is_watertight else np.abs(facing) > UPRIGHT
    if not counts.any():
        return 0.0
    clear = 1e-5 * float(np.ptp(surface.vertices, axis=0).max())
    starts = surface.centres[counts] + clear * frame.axes[2]
    covered = surface.mesh.ray.intersects_any(starts, np.broadcast_to(frame.axes[2], starts.shape))
    areas = surface.areas[counts]
    return float(areas[covered].sum() / areas.sum())


def _filled(heights: Array, low: Array, cell: float) -> Array:
    """Points (n, 3) on the tool no more than about a cell apart, walls filled in between points of the grid."""
    x, y = (low[i] + cell * np.arange(heights.shape[i]) for i in (0, 1))
    grid = np.stack([*np.meshgrid(x, y, indexing="ij"), heights], axis=-1)
    points = [grid.reshape(-1, 3)]
    for start, end in ((grid[:-1], grid[1:]), (grid[:, :-1], grid[:, 1:])):
        drop = np.abs(end[..., 2] - start[..., 2]).ravel()
        steps = np.floor(drop / cell).astype(int)
        index = np.repeat(np.arange(steps.size), steps)
        place = np.arange(index.size) - np.repeat(np.cumsum(steps) - steps, steps)
        share = ((place + 1) / (steps[index] + 1))[:, None]
        points.append((1 - share) * start.reshape(-1, 3)[index] + share * end.reshape(-1, 3)[index])
    return np.concatenate(points)
