"""A part as lines: creases, rims and outline, without what is hidden. Also as a small SVG."""

from html import escape

import numpy as np

from quoting.geometry.pictures.casting import Caster, Traced
from quoting.geometry.pictures.creases import creases_of
from quoting.geometry.pictures.viewpoint import Viewpoint
from quoting.geometry.surface import Surface

Array = np.ndarray
MOST_EDGES = 60_000  # the longest of them are drawn
MOST_STEPS = 400  # looks along one edge
SVG_WIDTH = 600.0  # units of the drawing


def visible_lines(caster: Caster, seen: Array, ends: Array, pixel: float) -> Array:
    """The parts of edges that nothing hides (k, 2, 2): from and to, right and up [m].

    Parameters
    ----------
    caster : Caster
        The part, ready for rays [-].
    seen : Array
        Its corners (right, up, nearer) [m].
    ends : Array
        Edges (e, 2) as vertex numbers [-].
    pixel : float
        The smallest thing that matters in the picture [m].
    """
    if not len(ends):
        return np.zeros((0, 2, 2))
    start, way = seen[ends[:, 0]], seen[ends[:, 1]] - seen[ends[:, 0]]
    length = np.linalg.norm(way[:, :2], axis=1)
    keep = np.sort(np.argsort(-length, kind="stable")[:MOST_EDGES])
    keep = keep[length[keep] > 0.02 * pixel]
    steps = np.clip(np.ceil(length[keep] / (3 * pixel)).astype(int), 1, MOST_STEPS)
    edge = np.repeat(keep, steps)
    number = np.arange(steps.sum()) - np.repeat(np.cumsum(steps) - steps, steps)
    width = np.repeat(1.0 / steps, steps)
    middle = start[edge] + ((number + 0.5) * width)[:, None] * way[edge]
    hits = caster.cast(middle[:, 0], middle[:, 1])
    free = hits.near <= middle[:, 2] + 2.5 * pixel
    return _joined(start, way, edge, number, width, free)


def _joined(start: Array, way: Array, edge: Array, number: Array, width: Array, free: Array) -> Array:
    """Neighbouring free steps of one edge made one line."""
    begins = free & ~np.r_[False, free[:-1] & (edge[1:] == edge[:-1])]
    ends = free & ~np.r_[free[1:] & (edge[1:] == edge[:-1]), False]
    one, two = np.flatnonzero(begins), np.flatnonzero(ends)
    first = start[edge[one]] + (number[one] * width[one])[:, None] * way[edge[one]]
    last = start[edge[two]] + ((number[two] + 1) * width[two])[:, None] * way[edge[two]]
    return np.stack((first[:, :2], last[:, :2]), axis=1)


def silhouette(faces: Array, normals_seen: Array, smooth: Array, smooth_faces: Array) -> Array:
    """Edges (k, 2) where a smooth surface turns away from the eye."""
    toward = normals_seen[:, 2] > 0
    return smooth[toward[smooth_faces[:, 0]] != toward[smooth_faces[:, 1]]]


def svg_outline(surface: Surface, view: Viewpoint, title: str) -> str:
    """The part as an SVG of lines only, for print and for small screens; its size is its view box.

    Lines carry the class ``part-outline`` and no style; ``title`` is what a screen reader says.
    """
    seen = view.seen(surface.vertices)
    creases = creases_of(surface.faces, surface.normals)
    turning = silhouette(surface.faces, view.seen(surface.normals), creases.smooth, creases.smooth_faces)
    low, high = seen[:, :2].min(axis=0), seen[:, :2].max(axis=0)
    scale = SVG_WIDTH / max((high - low).max(), 1e-12)
    edges = np.concatenate((creases.sharp, turning))
    lines = visible_lines(Caster(Traced(surface), view, seen), seen, edges, 1 / scale)
    places = np.round((lines - low) * scale, 1)
    size = np.round((high - low) * scale, 1)
    places[:, :, 1] = size[1] - places[:, :, 1]
    path = "".join(f"M{a:g} {b:g}L{c:g} {d:g}" for (a, b), (c, d) in places.tolist() if (a, b) != (c, d))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="-2 -2 {size[0] + 4:g} {size[1] + 4:g}">'
        f"<title>{escape(title)}</title>"
        f'<path class="part-outline" d="{path}" fill="none" stroke="currentColor" stroke-linecap="round"/></svg>'
    )
