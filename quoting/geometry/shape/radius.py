"""The smallest radius on a tool, from the facets of its curved faces."""

import numpy as np
import trimesh

from quoting.geometry.shape.seen import Views
from quoting.geometry.surface import Array

CURVED = (0.5, 35.0)  # degrees between neighbouring facets of a fillet; beyond: a sharp corner. Judgement
STRIP = 0.15  # a facet wider than this share of the size belongs to no fillet [-]; judgement
SHARE = 0.05  # the radius that this share of the curved edges' length lies below [-]; keeps out stray edges
LARGEST = 64  # triangles in one flat facet of a fillet; more make a flat face
MOST = 20_000  # edges looked at, evenly taken from all


def smallest_radius(views: Views, tool: str) -> float | None:
    """Smallest radius of the tool's inside corners [m], from facets: ``r = (w1 + w2) / (4 sin(angle / 2))``.

    An inside corner of the tool is where the part's skin bulges towards the tool. Facets of a fillet meet at 0.5 to 35
    degrees; ``w``: how far each reaches from the common edge, a chord of the arc over the angle. A flat facet may be of
    several triangles.

    Parameters
    ----------
    views : Views
        Of the part [m].
    tool : str
        female or male.

    Returns
    -------
    radius : float or None
        Below which 5 % of the curved edges' length lies [m]; None where nothing is curved.
    """
    mesh = views.prepared.surface.mesh
    chosen, bulges = tool_edges(views, tool)
    angle = mesh.face_adjacency_angles
    curved = np.flatnonzero(chosen & bulges & (angle > np.radians(CURVED[0])) & (angle < np.radians(CURVED[1])))
    curved = curved[:: max(1, len(curved) // MOST)]
    if len(curved) < 2:
        return None
    reach = _reaches(mesh, curved)
    edges = mesh.vertices[mesh.face_adjacency_edges[curved]]
    length = np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1)
    narrow = (reach.max(axis=1) < STRIP * views.size) & (length > 0)
    if narrow.sum() < 2:
        return None
    radius, length = (reach.sum(axis=1) / (4 * np.sin(angle[curved] / 2)))[narrow], length[narrow]
    order = np.argsort(radius, kind="stable")
    reached = np.searchsorted(np.cumsum(length[order]), SHARE * length.sum())
    return float(radius[order][min(reached, len(order) - 1)])


def _reaches(mesh: trimesh.Trimesh, curved: Array) -> Array:
    """How far the flat facet on either side of each edge reaches from it (k, 2) [m]; infinite for a large one."""
    flat = mesh.face_adjacency[mesh.face_adjacency_angles <= np.radians(CURVED[0])]
    facet = trimesh.graph.connected_component_labels(flat, node_count=len(mesh.faces))
    by_facet = np.argsort(facet, kind="stable")
    count = np.bincount(facet)
    start = np.cumsum(count) - count
    found = np.full((len(curved), 2), np.inf)
    edges = mesh.vertices[mesh.face_adjacency_edges[curved]]
    along = trimesh.unitize(edges[:, 1] - edges[:, 0])
    for side in (0, 1):
        of = facet[mesh.face_adjacency[curved, side]]
        small = np.flatnonzero(count[of] <= LARGEST)
        many = count[of[small]]
        edge = np.repeat(small, many)
        place = np.arange(len(edge)) - np.repeat(np.cumsum(many) - many, many)
        corners = mesh.vertices[mesh.faces[by_facet[start[of[edge]] + place]]] - edges[edge, :1]
        away = np.linalg.norm(np.cross(corners, along[edge][:, None]), axis=2).max(axis=1)
        found[small, side] = 0.0
        np.maximum.at(found[:, side], edge, away)
    return found


def tool_edges(views: Views, tool: str) -> tuple[Array, Array]:
    """Pairs of neighbouring faces on a tool's skin (k,) bool, and which of them bulge towards the tool (k,) bool."""
    mesh = views.prepared.surface.mesh
    on_tool = np.zeros(len(mesh.faces), bool)
    on_tool[views.parent[views.skin(tool)[0]]] = True
    chosen = on_tool[mesh.face_adjacency].all(axis=1)
    convex = mesh.face_adjacency_convex
    is_turned = views.is_skin and (tool == "male") != views.flipped
    return chosen, ~convex if is_turned else convex
