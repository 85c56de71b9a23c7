"""A sheet formed onto the tool of a part: how thick the wall gets, place by place."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from materials.laying import PLUG_DEPTH_SHARE, PLUG_FACE_SHARE
from materials.progressive import SLIP
from materials.ranges import OutsideRangeError
from quoting.geometry.sheet.forming import Effort, Forming, Progress, blow, draw, push_plug, push_tool, turn_bubble
from quoting.geometry.sheet.hyperelastic import area_vectors
from quoting.geometry.sheet.moving_sheet import MovingSheet, laid_out
from quoting.geometry.sheet.relaxing import Gas
from quoting.geometry.sheet.sheet_mesh import FlatSheet, rectangular_sheet, round_sheet
from quoting.geometry.sheet.tool_field import Frame, ToolField, field_of, frame_of
from quoting.geometry.surface import Surface

Array = np.ndarray

# Share of the second of Mooney's constants [-]: how much hot sheet hardens as it is stretched. Common practice, no
# source: rubber has about this much; take it from a bubble test of the sheet.
MOONEY = 0.1
ALONG_EDGES = 12  # triangles that a place on the edge of the base may take across it
HELD_BY_RIM = 2e-3  # -, of the depth: how far below the rim a node still lies on it


@dataclass(frozen=True)
class Plug:
    """A flat plug: width over that of the base, and depth over that of the tool [-], both above 0 up to 1."""

    face: float = PLUG_FACE_SHARE
    depth: float = PLUG_DEPTH_SHARE

    def __post_init__(self) -> None:
        for name, value in (("face", self.face), ("depth", self.depth)):
            if not 0 < value <= 1:
                raise OutsideRangeError(name, value, "above 0 and at most 1")


@dataclass(frozen=True)
class Clamping:
    """How the sheet is held: 'rectangle' or 'circle' around the part, ``web`` [m] away from it, 0 or more.

    Of several cavities in a sheet each one has half the gap to the next as its web: by symmetry the sheet does not
    cross the middle, and it lies on the rim there.
    """

    kind: str = "rectangle"
    web: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in ("rectangle", "circle"):
            raise OutsideRangeError("kind", self.kind, "rectangle or circle")
        if not 0 <= self.web < np.inf:
            raise OutsideRangeError("web", self.web, "0 or more")


@dataclass(frozen=True)
class Resolution:
    """Nodes along the longer side of the flat sheet, points of the tool along it, and most steps and triangles."""

    nodes: int
    cells: int
    steps: int
    relaxing: int
    faces: int

    def __post_init__(self) -> None:
        if not (8 <= self.nodes <= 400 and 20 <= self.cells <= 4000):
            raise OutsideRangeError("nodes", self.nodes, "8 to 400, with 20 to 4000 cells")


COARSE = Resolution(nodes=40, cells=400, steps=40, relaxing=150, faces=7_500)
FINE = Resolution(nodes=96, cells=1_200, steps=120, relaxing=400, faces=60_000)


@dataclass(frozen=True, eq=False)
class ThicknessMap:
    """Formed sheet. ``share`` is wall over gauge [-] at each vertex; figures leave the web out.

    ``vertices`` (n, 3) [m]; ``faces`` (m, 3); ``on_part`` (m,) where a face is not web; ``face_share`` (m,) [-];
    ``minimum``, ``mean``, ``fifth_percentile`` [-]; ``thinnest_point`` (3,) [m]; ``mass_balance_error`` [-] of the
    share at vertices over all sheet, against the flat sheet; ``covered`` share of the part's area on the tool [-];
    ``steps`` of forming and ``marched`` steps in time.
    """

    vertices: Array
    faces: Array
    share: Array
    face_share: Array
    on_part: Array
    minimum: float
    mean: float
    fifth_percentile: float
    thinnest_point: Array
    mass_balance_error: float
    covered: float
    steps: int
    marched: int
    warnings: tuple[str, ...]

    @cached_property
    def areas(self) -> Array:
        """Area of each face [m2]."""
        a, b, c = (self.vertices[self.faces[:, i]] for i in range(3))
        return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2


def form(
    surface: Surface,
    draw_direction: Array,
    clamping: Clamping | None = None,
    tool_side: str = "female",
    plug: Plug | None = None,
    pre_stretch: float = 1.0,
    resolution: Resolution = COARSE,
    mooney: float = MOONEY,
    slip: float = SLIP,
    progress: Progress | None = None,
) -> ThicknessMap:
    """Form a clamped hot sheet onto a tool and follow its thickness.

    An incompressible hyperelastic membrane comes to rest at each step of the volume drawn and holds where it touches.

    Parameters
    ----------
    surface : Surface
        Tool surface, or the part on the side of the tool [m]; one body.
    draw_direction : ndarray
        (3,) out of the cavity, the way the part leaves a female tool.
    clamping : Clamping, optional
        At the rim itself where none is given.
    tool_side : {'female', 'male'}
    plug : Plug, optional
        On female tools only.
    pre_stretch : float
        Area of a bubble blown first over the flat area that can move [-], 1 (none) to 3.
    resolution : Resolution
    mooney : float
        Share of the second constant [-], 0 (neo-Hookean) to 1.
    slip : float
        Share of the rate of thinning of the free sheet at which sheet on the tool still thins [-], 0 (sticks at once)
        to 1.
    progress : callable, optional
        Told the share of the cavity that is filled [-] and the step [count] after each step.

    Returns
    -------
    map : ThicknessMap

    Raises
    ------
    OutsideRangeError
        A value is out of range, a plug on a male tool, or a tool without depth.
    """
    _check(tool_side, plug, pre_stretch, mooney, slip)
    male, clamping = tool_side == "male", clamping or Clamping()
    frame = frame_of(surface, -np.asarray(draw_direction, float) if male else draw_direction)
    half = _half_sides(surface, frame) + clamping.web
    if clamping.kind == "circle":
        half = np.full(2, _radius(surface, frame) + clamping.web)
    tool = field_of(surface, frame, half, male, resolution.cells, unit=float(half.min()))
    if tool.depth < 1e-6:
        raise OutsideRangeError("depth", tool.depth * tool.unit, "above 0 along the draw")
    flat = _flat_sheet(clamping, half / tool.unit, resolution.nodes, tool)
    forming = _started(flat, tool, male, resolution, (mooney, slip))
    forming.progress = progress
    _run(forming, male, plug, pre_stretch)
    return _measured(forming, frame, pre_stretch)


def _check(tool_side: str, plug: Plug | None, pre_stretch: float, mooney: float, slip: float) -> None:
    if tool_side not in ("female", "male"):
        raise OutsideRangeError("tool_side", tool_side, "female or male")
    if plug and tool_side == "male":
        raise OutsideRangeError("plug", plug, "None on a male tool")
    if not 1 <= pre_stretch <= 3:
        raise OutsideRangeError("pre_stretch", pre_stretch, "1 to 3")
    for name, value in (("mooney", mooney), ("slip", slip)):
        if not 0 <= value <= 1:
            raise OutsideRangeError(name, value, "0 to 1")


def _half_sides(surface: Surface, frame: Frame) -> Array:
    return np.max(np.abs(frame.inward(surface.vertices[np.unique(surface.faces)])[:, :2]), axis=0)


def _radius(surface: Surface, frame: Frame) -> float:
    inside = frame.inward(surface.vertices[np.unique(surface.faces)])[:, :2]
    return float(np.sqrt(np.max(np.sum(inside**2, axis=1))))


def _flat_sheet(clamping: Clamping, half: Array, nodes: int, tool: ToolField) -> FlatSheet:
    """Sheet with lines of its mesh on the outline of the part."""
    edge = 2 * float(half.max()) / nodes
    web = clamping.web / tool.unit
    if clamping.kind == "circle":
        return round_sheet(_lines(half[0] - web, web, edge)[1:])
    # a narrow part has half as many lines across as along
    sides = [_lines(side - web, web, min(edge, 4 * float(side - web) / nodes)) for side in half]
    across, along = (np.concatenate([-lines[:0:-1], lines]) for lines in sides)
    return rectangular_sheet(across, along)


def _lines(inner: float, web: float, edge: float) -> Array:
    """Lines from 0 to the outline of the part, and from there to the clamp."""
    count = max(int(np.ceil(inner / edge)), 4)
    lines = np.linspace(0, inner, count + 1)
    if web <= 1e-9:
        return lines
    return np.append(lines, np.linspace(inner, inner + web, max(int(np.ceil(web / edge)), 1) + 1)[1:])


def _started(
    flat: FlatSheet, tool: ToolField, male: bool, resolution: Resolution, sheet_like: tuple[float, float]
) -> Forming:
    level = float(tool.heights.max())
    sheet = laid_out(flat, level)
    edge = float(np.sqrt(2 * np.median(sheet.volume)))
    outline = 4 * float(np.ptp(flat.places, axis=1).sum()) / 2  # edges of base and rim are about as long
    finest = max(2.5 * tool.cell, edge / 8, ALONG_EDGES * outline / resolution.faces)
    effort = Effort(resolution.steps, resolution.relaxing, resolution.faces, finest, edge)
    x, y, _ = sheet.places
    if not male:
        sheet.held |= tool.highest_near.height(x, y) > level - HELD_BY_RIM * tool.depth
    middle = sheet.centres()
    room = level - tool.height(middle[:, 0], middle[:, 1])
    return Forming(sheet, tool, Gas(level), float(np.dot(sheet.volume, room)), effort, *sheet_like)


def _run(forming: Forming, male: bool, plug: Plug | None, pre_stretch: float) -> None:
    if pre_stretch > 1:
        blow(forming, pre_stretch, forming.tool.depth if male else np.inf)
    if male:
        push_tool(forming)
    elif plug:
        push_plug(forming, plug.face, plug.depth)
    elif pre_stretch > 1:
        turn_bubble(forming)
    draw(forming)


def _measured(forming: Forming, frame: Frame, pre_stretch: float) -> ThicknessMap:
    sheet, tool = forming.sheet, forming.tool
    areas = sheet.areas()
    on_part = _on_part(sheet, tool)
    share = _at_vertices(sheet.volume, sheet.faces, sheet.held.size) / _at_vertices(areas, sheet.faces, sheet.held.size)
    of_part = np.unique(sheet.faces[:, on_part])
    weight = _at_vertices(areas[on_part], sheet.faces[:, on_part], sheet.held.size)[of_part]
    thinnest = of_part[np.argmin(share[of_part])]
    vertices = frame.outward(sheet.places.T * tool.unit)
    total = float(np.sum(_flat_areas(sheet)))
    covered = forming.covered(on_part)
    return ThicknessMap(
        vertices=vertices,
        faces=sheet.faces.T,
        share=share,
        face_share=sheet.volume / areas,
        on_part=on_part,
        minimum=float(share[thinnest]),
        mean=float(sheet.volume[on_part].sum() / areas[on_part].sum()),
        fifth_percentile=_percentile(share[of_part], weight, 0.05),
        thinnest_point=vertices[thinnest],
        mass_balance_error=abs(float(np.dot(share[sheet.faces].mean(axis=0), areas)) - total) / total,
        covered=covered,
        steps=forming.steps,
        marched=forming.marched,
        warnings=_warnings(forming, covered, pre_stretch),
    )


def _flat_areas(sheet: MovingSheet) -> Array:
    """Area of each triangle where it lay in the flat sheet (m,): its volume over gauge before anything slipped."""
    flat = np.vstack([sheet.flat, np.zeros(sheet.flat.shape[1])])
    return np.linalg.norm(area_vectors(sheet.faces, flat), axis=0)


def _on_part(sheet: MovingSheet, tool: ToolField) -> Array:
    """Triangles that are not web: whose middle stands over the part."""
    middle = sheet.centres()
    return tool.part(middle[:, 0], middle[:, 1])


def _at_vertices(values: Array, faces: Array, count: int) -> Array:
    return np.bincount(faces.ravel(), np.tile(values, 3), count)


def _percentile(values: Array, weight: Array, share: float) -> float:
    order = np.argsort(values)
    return float(values[order][np.searchsorted(np.cumsum(weight[order]), share * weight.sum())])


def _warnings(forming: Forming, covered: float, pre_stretch: float) -> tuple[str, ...]:
    found = []
    if covered < 0.97:
        found.append(f"the sheet covers {covered:.0%} of the tool only: corners are thinner than shown")
    if forming.tool.hidden > 0.02:
        found.append("part of the tool is an undercut along the draw; it is taken at its visible height")
    if forming.bubble < 0.97 * pre_stretch:
        found.append(f"the bubble was blown to {forming.bubble:.2f} times its flat area only: more would fold")
    if forming.stopped:
        found.append("a step of forming went astray and was taken back: the sheet is shown as it was before")
    return tuple(found)
