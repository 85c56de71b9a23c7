"""What makes a part hard to form or to strip: little draft, undercuts, deep narrow pockets, sharp inside corners."""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from quoting.geometry.shape.measures import drafts
from quoting.geometry.shape.pockets import Pocket, pockets
from quoting.geometry.shape.prepared import prepared
from quoting.geometry.shape.radius import tool_edges
from quoting.geometry.shape.seen import Views, corner_numbers, viewed
from quoting.geometry.shape.shadow import height_field
from quoting.geometry.surface import Array, Surface

WALL = 45.0  # degrees of draft; a face nearer to flat than this is no side wall. Judgement
LIMITS = (1.0, 3.0, 5.0)  # degrees
ROUNDING = 0.01  # degrees; a wall drawn at a limit is not below it
SHARP = 35.0  # degrees between two faces with no facet of a fillet between them; judgement
STRAY = 0.05  # of the wall area, the steepest, that is left out of the draft of the walls [-]; judgement
LEAST_SHARE = 1e-5  # undercuts below this share of the skin are facets of round walls [-]; judgement
CELLS = 200  # of the plan grid along the longer side
LEVELS = 24  # heights at which the way out of an undercut is measured


@dataclass(frozen=True, eq=False)
class Marked:
    """A set of faces that share a trouble. Lengths [m]; ``where`` in the file's frame."""

    faces: Array  # (k,) faces of the file that have part in it
    triangles: Array  # (n, 3, 3) the exact pieces, file's frame
    area: float  # m2
    worst: float  # see the list that it is in
    where: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Moldability:
    """Troubles of a part on one tool along one draw."""

    tool: str
    draft: Array  # (m,) degrees per face of the file, signed; nan off this tool's skin
    wall_area: float  # m2 of side walls
    least_draft: float | None  # degrees, of the side walls; None without walls
    draft_of_walls: float | None  # degrees that all but 5 % of the wall area a tool reaches has; None without walls
    below: tuple[tuple[float, float], ...]  # (limit [degrees], share of wall area below it [-])
    low_draft: tuple[Marked, ...]  # walls below 3 degrees; worst: least draft [degrees]
    undercuts: tuple[Marked, ...]  # largest first; worst: how far the tool must move aside [m]
    undercut_area: float  # m2, all faces that cannot be reached
    undercut_shadow: float  # m2, the same seen along the draw, where it leans under
    pocket: Pocket | None  # the worst place, whether or not too deep
    pockets: tuple[Pocket, ...]  # every separate place deeper than 0.75 of its width
    corners: tuple[Marked, ...]  # sharp inside corners of the tool; worst: angle between the faces [degrees]
    corner_length: float  # m
    corner_edges: Array  # (k, 2, 3) ends of the sharp corners' edges, file's frame


def moldability(surface: Surface, direction: Array, tool: str, views: Views | None = None) -> Moldability:
    """Look for what makes a part hard to form or to strip.

    Parameters
    ----------
    surface : Surface
        Solid or skin [m].
    direction : array
        Out of the cavity (3,) [-].
    tool : str
        female or male.
    views : Views, optional
        Of the same surface along the same draw.

    Returns
    -------
    moldability : Moldability
        Undercuts below the size over 64 (the pieces that faces are cut into) are not resolved; their depth is known
        to one cell of the plan, size over 200.

    Raises
    ------
    UnmeasurableError
        See ``prepared``.
    """
    views = views or viewed(prepared(surface), direction)
    skin, normals, reached = views.skin(tool)
    draft = drafts(views, tool)
    walls = skin & (np.abs(draft) < WALL - ROUNDING)
    undercuts, trapped = _undercuts(views, tool, skin & ~reached)
    worst, deep = pockets(views, tool)
    corners, edges = _corners(views, tool)
    low = walls & (draft < LIMITS[1] - ROUNDING)
    lean = np.abs(normals[trapped, 2] * views.areas[trapped])[draft[trapped] < 0]
    return Moldability(
        tool, _per_face(views, draft, skin), float(views.areas[walls].sum()),
        float(draft[walls].min()) + 0.0 if walls.any() else None, _draft_of_walls(views, draft, walls & reached),
        _shares(views, draft, walls),
        tuple(_marked(views, group, float(draft[group].min()), group[draft[group].argmin()])
              for group in _groups(views, low)),
        undercuts, float(views.areas[trapped].sum()), float(lean.sum()), worst, deep, corners,
        float(np.linalg.norm(np.diff(edges, axis=1), axis=2).sum()), edges,
    )  # fmt: skip


def _per_face(views: Views, draft: Array, skin: Array) -> Array:
    found = np.full(views.prepared.file_faces, np.nan)
    found[views.prepared.source[views.parent[skin]]] = draft[skin]
    return found


def _draft_of_walls(views: Views, draft: Array, walls: Array) -> float | None:
    """The one figure for the draft of a part [degrees]: 5 % of the wall area is steeper, at least 0.

    Not the least of all faces: the cut edge of a flange, one small boss or one facet at the foot of a round edge would
    speak for the whole part. Not the mean: straight walls would hide behind sloped ones. Walls that lean under count as
    undercuts, whose depth is judged, and are left out.
    """
    if not walls.any():
        return None
    order = np.argsort(draft[walls], kind="stable")
    area = np.cumsum(views.areas[walls][order])
    at = int(np.searchsorted(area, STRAY * area[-1]))
    return max(0.0, float(draft[walls][order][min(at, len(order) - 1)]))


def _shares(views: Views, draft: Array, walls: Array) -> tuple[tuple[float, float], ...]:
    total = views.areas[walls].sum()
    return tuple(
        (limit, float(views.areas[walls & (draft < limit - ROUNDING)].sum() / total) if total > 0 else 0.0)
        for limit in LIMITS
    )


def _marked(views: Views, group: Array, worst: float, at: int) -> Marked:
    return Marked(
        views.prepared.source[np.unique(views.parent[group])],
        views.in_file(views.triangles[group]),
        float(views.areas[group].sum()),
        worst,
        tuple(float(x) for x in views.in_file(views.centres[at])),
    )


def _groups(views: Views, chosen: Array) -> list[Array]:
    """Pieces (bool) that share corners, as index arrays; largest area first, crumbs left out."""
    pieces = np.flatnonzero(chosen)
    if len(pieces) == 0:
        return []
    corner = corner_numbers(views.triangles[pieces])
    size = len(pieces) + corner.max() + 1
    ends = (np.repeat(np.arange(len(pieces)), 3), len(pieces) + corner.ravel())
    graph = coo_matrix((np.ones(corner.size, np.int8), ends), shape=(size, size))
    label = connected_components(graph, directed=False)[1][: len(pieces)]
    _, label = np.unique(label, return_inverse=True)
    area = np.bincount(label, weights=views.areas[pieces])
    in_order = np.argsort(label, kind="stable")
    groups = np.split(pieces[in_order], np.cumsum(np.bincount(label))[:-1])
    large = [k for k in np.argsort(-area, kind="stable") if area[k] > LEAST_SHARE * views.areas.sum()]
    return [groups[k] for k in large]


def _undercuts(views: Views, tool: str, trapped: Array) -> tuple[tuple[Marked, ...], Array]:
    groups = _groups(views, trapped)
    if not groups:
        return (), np.zeros(0, int)
    pieces = np.concatenate(groups)
    depth = np.zeros(len(views.areas))
    depth[pieces] = _way_out(views, tool, pieces)
    marks = [_marked(views, group, float(depth[group].max()), group[depth[group].argmax()]) for group in groups]
    return tuple(marks), pieces


def _way_out(views: Views, tool: str, pieces: Array) -> Array:
    """How far a tool at each trapped piece must move aside until nothing of the part lies in its way [m].

    At each of some heights the plan has cells with a free way to the tool's side; the way out is the distance to the
    nearest, less half a cell.
    """
    height, pitch, origin = height_field(views, tool, CELLS)
    place = views.centres[pieces]
    level = place[:, 2] * (1.0 if tool == "female" else -1.0)
    steps = np.linspace(level.min(), level.max(), LEVELS)
    nearest = np.abs(level[:, None] - steps).argmin(axis=1)
    cell = np.clip(np.round((place[:, :2] - origin) / pitch).astype(int), 0, np.array(height.shape) - 1)
    found = np.zeros(len(pieces))
    for number in np.unique(nearest):
        chosen = nearest == number
        free = height >= steps[number] - 1e-4 * views.size
        away = ndimage.distance_transform_edt(~free) * pitch
        found[chosen] = away[cell[chosen, 0], cell[chosen, 1]]
    return np.maximum(0.0, found - pitch / 2)


def _corners(views: Views, tool: str) -> tuple[tuple[Marked, ...], Array]:
    """Edges that bulge towards the tool by more than the limit, in rows that share corners, longest first.

    With the ends of all of them (k, 2, 3).
    """
    mesh = views.prepared.surface.mesh
    chosen, bulges = tool_edges(views, tool)
    angle = np.degrees(mesh.face_adjacency_angles)
    sharp = np.flatnonzero(chosen & bulges & (angle > SHARP))
    if len(sharp) == 0:
        return (), np.zeros((0, 2, 3))
    edges = mesh.face_adjacency_edges[sharp]
    nodes, ends = np.unique(edges, return_inverse=True)
    ends = ends.reshape(-1, 2)
    graph = coo_matrix((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(len(nodes), len(nodes)))
    label = connected_components(graph, directed=False)[1][ends[:, 0]]
    length = np.linalg.norm(np.diff(mesh.vertices[edges], axis=1)[:, 0], axis=1)
    rows = [sharp[label == k] for k in np.argsort(-np.bincount(label, weights=length), kind="stable")[:50]]
    return tuple(_corner(views, row, angle) for row in rows), mesh.vertices[edges]


def _corner(views: Views, row: Array, angle: Array) -> Marked:
    mesh = views.prepared.surface.mesh
    faces = np.unique(mesh.face_adjacency[row])
    worst = row[angle[row].argmax()]
    middle = mesh.vertices[mesh.face_adjacency_edges[worst]].mean(axis=0)
    return Marked(
        views.prepared.source[faces],
        mesh.triangles[faces],
        float(mesh.area_faces[faces].sum()),
        float(angle[worst]),
        tuple(float(x) for x in middle),
    )
