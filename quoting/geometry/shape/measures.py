"""Sizes of a part as a thermoformer quotes them, measured along a draw."""

from dataclasses import dataclass

import numpy as np
import shapely

from quoting.geometry.shape.prepared import Prepared, UnmeasurableError, loops, prepared
from quoting.geometry.shape.radius import smallest_radius
from quoting.geometry.shape.seen import Views, plan_rectangle, viewed
from quoting.geometry.shape.shadow import openings, parts, silhouette
from quoting.geometry.surface import Array, Surface

MALE_DRAFT = 4.0  # degrees, below it a part is hard to strip from a male tool; sources disagree between 1.5 and 7
FEMALE_DEPTH = 0.75  # depth over width that a female tool forms without a plug [-]; common practice
TWO_SKINS = 0.3  # share of an open surface, hidden from either tool, from which it is refused [-]; judgement
WORTH = 0.01  # undercut share that decides between the tools [-]; judgement


@dataclass(frozen=True)
class ToolSide:
    """Which tool suits, and why."""

    tool: str  # female or male
    reason: str


@dataclass(frozen=True)
class Measured:
    """A part along one draw [m, m2, m3]; ``notes`` say how, ``warnings`` what to doubt."""

    direction: tuple[float, float, float]
    length: float
    width: float
    depth: float
    projected_area: float
    footprint_area: float
    surface_area: float
    areal_draw_ratio: float
    trim_length: float
    openings: tuple[float, ...]
    holes: int
    smallest_inside_radius: float | None
    wall: float | None
    volume: float | None
    watertight: bool
    bodies: int
    is_shell: bool
    enclosed: bool
    tool_side: ToolSide
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


def measured(surface: Surface, direction: Array, views: Views | None = None, tool: str | None = None) -> Measured:
    """Measure a part along a draw.

    Parameters
    ----------
    surface : Surface
        Solid or skin [m].
    direction : array
        Out of the cavity (3,) [-].
    views : Views, optional
        Of the same surface along the same draw, where it was looked at before.
    tool : str, optional
        female or male where it is chosen already; else the suggested one [-].

    Returns
    -------
    measured : Measured
        Length at least width. ``surface_area`` and ``smallest_inside_radius``: of the skin on that tool.
        ``trim_length``: outer outline and openings in the plan, a lower bound where the edge is not level.
        ``openings``: length round each [m]. ``holes``: rings of free edges beyond those; in the side or defects of the
        drawing.

    Raises
    ------
    UnmeasurableError
        See ``prepared``; or an open surface that holds both skins of a wall.
    """
    views = views or viewed(prepared(surface), direction)
    _refuse_two_skins(views)
    known = views.prepared
    outline, is_rough = silhouette(known, views.axes)
    corners = plan_rectangle(views.mesh.vertices[:, :2])
    sides = sorted(np.linalg.norm(np.diff(corners[:3], axis=0), axis=1), reverse=True)
    rings = openings(outline)
    depth = float(np.ptp(views.mesh.vertices[:, 2]))
    suggested = tool_side(views, depth / sides[1] if sides[1] > 0 else np.inf)
    area = float(views.areas[views.skin(tool or suggested.tool)[0]].sum())
    radius = smallest_radius(views, tool or suggested.tool)
    return Measured(
        tuple(float(x) for x in views.axes[2]), float(sides[0]), float(sides[1]), depth, float(outline.area),
        float(sum(shapely.Polygon(part.exterior).area for part in parts(outline))), area,
        area / outline.area if outline.area > 0 else np.inf,
        float(sum(part.exterior.length for part in parts(outline)) + sum(rings)), rings, _holes(known, len(rings)),
        radius, known.wall, known.volume, known.watertight,
        known.bodies, known.kind in ("shell", "hollow"), _is_enclosed(views), suggested, _notes(known.kind, radius),
        known.warnings + _doubts(views, is_rough),
    )  # fmt: skip


def _holes(known: Prepared, in_plan: int) -> int:
    """Rings of free edges that are neither the rim nor an opening seen along the draw."""
    found = loops(known.free_edges)
    return max(0, found - 1 - in_plan) if found else 0


def _is_enclosed(views: Views) -> bool:
    """A closed void, or a thin wall most of whose inner skin neither tool sees."""
    if views.prepared.kind == "hollow":
        return True
    hidden = float(views.areas[~(views.below | views.above)].sum())
    return views.prepared.kind == "shell" and hidden > 0.35 * float(views.areas.sum())


def _refuse_two_skins(views: Views) -> None:
    """An open surface of which neither tool sees much is a wall with a hole in it: measured so, it counts twice."""
    hidden = min(float(views.areas[~seen].sum()) for seen in (views.below, views.above))
    if views.prepared.kind == "skin" and hidden > TWO_SKINS * float(views.areas.sum()):
        raise UnmeasurableError(
            "its surface is open, and much of it is hidden from a tool on either side: a wall with both skins and a "
            "hole in it. Close the hole in the model, send one skin alone, or name another draw"
        )


def _doubts(views: Views, is_rough: bool) -> tuple[str, ...]:
    """What the numbers cannot be trusted for."""
    found = []
    if is_rough:
        found.append("a rough surface: outline and plan area were told on a grid, to some 1 %")
    if _is_enclosed(views):
        found.append("a hollow part: the formed surface is the half that one tool sees")
    if views.prepared.bodies > 1 and views.prepared.kind != "hollow":
        found.append(f"{views.prepared.bodies} separate bodies measured together")
    return tuple(found)


def _notes(kind: str, radius: float | None) -> tuple[str, ...]:
    how = {
        "skin": "one open skin, measured as it is",
        "shell": "a thin wall: the skin on the tool; the wall is the median along rays through it",
        "lump": "a filled block without wall: its outside but for the flat face at the top of the draw",
        "hollow": "a closed hollow body: the outside that one tool sees",
    }[kind]
    curved = (
        "no curved inside corner was found"
        if radius is None
        else "the smallest radius follows from the angle between neighbouring facets and their width"
    )
    return (how, curved, "curved faces are measured as flat facets")


def drafts(views: Views, tool: str) -> Array:
    """Draft of every piece for a tool [degrees]; negative where it leans under. ``asin(normal . towards the tool)``."""
    towards = -1.0 if tool == "female" else 1.0
    return np.degrees(np.arcsin(np.clip(towards * views.skin(tool)[1][:, 2], -1, 1)))


def tool_side(views: Views, slenderness: float) -> ToolSide:
    """Suggest the tool.

    Parameters
    ----------
    views : Views
        Of the part [m].
    slenderness : float
        Depth over width [-].

    Returns
    -------
    side : ToolSide
        Common practice, no source: fewer undercuts first, then draft, then depth.
    """
    trapped = {}
    for tool in ("female", "male"):
        skin, _, reached = views.skin(tool)
        total = views.areas[skin].sum()
        trapped[tool] = float(views.areas[skin & ~reached].sum() / total) if total > 0 else 1.0
    if abs(trapped["female"] - trapped["male"]) > WORTH:
        better = min(trapped, key=trapped.get)
        worse = max(trapped.values())
        return ToolSide(better, f"{worse:.0%} of the other skin is undercut, here {trapped[better]:.0%}")
    skin = views.skin("male")[0]
    draft, area = drafts(views, "male")[skin], views.areas[skin]
    walls = np.abs(draft) < 45
    tight = float(area[walls & (draft < MALE_DRAFT - 0.01)].sum()) if walls.any() else 0.0
    if tight > WORTH * area.sum():
        return ToolSide("female", f"walls of less than {MALE_DRAFT:.0f} degrees of draft grip a male tool")
    if slenderness > FEMALE_DEPTH:
        return ToolSide("male", f"depth is {slenderness:.2f} of the width: a male tool keeps the bottom thick")
    return ToolSide("female", "no deeper than a female tool forms without a plug, and easy to strip")
