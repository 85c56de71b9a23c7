"""How the walls of a part come out: its shape for the thinning model, the way it is formed, wall over gauge."""

from dataclasses import dataclass
from functools import lru_cache
from math import atan

from materials.cavity import FormedShape, FormingMethod
from materials.progressive import WallShares, largest_bubble, wall_shares
from materials.thinning import required_gauge, tapered_box_area
from quoting.intake.part import Part
from quoting.routing.nesting import formed_depth, strip_around

DEPTH_PLUG = 0.75  # -, drawn depth over the smaller side, above it a plug helps: common practice, no source
AREAL_PLUG = 3.0  # -, areal draw ratio, likewise: from memory, unverified
DEPTH_BUBBLE = 1.0  # -, likewise, above it the sheet is blown up before it is laid over a male tool
MALE_DEPTH_MOST = 1.5  # -, drawn depth over the smaller side that so blown a sheet stands: common practice, no source
BUBBLE = 1.3  # -, areal ratio of the bubble: common practice, no source
SHARP = 1e-4  # m, the sharpest inside radius the model is asked for
NEARLY_MET = 0.98  # of the draft at which walls would meet above the base, which leaves no base to reckon with
ROUNDS = 12  # of finding the gauge whose own radius thins it; four mostly do
PLAIN = 1e-9  # relative, for a ratio that is exactly at its limit

METHOD = (
    "sheet laid down stage by stage, volume kept, slip set so that a plain box keeps 0.6 of its mean wall at the "
    "thinnest (common practice, no source)"
)


@dataclass(frozen=True)
class Walls:
    """Wall over gauge [-] at the places of one part, and how it is formed."""

    shares: WallShares
    method: FormingMethod

    @property
    def is_draped(self) -> bool:
        """Laid over a male tool."""
        return self.method.tool_side == "male"


def areal_draw_of(part: Part) -> float:
    """Formed surface of one skin over the plan area of the part.

    A stated surface below the plan area (large openings left out of it) counts as flat: sheet is not gathered.

    Parameters
    ----------
    part : Part
        Surface area [m2], length and width [m].

    Returns
    -------
    ratio : float
        [-], 1 or more.
    """
    return max(part.surface_area / (part.length * part.width), 1.0)


def depth_ratio(part: Part, drawn: float) -> float:
    """Depth over opening where it is worst: of the part drawn so deep, or of a pocket that its model has.

    Parameters
    ----------
    part : Part
        [m]
    drawn : float
        Depth that one sheet is drawn [m].

    Returns
    -------
    ratio : float
        [-]
    """
    whole = drawn / min(part.length, part.width)
    return whole if part.pocket is None else max(whole, part.pocket.depth / part.pocket.width)


def plug_helps(part: Part, process: str) -> bool:
    """Whether the draw is deep enough for a plug; a twin-sheet tool has no room for one.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].

    Returns
    -------
    helps : bool
        [-]
    """
    if process == "twin_sheet":
        return False
    deep = depth_ratio(part, part.depth) > DEPTH_PLUG * (1 + PLAIN)
    return deep or areal_draw_of(part) > AREAL_PLUG * (1 + PLAIN)


def bubble_helps(part: Part) -> bool:
    """Whether a draw over a male tool is deep enough that the sheet is blown up before it is laid over the tool.

    Parameters
    ----------
    part : Part
        [-]

    Returns
    -------
    helps : bool
        [-]
    """
    deep = part.depth / min(part.length, part.width) > DEPTH_BUBBLE * (1 + PLAIN)
    return deep or areal_draw_of(part) > AREAL_PLUG * (1 + PLAIN)


def tool_side_of(part: Part, process: str) -> str:
    """The tool that a process takes: the one asked for, but two female ones for twin-sheet.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].

    Returns
    -------
    side : str
        female or male [-].
    """
    return "female" if process == "twin_sheet" else part.tool_side


def method_of(part: Part, process: str) -> FormingMethod:
    """How the sheet is brought to the tool: into a female one, with a plug where one helps, or over a male one, blown
    up first where that helps.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].

    Returns
    -------
    method : FormingMethod
        [-]
    """
    if tool_side_of(part, process) == "male":
        return FormingMethod("male", pre_stretch=BUBBLE if bubble_helps(part) else 1.0)
    return FormingMethod(plug=plug_helps(part, process))


def walls_of(part: Part, process: str, gauge: float) -> Walls:
    """Walls of a part formed by ``method_of``.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    gauge : float
        Of one sheet [m], above 0: the inside radius where none is asked for.

    Returns
    -------
    walls : Walls
        [-]
    """
    method = method_of(part, process)
    return Walls(shares_by(part, process, gauge, method), method)


def shares_by(part: Part, process: str, gauge: float, method: FormingMethod) -> WallShares:
    """Wall over gauge when a part is formed by some method.

    The model knows a box with drafted walls. A part of more surface than that is thinner everywhere in proportion, for
    the same sheet covers more.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    gauge : float
        [m], above 0.
    method : FormingMethod
        [-]

    Returns
    -------
    shares : WallShares
        [-], none above 1.
    """
    shape, more = _shape_of(part, process, gauge, method.tool_side)
    found = _shares(shape, method)
    return WallShares(**{place: min(value / more, 1.0) for place, value in vars(found).items()})


def bubble_folds(part: Part, process: str, gauge: float, method: FormingMethod) -> bool:
    """Whether a method blows a bubble of more sheet than the part takes, so that it would fold on the tool.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    gauge : float
        [m], above 0.
    method : FormingMethod
        [-]

    Returns
    -------
    folds : bool
        [-]
    """
    return method.pre_stretch > largest_bubble(_shape_of(part, process, gauge, method.tool_side)[0], method)


def required_gauge_of(
    part: Part, process: str, minimum_wall: float, gauge_tolerance: float, method: FormingMethod | None = None
) -> float:
    """Gauge from which the thinnest wall is still what is asked, on a sheet that runs thin.

    ``gauge = wall/share / (1 - tolerance)``; where no radius is asked for the share rests on the gauge itself, so that
    it is sought round by round.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    minimum_wall : float
        [m], above 0.
    gauge_tolerance : float
        [-], 0 or more and below 1.
    method : FormingMethod, optional
        ``method_of`` the part where none is given.

    Returns
    -------
    gauge : float
        [m]
    """
    method = method or method_of(part, process)
    gauge = minimum_wall * areal_draw_of(part)
    for _ in range(ROUNDS):
        before = gauge
        share = shares_by(part, process, gauge * (1 - gauge_tolerance), method).thinnest
        gauge = required_gauge(minimum_wall, share, gauge_tolerance)
        if abs(gauge - before) < 1e-6 * gauge:
            break
    return gauge


def _shape_of(part: Part, process: str, gauge: float, tool_side: str) -> tuple[FormedShape, float]:
    """The box that stands for the part, and how much more surface the part has than it."""
    depth = formed_depth(part.depth, process == "twin_sheet")
    draft = min(part.draft_angle, atan(NEARLY_MET * min(part.length, part.width) / (2 * depth)))
    shape = FormedShape(
        "box",
        part.length,
        part.width,
        depth,
        draft,
        max(part.smallest_radius if part.smallest_radius is not None else gauge, SHARP),
        strip_around(depth, tool_side),
    )
    return shape, max(part.surface_area / tapered_box_area(part.length, part.width, depth, draft), 1e-9)


@lru_cache(maxsize=4096)
def _shares(shape: FormedShape, method: FormingMethod) -> WallShares:
    return wall_shares(shape, method)
