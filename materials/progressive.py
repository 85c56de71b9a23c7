"""Where a formed part is thick and where thin: the wall at its places, over gauge, for each way of forming.

The sheet is followed stage by stage from flat to formed (``laying``); at each, volume is kept (``membrane``). It is a
model of areas: the free sheet is of even thickness, so all edges and corners that fill last come out alike.
"""

from dataclasses import dataclass, replace

import numpy as np

from materials.cavity import FormedShape, FormingMethod
from materials.laying import Stages, stages_of
from materials.membrane import membrane_shares
from materials.pockets import hollow_of
from materials.ranges import Number, OutsideRangeError

# Share of the rate of thinning of the free sheet at which sheet on the tool still thins [-]. Chosen so that a female
# box of 40 x 28 x 8 in, draft 2 deg, corner radius .187 in, web 2 in (half of the narrowest strip between cavities)
# has a thinnest wall of 0.6 of gauge over areal draw ratio. The 0.6 is common practice, no source: calibrate it by
# cutting up a part.
SLIP = 0.0288

HALF_WAY = 0.5  # -, of the depth: where the side of a part is looked at


@dataclass(frozen=True)
class WallShares:
    """Wall over starting gauge [-] at the places of a part; floats, or arrays where the shape has arrays.

    ``web`` is the strip of sheet around the part; ``rim`` where the wall meets it, ``side`` half way down the wall,
    ``base`` the middle of the base, ``edge`` between wall and base, ``corner`` where the thinnest part of a hollow
    fills last, or the foot of the wall on a male tool. ``thickest`` and ``mean`` leave the web out.
    """

    web: Number
    rim: Number
    side: Number
    base: Number
    edge: Number
    corner: Number
    thinnest: Number
    thickest: Number
    mean: Number


@dataclass(frozen=True)
class Progress:
    """Stages of one forming and the free membrane at each: wall over gauge [-], stages along the first axis."""

    stages: Stages
    membrane: np.ndarray
    slip: float

    def wall_now(self, laid_at: np.ndarray) -> np.ndarray:
        """Wall at the end, over gauge, of what was laid down when the membrane was ``laid_at`` [-]."""
        return laid_at ** (1 - self.slip) * self.membrane[-1] ** self.slip

    def laid_volume(self, laid: np.ndarray) -> np.ndarray:
        """Volume at the end of what was laid down, over gauge [m2], from the area laid by stage."""
        walls = self.wall_now(np.sqrt(self.membrane[1:] * self.membrane[:-1]))
        return self.wall_now(self.membrane[0]) * laid[0] + np.sum(walls * np.diff(laid, axis=0), axis=0)

    def free_volume(self) -> np.ndarray:
        """Volume of what is free to the last, over gauge [m2]."""
        return self.membrane[-1] * (self.stages.surface[-1] - self.stages.laid[-1])


def progress_of(shape: FormedShape, method: FormingMethod, slip: float) -> Progress:
    """Follow a sheet from flat to formed.

    Parameters
    ----------
    shape : FormedShape
        [m, rad]
    method : FormingMethod
    slip : float
        [-], 0 to 1.

    Returns
    -------
    progress : Progress

    Raises
    ------
    OutsideRangeError
        The slip is out of range.
    """
    if not 0 <= slip <= 1:
        raise OutsideRangeError("slip", slip, "0 to 1")
    stages = stages_of(hollow_of(shape), method)
    return Progress(stages, membrane_shares(stages.surface, stages.laid, slip), slip)


def wall_shares(shape: FormedShape, method: FormingMethod | None = None, slip: float = SLIP) -> WallShares:
    """Wall over starting gauge at the places of a formed part.

    ``t/t0 = tc^(1 - slip) t_end^slip``: the membrane's share when the place was laid down and at the end.

    Parameters
    ----------
    shape : FormedShape
        [m, rad]; its values may be arrays.
    method : FormingMethod, optional
        Female tool without plug or bubble where none is given.
    slip : float
        [-], 0 (sticks at once, pessimistic) to 1 (even wall).

    Returns
    -------
    shares : WallShares
        [-]

    Raises
    ------
    OutsideRangeError
        The slip is out of range, or a male tool has no web.

    Examples
    --------
    >>> tray = FormedShape("box", 0.5, 0.4, 0.1, 0.05, 0.005, web=0.03)
    >>> even = wall_shares(tray, slip=1.0)
    >>> even.corner == even.base, wall_shares(tray).corner < even.corner
    (True, True)
    """
    progress = progress_of(shape, method or FormingMethod(), slip)
    shares = _places(progress)
    dimensions = np.broadcast_shapes(*map(np.shape, shape.sizes()))
    return WallShares(**{name: _shaped(value, dimensions) for name, value in shares.items()})


def largest_bubble(shape: FormedShape, method: FormingMethod) -> Number:
    """Area of a free bubble over the flat area that it is blown from, beyond which the sheet would fold on the part.

    Parameters
    ----------
    shape : FormedShape
        [m, rad]; its values may be arrays.
    method : FormingMethod
        Its own bubble does not count.

    Returns
    -------
    ratio : float or array
        [-], 1 or more: of the area inside the rim of a hollow, of all free sheet over a male tool.

    Raises
    ------
    OutsideRangeError
        A male tool has no web.

    References
    ----------
    Areas alone: sheet is stretched, not gathered.

    Examples
    --------
    >>> round(largest_bubble(FormedShape("box", 1.2, 0.9, 0.3, corner_radius=1e-6), FormingMethod()), 4)
    2.1667
    """
    hollow = hollow_of(shape)
    surface = stages_of(hollow, replace(method, pre_stretch=1.0)).surface
    blown = surface[0] if method.tool_side == "male" else hollow.area
    return _shaped(1 + (surface[-1] - surface[0]) / blown, np.broadcast_shapes(*map(np.shape, shape.sizes())))


def _places(progress: Progress) -> dict[str, np.ndarray]:
    stages, membrane = progress.stages, progress.membrane
    laid_at = {
        "rim": _at_stage(stages.rim, membrane),
        "side": _at_half_depth(stages.wall_done, membrane),
        "base": _at_stage(stages.base, membrane),
        "edge": _at_stage(stages.edge, membrane),
        "corner": membrane[-1],
    }
    laid_at["thinnest"] = np.minimum.reduce(list(laid_at.values()))
    laid_at["thickest"] = _at_stage(stages.first, membrane)
    laid_at["web"] = _at_stage(stages.web, membrane)
    part = stages.surface[-1] - stages.on_web[-1]
    volume = progress.laid_volume(stages.on_part) + progress.free_volume()
    return {**{place: progress.wall_now(then) for place, then in laid_at.items()}, "mean": volume / part}


def _at_stage(stage: np.ndarray | float, membrane: np.ndarray) -> np.ndarray:
    """Membrane at a stage, counted from the end where negative; between two stages what a strip laid there has."""
    before, after, column = np.floor(stage).astype(int), np.ceil(stage).astype(int), np.arange(membrane.shape[1])
    return np.sqrt(membrane[before, column] * membrane[after, column])


def _at_half_depth(wall_done: np.ndarray, membrane: np.ndarray) -> np.ndarray:
    """Membrane when the wall was laid half way down; the last one where that lies in the round of the edge."""
    after = np.clip(np.sum(wall_done < HALF_WAY, axis=0), 1, len(wall_done) - 1)
    column = np.arange(membrane.shape[1])
    low, high = wall_done[after - 1, column], wall_done[after, column]
    share = np.minimum((HALF_WAY - low) / np.maximum(high - low, 1e-12), 1.0)
    there = membrane[after - 1, column] ** (1 - share) * membrane[after, column] ** share
    return np.where(wall_done[-1] < HALF_WAY, membrane[-1], there)


def _shaped(value: np.ndarray, dimensions: tuple[int, ...]) -> Number:
    return np.reshape(value, dimensions) if dimensions else float(value[0])
