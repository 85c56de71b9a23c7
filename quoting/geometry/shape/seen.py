"""What a tool can see of the part along the draw, and which skin of the part belongs to which tool.

In the part's own frame z is the draw (out of the cavity), x and y lie along the smallest rectangle round the plan.
A female tool looks from below, a male tool from above. A filled block counts as the skin of its formed faces: the flat
face where it is open belongs to nobody. In a thin-walled solid the skins are parted by the
cut edge: both sides of a wall are told apart by which certain skin is nearer to each along the surface.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
import trimesh
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import ConvexHull

from quoting.geometry.shape.prepared import Prepared
from quoting.geometry.shape.rays import Rays
from quoting.geometry.surface import Array

FINEST = 64  # edges are cut to the diagonal over this [-]: so small an undercut is seen
MOST_PIECES = 250_000  # more than the faces there are
OPEN_FACE = 0.999  # cosine to the draw of the face where a block is open [-]
MIXERS = (0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB)  # odd numbers of a common bit mixer
ACROSS = -0.5  # cosine between the normals of both sides of a wall, at most [-]; keeps out a sharp outer edge
OVER_EDGE = 100.0  # how much longer a way over the cut edge counts [-]; judgement
THROUGH = 2.5  # a ray through more than so many walls runs along the cut edge [-]


@dataclass(frozen=True, eq=False)
class Views:
    """Pieces of faces in the part's frame; ``female`` and ``male`` mark the pieces of each tool's skin."""

    prepared: Prepared
    axes: Array  # rows: length, width, draw in file coordinates
    rays: Rays  # formed faces only, in the file's frame
    formed: Array  # (k,) faces that the rays may meet
    mesh: trimesh.Trimesh  # in the part's frame, faces as in the file
    triangles: Array  # (n, 3, 3) m
    parent: Array  # (n,) face of the file
    normals: Array  # (n, 3) of the body; for a skin: towards the female tool
    areas: Array  # (n,) m2
    flipped: bool  # the skin was wound the other way in the file
    below: Array  # (n,) bool: a female tool reaches it
    above: Array  # (n,) bool: a male tool reaches it
    female: Array  # (n,) bool
    male: Array  # (n,) bool

    @cached_property
    def centres(self) -> Array:
        """Middle of each piece (n, 3) [m], part's frame."""
        return self.triangles.mean(axis=1)

    @property
    def is_skin(self) -> bool:
        """Both tools touch the same faces, from either side."""
        return self.prepared.kind in ("skin", "lump")

    def skin(self, tool: str) -> tuple[Array, Array, Array]:
        """Pieces of the skin of a tool (n,) bool, their normals towards it (n, 3), and which are reached (n,)."""
        if tool == "female":
            return self.female, self.normals, self.below
        return self.male, -self.normals if self.is_skin else self.normals, self.above

    @cached_property
    def size(self) -> float:
        """Diagonal of the box round the part [m]."""
        return self.rays.size

    def first(self, origins: Array, directions: Array) -> Array:
        """The face of the file that each ray of the part's frame meets first (n,); -1 for none. See ``Rays``."""
        found = self.rays.first(origins @ self.axes, directions @ self.axes)
        return np.where(found >= 0, self.formed[found], -1)

    def in_file(self, points: Array) -> Array:
        """Points of the part's frame in the file's [m]."""
        return points @ self.axes


def viewed(prepared: Prepared, direction: Array) -> Views:
    """Look at the part along a draw from both sides.

    Parameters
    ----------
    prepared : Prepared
        The body [m].
    direction : array
        Out of the cavity (3,) [-].

    Returns
    -------
    views : Views
        [m]
    """
    axes = part_axes(prepared.surface.vertices, direction)
    mesh = trimesh.Trimesh(prepared.surface.vertices @ axes.T, prepared.surface.faces, process=False)
    flipped = prepared.kind == "skin" and bool((mesh.face_normals[:, 2] * mesh.area_faces).sum() > 0)
    if flipped:
        mesh = trimesh.Trimesh(mesh.vertices, mesh.faces[:, ::-1], process=False)
    formed = np.flatnonzero(_formed_faces(mesh, prepared.kind))
    rays = prepared.rays
    if len(formed) < len(mesh.faces):
        whole = prepared.surface
        rays = Rays(whole.vertices, whole.faces[formed], whole.normals[formed])
    triangles, parent = bisected(mesh.triangles[formed], formed, rays.size / FINEST)
    normals = mesh.face_normals[parent]
    areas = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1) / 2
    outward = -1.0 if prepared.kind in ("skin", "lump") else 1.0
    centres, off, draw = triangles.mean(axis=1), rays.off * normals, axes[2]
    below = rays.first((centres + off) @ axes, -draw) < 0
    above = rays.first((centres + outward * off) @ axes, draw) < 0
    found = Views(
        prepared, axes, rays, formed, mesh, triangles, parent, normals, areas, flipped, below, above, below, above
    )
    female, male = _skins(found)
    return replace(found, female=female, male=male)


def part_axes(vertices: Array, direction: Array) -> Array:
    """Length, width and draw as rows (3, 3) [-]: the smallest rectangle round the plan, longer side first."""
    draw = np.asarray(direction, float) / np.linalg.norm(direction)
    helper = np.eye(3)[np.argmin(np.abs(draw))]
    first = np.cross(draw, helper)
    first /= np.linalg.norm(first)
    second = np.cross(draw, first)
    corners = plan_rectangle(vertices @ np.stack([first, second], axis=1))
    sides = np.diff(corners[:3], axis=0)
    longest = sides[np.argmax(np.linalg.norm(sides, axis=1))]
    longest = longest / max(np.linalg.norm(longest), 1e-300)
    length = longest[0] * first + longest[1] * second
    return np.stack([length, np.cross(draw, length), draw])


def plan_rectangle(points: Array) -> Array:
    """Corners (5, 2) of the rectangle of least area round plan points (n, 2)."""
    if np.linalg.matrix_rank(points[: 1 + len(points) // 2] - points[0], tol=1e-9) == 2 and len(points) > 8:
        points = points[ConvexHull(points).vertices]
    rectangle = shapely.minimum_rotated_rectangle(shapely.MultiPoint(points))
    if rectangle.geom_type != "Polygon":
        left, low, right, high = rectangle.bounds
        return np.array([[left, low], [right, low], [right, high], [left, high], [left, low]])
    return np.asarray(rectangle.exterior.coords)


def _formed_faces(mesh: trimesh.Trimesh, kind: str) -> Array:
    """All but the flat top of a block."""
    if kind != "lump":
        return np.ones(len(mesh.faces), bool)
    top = mesh.bounds[1, 2] - 1e-4 * mesh.scale
    kept = ~((mesh.face_normals[:, 2] > OPEN_FACE) & (mesh.triangles[:, :, 2].min(axis=1) > top))
    return kept if kept.any() else np.ones(len(mesh.faces), bool)


def bisected(triangles: Array, parent: Array, longest: float) -> tuple[Array, Array]:
    """Triangles (n, 3, 3) cut in two at their longest edge until none is longer than this, and whose piece each is.

    The library's own cut is in four, which makes (length/limit)^2 pieces of a sliver; this makes length/limit.
    """
    done: list[tuple[Array, Array]] = []
    room = MOST_PIECES
    for _ in range(60):
        edges = np.linalg.norm(np.roll(triangles, -1, axis=1) - triangles, axis=2)
        long = edges.max(axis=1) > longest
        done.append((triangles[~long], parent[~long]))
        triangles, parent, edges = triangles[long], parent[long], edges[long]
        room -= len(triangles)
        if len(triangles) == 0 or room < 0:
            break
        order = (edges.argmax(axis=1)[:, None] + np.arange(3)) % 3
        start, end, tip = np.moveaxis(np.take_along_axis(triangles, order[:, :, None], axis=1), 1, 0)
        middle = (start + end) / 2
        triangles = np.concatenate([np.stack([start, middle, tip], 1), np.stack([middle, end, tip], 1)])
        parent = np.concatenate([parent, parent])
    done.append((triangles, parent))
    return np.concatenate([t for t, _ in done]), np.concatenate([p for _, p in done])


def _skins(views: Views) -> tuple[Array, Array]:
    """Pieces that a female and a male tool should touch, reached or not."""
    everything = np.ones(len(views.areas), bool)
    if views.is_skin:
        return everything, everything
    if views.prepared.kind == "hollow":
        outer = views.below | views.above
        outside = ~views.prepared.void[views.parent]
        return outside & (views.below | ~outer), outside & views.above
    return _two_skins(views)


def _two_skins(views: Views) -> tuple[Array, Array]:
    wall = views.prepared.wall or 0.0
    inward = views.centres - views.rays.off * views.normals
    behind, through = views.rays.hits(inward @ views.axes, -views.normals @ views.axes)
    is_wall = through < THROUGH * wall
    female = views.below & ~views.above
    is_female = np.zeros(len(views.mesh.faces), bool)
    is_female[views.parent[female]] = True
    turned = np.einsum("ij,ij->i", views.normals, views.mesh.face_normals[behind]) < ACROSS
    male = views.above & ~views.below & is_wall & is_female[behind] & turned  # right through the wall from the other
    doubt = ~(female | male)
    if doubt.any() and female.any() and male.any():
        lean = _leaning(views, doubt, female, male, is_wall)
        other = _per_face(views, lean)[behind]
        female, male = female | doubt & is_wall & (lean < other), male | doubt & is_wall & (lean >= other)
    female, male = _along_sharp_edges(views, female, male)
    return female | views.below & ~male, male | views.above & ~female & ~views.below


def _leaning(views: Views, doubt: Array, female: Array, male: Array, is_wall: Array) -> Array:
    """How much nearer to the male than to the female skin [m], negative for nearer to the female (n,).

    Over a cut edge every step counts a hundredfold.
    """
    weight = np.where(is_wall | ~doubt, 1.0, OVER_EDGE)
    to_female, to_male = _ways(views.triangles, weight, doubt, female, male)
    far = OVER_EDGE * views.size
    lean = np.minimum(to_female, far) - np.minimum(to_male, far)
    return np.where(female, -far, np.where(male, far, lean))


def _per_face(views: Views, values: Array) -> Array:
    """Mean of the pieces of each face by area (m,)."""
    count = len(views.mesh.faces)
    total = np.bincount(views.parent, weights=views.areas, minlength=count)
    summed = np.bincount(views.parent, weights=views.areas * values, minlength=count)
    return summed / np.maximum(total, 1e-300)


def _along_sharp_edges(views: Views, female: Array, male: Array) -> tuple[Array, Array]:
    """A strip along a sharp outer edge looks like a cut edge: give it to the skin of the rest of its face."""
    lead = _per_face(views, female.astype(float) - male)[views.parent]
    loose = ~(female | male)
    return female | loose & (lead > 0), male | loose & (lead < 0)


def _ways(triangles: Array, weight: Array, doubt: Array, first: Array, second: Array) -> tuple[Array, Array]:
    """How far pieces in doubt are from either set along the surface, by the corners that they share (n,) [m].

    Only pieces in doubt and the certain ones beside them take part: the shortest way ends at the first certain piece.
    """
    corner = corner_numbers(triangles)
    beside = np.zeros(corner.max() + 1, bool)
    beside[corner[doubt]] = True
    taken = np.flatnonzero(doubt | (first | second) & beside[corner].any(axis=1))
    corner, triangles = corner[taken], triangles[taken]
    length = weight[taken, None] * np.linalg.norm(triangles - triangles.mean(axis=1)[:, None], axis=2)
    size = len(taken) + len(beside)
    ends = (np.repeat(np.arange(len(taken)), 3), len(taken) + corner.ravel())
    graph = coo_matrix((length.ravel() + 1e-12, ends), shape=(size, size)).tocsr()
    ways = np.full((2, len(doubt)), np.inf)
    for way, chosen in zip(ways, (first, second), strict=True):
        way[taken] = _away(graph, np.flatnonzero(chosen[taken]))[: len(taken)]
    return ways[0], ways[1]


def _away(graph: coo_matrix, sources: Array) -> Array:
    if len(sources) == 0:
        return np.full(graph.shape[0], np.inf)
    return dijkstra(graph, directed=False, indices=sources, min_only=True)


def corner_numbers(triangles: Array) -> Array:
    """Numbers (n, 3) of the corners; equal places have equal numbers. Halves of an edge come out equal to the bit.

    Places are told apart by 64 bits mixed from their coordinates: sorting those is ten times faster than sorting rows.
    """
    bits = (np.ascontiguousarray(triangles, float) + 0.0).view(np.uint64).reshape(-1, 3)
    mixed = np.zeros(len(bits), np.uint64)
    for column, odd in zip(bits.T, MIXERS, strict=True):
        mixed = (mixed ^ column) * np.uint64(odd)
        mixed ^= mixed >> np.uint64(29)
    _, numbers = np.unique(mixed, return_inverse=True)
    return numbers.reshape(-1, 3)
