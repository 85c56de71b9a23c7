"""Places of a tool that are deep for the width of their opening, on a plan grid of its heights."""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from quoting.geometry.shape.seen import Views
from quoting.geometry.shape.shadow import height_field
from quoting.geometry.surface import Array

CELLS = 200  # of the plan grid along the longer side
WIDER = 1.1  # from one opening width to the next that is tried [-]
TOO_DEEP = 0.75  # depth over opening width from which a place is told [-]; common practice for a female tool
STEP = 1e-3  # what is less deep than this share of the tool's depth is flat [-]
CRUMB = 0.5  # what is lost must itself be so wide, of the width tried [-]; else it is the corner of something wider
OPENING = 0.1  # the opening of a pocket lies where it is so deep, of its whole depth [-]
MOST = 20  # pockets told


@dataclass(frozen=True)
class Pocket:
    """A place of the tool. ``ratio``: depth over the widest circle in its opening [-]; lengths [m]; file's frame."""

    ratio: float
    depth: float
    width: float
    where: tuple[float, float, float]


def pockets(views: Views, tool: str) -> tuple[Pocket | None, tuple[Pocket, ...]]:
    """The worst place, and every separate one that is deeper than 0.75 of its width.

    The depth of the tool is opened (morphology) with squares along length and width, each wider than the last. A pocket
    vanishes when the square no longer fits in; what vanished is its depth, the widest circle in it its width.

    Parameters
    ----------
    views : Views
        Of the part [m].
    tool : str
        female or male.

    Returns
    -------
    worst, deep : Pocket or None, tuple of Pocket
        Widths are known to a cell: the size over 200.
    """
    depth, pitch, origin = _tool_depth(views, tool)
    ratio, cells_at = np.zeros(depth.shape), np.zeros(depth.shape, int)
    for cells in _widths(max(depth.shape) // 2):
        found = _lost(depth, cells) / (cells * pitch)
        better = found > ratio
        ratio[better], cells_at[better] = found[better], cells
    if not ratio.max() * pitch > 1e-5 * views.size:
        return None, ()
    z = views.mesh.bounds[0 if tool == "female" else 1, 2]
    made = []
    for at in _peaks(ratio):
        deep, width, middle = _measured(_lost(depth, cells_at[at]), at, pitch)
        where = views.in_file(np.array([*(origin + pitch * middle), z]))
        made.append(Pocket(deep / width, deep, width, tuple(float(x) for x in where)))
    made.sort(key=lambda pocket: -pocket.ratio)
    return made[0], tuple(pocket for pocket in made if pocket.ratio > TOO_DEEP)


def _lost(depth: Array, cells: int) -> Array:
    """Depth that a square of so many cells cannot enter [m], without crumbs at the corners of wider places."""
    lost = depth - ndimage.grey_opening(depth, size=(cells, cells), mode="nearest")
    crumb = max(1, int(CRUMB * cells))
    is_deep = (lost > STEP * depth.max()).astype(np.uint8)
    return lost * ndimage.grey_opening(is_deep, size=(crumb, crumb), mode="nearest")


def _measured(lost: Array, at: tuple[int, ...], pitch: float) -> tuple[float, float, Array]:
    """Depth of the pocket round a cell, diameter of the widest circle in its opening [m], and the circle's middle."""
    deep = float(lost[at])
    labels, _ = ndimage.label(lost > OPENING * deep)
    inside = labels == labels[at]
    reach = ndimage.distance_transform_edt(inside)
    middle = np.array(np.unravel_index(reach.argmax(), reach.shape))
    return float(lost[inside].max()), (2 * float(reach.max()) - 1) * pitch, middle


def _widths(most: int) -> list[int]:
    """Odd numbers of cells from 3 on, each some 10 % more than the last, past the whole plan."""
    found, wanted = [3], 3.0
    while found[-1] <= most + 2:
        wanted = max(wanted * WIDER, found[-1] + 2.0)
        found.append(int(wanted) | 1)
    return found


def _tool_depth(views: Views, tool: str) -> tuple[Array, float, Array]:
    """How far each cell of a tool lies behind what the sheet meets first [m]; padded with the rim.

    Female: the sheet comes from above, the rim is the top of the part. Male: the sheet comes from below and meets the
    top of the tool first; the rim lies farthest back.
    """
    height, pitch, origin = height_field(views, tool, CELLS)
    part = np.isfinite(height)
    if not part.any():
        return np.zeros((3, 3)), pitch, origin
    rim = views.mesh.bounds[1, 2] if tool == "female" else height[part].min()
    depth = np.where(part, rim - height if tool == "female" else height - rim, 0.0)
    edge = 0.0
    if tool == "male":
        depth = depth.max() - depth
        edge = float(depth.max())
        depth = np.where(part, edge - depth, edge)
    pad = max(height.shape) // 2 + 2
    return np.pad(depth, pad, constant_values=edge), pitch, origin - pad * pitch


def _peaks(ratio: Array) -> list[tuple[int, ...]]:
    """The worst cell of all, and of every other separate place above the limit."""
    labels, count = ndimage.label(ratio > TOO_DEEP)
    if count == 0:
        return [np.unravel_index(ratio.argmax(), ratio.shape)]
    worst = ndimage.maximum_position(ratio, labels, range(1, count + 1))
    return sorted((tuple(int(i) for i in at) for at in worst), key=lambda at: -ratio[at])[:MOST]
