"""Which way a part is drawn: a fixed set of directions, each tried with rays, best first."""

from dataclasses import dataclass, replace

import numpy as np
import trimesh
from scipy import ndimage

from quoting.geometry.shape.prepared import Prepared, prepared, sampled
from quoting.geometry.shape.seen import OPEN_FACE, part_axes
from quoting.geometry.shape.shadow import ASIDE, silhouette
from quoting.geometry.surface import Array, Surface

TOGETHER = np.cos(np.radians(10.0))  # normals so close make one cluster
SAME = np.cos(np.radians(0.05))  # directions so close are one
UPRIGHT = np.sin(np.radians(20.0))  # walls lean less than this from a draw
CLUSTERS = 6  # of face normals that are tried
NEAR = np.radians(2.0)  # tilts tried round the best, halved until below a tenth of a degree
DEPTH_WEIGHT = 0.1  # of depth over (depth + root of the plan area) against undercut share; judgement
TELLING = 1e-3  # share of the surface below which no undercut is told [-]
FEW, SUPPORTS = 4000, 80  # corners all taken, else directions in which the farthest is
TOLD = 6  # directions returned
MOUTH_CELLS = 48  # of the plan grid that finds the open side


@dataclass(frozen=True)
class Draw:
    """A way to draw the part. ``score`` [-]: undercut share + 0.1 depth / (depth + sqrt(plan)); smaller is better."""

    direction: tuple[float, float, float]  # out of the cavity, unit vector in the file's frame
    undercut_area: float  # m2, from points spread over the surface: to about 0.1 % of it
    depth: float  # m
    projected_area: float  # m2, true silhouette
    score: float
    reason: str

    def scaled(self, ratio: float) -> "Draw":
        """The same draw of the same part ``ratio`` times as large [-]."""
        return replace(
            self, undercut_area=self.undercut_area * ratio**2, depth=self.depth * ratio,
            projected_area=self.projected_area * ratio**2,
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Part:
    """What every trial needs: points spread over the surface, the normals there, and corners that bound the part."""

    known: Prepared
    area: float
    points: Array
    normals: Array
    bounding: Array


def best_draws(surface: Surface | Prepared) -> tuple[Draw, ...]:
    """Directions to draw a part, best first.

    Tried are the axes of the smallest box and of inertia, the directions that most area faces, and those that most
    walls run along; then tilts round the best. Each comes with the sense in which the part is open.

    Parameters
    ----------
    surface : Surface
        Solid or skin [m].

    Returns
    -------
    draws : tuple of Draw
        One to six; equal for equal files, and turned with the part.

    Raises
    ------
    UnmeasurableError
        See ``prepared``.
    """
    part = _part(surface if isinstance(surface, Prepared) else prepared(surface))
    tried = [draw for axis in candidates(part.known.surface, part.bounding) for draw in _both_senses(part, axis)]
    best = min(tried, key=lambda draw: draw.score)
    if best.undercut_area > TELLING * part.area:
        tried.append(_refined(part, best))
    ranked = sorted(tried, key=lambda draw: round(draw.score, 9))[:TOLD]
    return tuple(_told(part, draw) for draw in ranked)


def draw_along(known: Prepared, axis: Array) -> Draw:
    """The draw along an axis (3,), in the sense in which less is undercut or, for a thin part, in which it is open."""
    part = _part(known)
    return _told(part, min(_both_senses(part, axis), key=lambda draw: draw.score))


def _part(known: Prepared) -> _Part:
    points, face = sampled(known.surface)
    points, face = points[~known.void[face]], face[~known.void[face]]
    area, bounding = float(known.surface.mesh.area), bounding_corners(known.surface.vertices)
    return _Part(known, area, points, known.surface.normals[face], bounding)


def _is_block(part: _Part) -> bool:
    return part.known.kind in ("lump", "hollow")


def _both_senses(part: _Part, axis: Array) -> list[Draw]:
    """Along an axis and, for a block, against it; a thin part tells its sense later, by where it is open."""
    return [_tried(part, axis * sense) for sense in ((1.0, -1.0) if _is_block(part) else (1.0,))]


def _told(part: _Part, draw: Draw) -> Draw:
    return _with_true_plan(part, draw if _is_block(part) else _open_side_up(part, draw))


def _with_true_plan(part: _Part, draw: Draw) -> Draw:
    """The plan area as it is, in place of the one counted on a grid; the rank stays."""
    outline, _ = silhouette(part.known, part_axes(part.bounding, np.array(draw.direction)))
    return replace(draw, projected_area=float(outline.area))


def bounding_corners(vertices: Array) -> Array:
    """Corners (k, 3) [m] that bound a part: all of a small one; of a large one the farthest along fixed directions."""
    if len(vertices) <= FEW:
        return vertices
    turn = np.arange(SUPPORTS) * np.pi * (3 - np.sqrt(5))  # a spiral of even density round the ball
    up = 1 - (2 * np.arange(SUPPORTS) + 1) / SUPPORTS
    round_ = np.sqrt(1 - up**2)
    directions = np.stack([round_ * np.cos(turn), round_ * np.sin(turn), up])
    chosen = [np.argmax(vertices @ directions[:, k : k + 20], axis=0) for k in range(0, SUPPORTS, 20)]
    return vertices[np.unique(np.concatenate([*chosen, np.arange(0, len(vertices), len(vertices) // 1000)]))]


def candidates(surface: Surface, bounding: Array) -> list[Array]:
    """Unit vectors (3,) that are tried, each standing for both senses; no two within 0.05 degrees."""
    found: list[Array] = []
    for axis in [*_facing(surface), *_box_axes(bounding), *_spread(surface)]:
        _add(found, axis)
    for axis in list(found):
        _add(found, _along_walls(surface, axis))
    return found


def _add(found: list[Array], axis: Array | None) -> None:
    if axis is None or not np.isfinite(axis).all() or np.linalg.norm(axis) < 0.5:
        return
    axis = axis / np.linalg.norm(axis)
    if all(abs(axis @ other) < SAME for other in found):
        found.append(axis)


def _box_axes(bounding: Array) -> Array:
    """Axes of the smallest box round the part (3, 3)."""
    try:
        return trimesh.bounds.oriented_bounds(bounding)[0][:3, :3]
    except Exception:  # noqa: BLE001 - the hull library raises its own kinds on flat input
        return np.eye(3)


def _spread(surface: Surface) -> Array:
    """Axes along which the surface spreads most, less and least (3, 3)."""
    corners = surface.vertices[surface.faces]
    weight = surface.areas / surface.areas.sum()
    corners = corners - weight @ corners.mean(axis=1)
    sums = corners.sum(axis=1)  # mean of x x' over a triangle: (sum of corners' x x' + that of their sum) / 12
    second = sum(((c * weight[:, None]).T @ c for c in (*np.moveaxis(corners, 1, 0), sums)), np.zeros((3, 3))) / 12
    return np.linalg.eigh(second)[1].T


def _facing(surface: Surface) -> list[Array]:
    """Directions that most area faces: normals within 10 degrees together, both senses alike, largest first."""
    normals, areas = surface.normals, surface.areas.copy()
    chosen = np.argsort(-areas, kind="stable")[:50_000]
    normals, areas = normals[chosen], areas[chosen]
    found = []
    for _ in range(CLUSTERS):
        if not areas.max() > 0:
            break
        mean = normals[areas.argmax()]
        for _ in range(3):
            close = np.abs(normals @ mean) > TOGETHER
            signed = normals * np.sign(normals @ mean)[:, None]
            mean = (signed[close] * surface.areas[chosen][close, None]).sum(axis=0)
            mean = mean / np.linalg.norm(mean)
        found.append((float(areas[close].sum()), mean))
        areas[close] = 0.0
        areas[np.abs(normals @ mean) > TOGETHER] = 0.0
    return [mean for _, mean in sorted(found, key=lambda pair: -pair[0])]


def _along_walls(surface: Surface, axis: Array) -> Array | None:
    """The direction nearest to all walls that stand within 20 degrees of upright."""
    walls = np.abs(surface.normals @ axis) < UPRIGHT
    if not walls.any():
        return None
    normals, weight = surface.normals[walls], surface.areas[walls]
    values, vectors = np.linalg.eigh((normals * weight[:, None]).T @ normals)
    return vectors[:, 0] if values[1] > 0.05 * values.sum() else None


def _tried(part: _Part, direction: Array) -> Draw:
    depth, plan = _depth(part, direction), _plan_area(part, direction)
    trapped = _trapped_share(part, direction) * part.area
    score = trapped / part.area + DEPTH_WEIGHT * depth / (depth + np.sqrt(plan))
    return Draw(
        tuple(map(float, direction)), trapped, depth, plan, float(score), _reason(trapped / part.area, depth, plan)
    )


def _reason(share: float, depth: float, plan: float) -> str:
    flatness = f"depth {depth / max(np.sqrt(plan), 1e-12):.2f} of the root of the plan area"
    if share < TELLING:
        return f"no undercut found; {flatness}"
    return f"{share:.1%} of the surface is undercut; {flatness}"


def _depth(part: _Part, direction: Array) -> float:
    return float(np.ptp(part.known.surface.vertices @ direction))


def _trapped_share(part: _Part, direction: Array) -> float:
    """Share of the surface [-] that a tool from below the draw misses; for a thin wall, tools from either side."""
    off, normals = part.known.rays.off, part.normals
    facing = normals @ direction
    if part.known.kind == "skin":
        normals = normals * (-1.0 if facing.sum() > 0 else 1.0)
        return float(np.mean(~_free(part, normals * off, -direction)))
    down = _free(part, normals * off, -direction)
    if part.known.kind == "lump":
        high = part.points @ direction
        top = (part.known.surface.vertices @ direction).max() - 1e-4 * part.known.rays.size
        return float(np.mean(~down & ~((facing > OPEN_FACE) & (high > top))))
    return float(np.mean(~down & ~_free(part, normals * off, direction)))


def _free(part: _Part, offset: Array, direction: Array) -> Array:
    return part.known.rays.first(part.points + offset, direction) < 0


def _looked_at(part: _Part, direction: Array) -> tuple[Array, Array, float]:
    """Height at which the part is first met, coming against a direction [m], on a plan grid; nan where it is not.

    Also the highest of the points spread over the surface in each cell [m], and the area of a cell [m2].
    """
    rays = part.known.rays
    axes = part_axes(part.bounding, direction)
    local = part.bounding @ axes.T
    low, high = local.min(axis=0), local.max(axis=0)
    cell = np.maximum((high - low)[:2] / MOUTH_CELLS, 1e-9)
    x, y = (low[i] + cell[i] * (np.arange(MOUTH_CELLS) + 0.5 + ASIDE[i]) for i in (0, 1))
    start = high[2] + 0.01 * rays.size
    grid = np.stack([g.ravel() for g in np.meshgrid(x, y, indexing="ij")], axis=1)
    origins = np.column_stack([grid, np.full(len(grid), start)]) @ axes
    met = start - rays.hits(origins, -axes[2])[1]
    points = part.points @ axes.T
    at = np.clip(((points[:, :2] - low[:2]) / cell).astype(int), 0, MOUTH_CELLS - 1)
    highest = np.full((MOUTH_CELLS, MOUTH_CELLS), -np.inf)
    np.maximum.at(highest, (at[:, 0], at[:, 1]), points[:, 2])
    return np.where(np.isfinite(met), met, np.nan).reshape(highest.shape), highest, float(cell.prod())


def _plan_area(part: _Part, direction: Array) -> float:
    met, _, cell = _looked_at(part, direction)
    return float(np.isfinite(met).sum() * cell)


def mouth_depth(part: _Part, direction: Array) -> float:
    """How far the plan's inside lies below its edge on average, looked at against a direction [m]; 0 if above.

    A rim is thinner than a cell, so the edge takes the highest point of the surface in each of its cells.
    """
    met, highest, _ = _looked_at(part, direction)
    inside = np.isfinite(met)
    core = ndimage.binary_erosion(inside, np.ones((3, 3)))
    edge = np.fmax(met, highest)[~core]
    edge = edge[np.isfinite(edge)]
    if not core.any() or len(edge) == 0:
        return 0.0
    return max(0.0, float(np.median(edge) - met[core].mean()))


def _open_side_up(part: _Part, draw: Draw) -> Draw:
    """Of both senses of a thin part the one in which it is open; a block's undercut tells that already."""
    direction = np.array(draw.direction)
    if mouth_depth(part, direction) >= mouth_depth(part, -direction):
        return draw
    return replace(draw, direction=tuple(map(float, -direction)))


def _refined(part: _Part, best: Draw) -> Draw:
    """Tilts round a draw while that helps."""
    step = NEAR
    while step > np.radians(0.1):
        axes = part_axes(part.bounding, np.array(best.direction))
        tilts = [axes[2] + np.tan(step) * tilt for tilt in (axes[0], -axes[0], axes[1], -axes[1])]
        found = min((_tried(part, tilt / np.linalg.norm(tilt)) for tilt in tilts), key=lambda draw: draw.score)
        if found.score < best.score - 1e-6:
            best = found
        else:
            step /= 2
    return best
