"""From where a part is looked at: always as a drawing board does, without perspective."""

from dataclasses import dataclass

import numpy as np

Array = np.ndarray
TURN = np.radians(-32.0)  # rad about the draw: an isometric view turned a little, so that no two edges coincide
LIFT = np.radians(33.0)  # rad above the plane of the rim


@dataclass(frozen=True, eq=False)
class Viewpoint:
    """Three unit vectors of the part [-] that point right, up and towards the eye; and what the view is called."""

    axes: Array  # (3, 3), a row each
    name: str

    def seen(self, points: Array) -> Array:
        """Points (n, 3) [m] as seen: to the right, up, nearer [m]."""
        return points @ self.axes.T


def along_draw(vertices: Array, draw: Array) -> Viewpoint:
    """Looks into the cavity against the draw, the longer side of the part lying across.

    Parameters
    ----------
    vertices : Array
        Corners of the part (n, 3) [m].
    draw : Array
        The way the part leaves the tool (3,) [-].

    Examples
    --------
    >>> along_draw(np.array([[0, 0, 0], [2, 1, 0.0]]), np.array([0, 0, 1.0])).axes[0]
    array([1., 0., 0.])
    """
    return Viewpoint(_frame(vertices, draw), "along the draw")


def oblique(vertices: Array, draw: Array, is_from_below: bool = False) -> Viewpoint:
    """Looks from above a corner, or from below it, with the draw standing upright in the picture."""
    across, back, up = _frame(vertices, draw)
    lift = -LIFT if is_from_below else LIFT
    right = np.cos(TURN) * across - np.sin(TURN) * back
    level = np.cross(right, up)  # level and towards the eye
    toward = np.cos(lift) * level + np.sin(lift) * up
    name = "from below" if is_from_below else "from above"
    return Viewpoint(np.stack((right, np.cross(toward, right), toward)), name)


def _frame(vertices: Array, draw: Array) -> Array:
    """Across (the longer side of the plan), back and up: a right-handed frame with the draw upright."""
    up = np.asarray(draw, float) / np.linalg.norm(draw)
    level = np.eye(3) - np.outer(np.eye(3) @ up, up)
    lengths = np.linalg.norm(level, axis=1)
    choices = level[lengths > 0.5] / lengths[lengths > 0.5, None]  # at least two axes lie level enough
    spans = np.ptp(vertices @ choices.T, axis=0)
    across = choices[int(np.argmax(np.round(spans / max(spans.max(), 1e-12), 6)))]
    return np.stack((across, np.cross(up, across), up))
