"""What is found out about a body once it is read: one function for each, each may be missing or fail by itself.

A hook gets the work as it stands and returns plain numbers; pictures it adds to the work. Heavy modules are imported
when their hook runs, so that a job that does not ask for them does not pay for them.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, is_dataclass
from functools import cached_property
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from quoting.geometry.pictures.colour_map import ColourMap, nice_scale
from quoting.geometry.pictures.picture import Drawn, Lines, Mark, Paper, picture
from quoting.geometry.pictures.viewpoint import along_draw, oblique
from quoting.geometry.surface import Surface

if TYPE_CHECKING:
    from quoting.geometry.shape.moldability import Moldability
    from quoting.geometry.sheet.membrane import ThicknessMap

LONGEST = 200  # entries of a list that are printed
LARGEST_ARRAY = 12  # numbers of an array that are printed; maps over faces are shown as pictures instead
MOST_MARKS = 9
CIRCLE = 96  # straight pieces of a circle that is drawn
RING = (20, 96, 160)  # colour of it: blue, apart from the red of corners for most eyes
MOST_MOLDED = 500_000  # faces whose draft is looked at: 810,000 ran out of the memory allowed, 460,000 did not
SMALL = (420, 280)  # px, of a picture that stands beside others to choose from


@dataclass
class Work:
    """One body on its way through the hooks. ``draw`` [-] points out of the cavity; ``tool`` is female or male."""

    surface: Surface
    options: dict[str, Any]
    draw: tuple[float, float, float]
    tool: str = "female"
    draws: tuple = ()  # best first, where they were found before the hooks
    known: Any = None  # the body prepared, where that was done before the hooks
    pictures: dict[str, bytes] = field(default_factory=dict)
    drawn: dict[int, Drawn] = field(default_factory=dict)
    maps: dict[str, tuple[Surface, ColourMap]] = field(default_factory=dict)
    meshes: dict[str, bytes] = field(default_factory=dict)
    seen: dict[tuple[float, float, float], Any] = field(default_factory=dict)

    @cached_property
    def prepared(self) -> Any:
        """The body joined and wound (``shape.prepared.Prepared``), once for all hooks."""
        from quoting.geometry.shape.prepared import prepared

        return self.known or prepared(self.surface)

    @property
    def views(self) -> Any:
        """What tools see of the body along its draw (``shape.seen.Views``); looked at once for all hooks."""
        from quoting.geometry.shape.seen import viewed

        if self.draw not in self.seen:
            self.seen[self.draw] = viewed(self.prepared, np.array(self.draw))
        return self.seen[self.draw]

    def show(self, name: str, title: str, subtitle: str = "", **more) -> None:
        """Add a picture: of ``surface`` or of this body, from ``look`` (above, below or draw), coloured and marked."""
        surface = more.get("surface", self.surface)
        if id(surface) not in self.drawn:
            self.drawn[id(surface)] = Drawn(surface)
        if "colours" in more:
            self.maps[name] = (surface, more["colours"])
        draw = np.array(more.get("draw", self.draw))
        look = more.get("look", "above")
        view = (
            along_draw(surface.vertices, draw) if look == "draw" else oblique(surface.vertices, draw, look == "below")
        )
        size = tuple(int(side) for side in more.get("size") or self.options.get("size", (900, 600)))
        paper = Paper(size, title, subtitle, self.options.get("lengths") == "inch", more.get("creases", True))
        self.pictures[name] = picture(
            self.drawn[id(surface)], view, paper, more.get("colours"), more.get("marks", ()), more.get("lines", ())
        )


def draw_of(work: Work) -> dict[str, Any]:
    """Best directions of draw; the first becomes that of the work unless the options name one."""
    from quoting.geometry.shape.draw import best_draws

    work.draws = work.draws or best_draws(work.prepared)
    if "draw" not in work.options:
        work.draw = tuple(work.draws[0].direction)
    return {"draws": plain(work.draws)}


def shown(work: Work) -> dict[str, Any]:
    """Shaded pictures from above, from below and along the draw, and a small one along each draw that was found."""
    for look, title in (("above", "Part from above"), ("below", "Part from below"), ("draw", "Part along the draw")):
        work.show(f"shaded_{look}", title, look=look)
    for number, draw in enumerate(work.draws, 1):
        work.show(f"draw_{number}", f"Draw {number}", look="draw", draw=draw.direction, size=SMALL)
    return {}


def measures_of(work: Work) -> dict[str, Any]:
    """Sizes along the draw; the tool that suits becomes that of the work unless the options name one."""
    from quoting.geometry.shape.measures import measured

    found = measured(work.surface, np.array(work.draw), work.views, work.options.get("tool"))
    if "tool" not in work.options:
        work.tool = found.tool_side.tool
    return plain(found)


def moldability_of(work: Work) -> dict[str, Any]:
    """Draft, undercuts, pockets and sharp corners, with a map of the draft and the undercuts hatched."""
    from quoting.geometry.shape.moldability import moldability
    from quoting.geometry.shape.prepared import UnmeasurableError

    if len(work.surface.faces) > MOST_MOLDED:
        raise UnmeasurableError(
            f"the model has {len(work.surface.faces):,} faces, and draft, undercuts and corners are looked at on no "
            f"more than {MOST_MOLDED:,}: export it with a coarser tolerance"
        )
    found = moldability(work.surface, np.array(work.draw), work.tool, work.views)
    flagged = np.zeros(len(work.surface.faces), bool)
    for trouble in found.undercuts:
        flagged[trouble.faces] = True
    marks = [
        Mark(np.array(trouble.where), str(number)) for number, trouble in enumerate(found.undercuts[:MOST_MARKS], 1)
    ]
    colours = ColourMap(found.draft, "Draft [deg]", 0.0, 10.0, 10, False, flagged, "undercut" if flagged.any() else "")
    for look in ("above", "below"):
        work.show(f"draft_{look}", "Draft of the walls", "below 0 the part hooks on the tool",
                  look=look, colours=colours, marks=marks)  # fmt: skip
    _show_places(work, found)
    return plain(found)


def _show_places(work: Work, found: "Moldability") -> None:
    """Sharp corners as red edges, and the widest circle in the opening of each deep pocket, or of the deepest."""
    from quoting.geometry.pictures.colour_map import FLAG

    pockets = found.pockets[:MOST_MARKS] or ((found.pocket,) if found.pocket else ())
    across, back, up = along_draw(work.surface.vertices, np.array(work.draw)).axes
    turn = np.linspace(0.0, 2 * np.pi, CIRCLE + 1)
    lines, marks = [Lines(found.corner_edges, FLAG, 3.0)], []
    for number, pocket in enumerate(pockets, 1):
        middle = np.array(pocket.where) + (pocket.depth if work.tool == "female" else 0.0) * up
        ring = middle + pocket.width / 2 * (np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * back)
        lines.append(Lines(np.stack((ring[:-1], ring[1:]), axis=1), RING, 2.4))
        marks.append(Mark(np.array(pocket.where), str(number)))
    work.show("places", "Sharp corners and pockets", "red: no radius; circle: the widest that fits into an opening",
              lines=lines, marks=marks)  # fmt: skip


def _skin(work: Work, tool: str) -> Surface:
    """The faces that a tool touches, without the flat of a filled block where it is open."""
    touched = np.unique(work.views.parent[work.views.skin(tool)[0]])
    ready = work.prepared.surface
    return Surface(ready.vertices, ready.faces[touched])


def membrane_of(work: Work) -> dict[str, Any]:
    """Wall over gauge of the formed sheet, with a map of it and its thinnest place marked."""
    from quoting.geometry.sheet.membrane import COARSE, form

    return _mapped(work, "wall", form(resolution=COARSE, **_forming(work)))


def fine_of(work: Work) -> dict[str, Any]:
    """The same worked out on a finer sheet; how far it is stands meanwhile in the directory of the pictures."""
    from quoting.geometry.sheet.membrane import FINE, form
    from quoting.geometry.told_progress import Told

    directory = work.options.get("directory")
    told = Told(Path(directory)) if directory else None
    return _mapped(work, "wall_fine", form(resolution=FINE, progress=told, **_forming(work)))


def _forming(work: Work) -> dict[str, Any]:
    """How the sheet is formed: ``way`` of the options holds ``web`` around it [m], tool, plug and pre-stretch [-]."""
    from quoting.geometry.sheet.membrane import Clamping, Plug

    way = work.options.get("way") or {}
    tool = str(way.get("tool") or work.tool)
    return {
        "surface": _skin(work, tool), "draw_direction": np.array(work.draw), "tool_side": tool,
        "clamping": Clamping("rectangle", float(way.get("web", 0.0))),
        "plug": Plug() if way.get("plug") and tool == "female" else None,
        "pre_stretch": float(way.get("pre_stretch", 1.0)),
    }  # fmt: skip


def _mapped(work: Work, name: str, found: "ThicknessMap") -> dict[str, Any]:
    formed = Surface(found.vertices, found.faces)
    share, off = np.full(len(found.vertices), np.nan), ~found.on_part
    used = found.faces[found.on_part]
    share[used] = 100 * found.share[used]
    low, high, bands = nice_scale(float(np.nanmin(share)), float(np.nanpercentile(share, 99)))
    work.show(name, "Wall of the formed sheet", "as a share of the gauge", surface=formed,
              colours=ColourMap(share, "Wall [% of gauge]", low, high, bands, empty=off, empty_name="web"),
              creases=False, marks=[Mark(found.thinnest_point, "1")])  # fmt: skip
    way = work.options.get("way") or {}
    return plain(found) | {"tool": str(way.get("tool") or work.tool), "way": plain(way)}


def turning_of(work: Work) -> dict[str, Any]:
    """A light mesh to be turned in a browser, with the maps of the pictures that hooks before this one made."""
    from quoting.geometry.pictures.turning import Map, turning

    draft, wall = (Map(*work.maps[name]) if name in work.maps else None for name in ("draft_above", "wall"))
    work.meshes["turning"] = turning(work.surface, np.array(work.draw), draft, wall)
    return {}


# In this order; what a hook sets on the work serves those after it.
HOOKS: dict[str, Callable[[Work], dict[str, Any]]] = {
    "draw": draw_of,
    "shown": shown,
    "measures": measures_of,
    "moldability": moldability_of,
    "membrane": membrane_of,
    "turning": turning_of,
    "fine": fine_of,
}


def plain(value: Any) -> Any:
    """Dataclasses and arrays as JSON can hold them; numbers that are not finite become None, long arrays their length.

    Examples
    --------
    >>> plain((1.5, float("nan"), np.float64(2.0), np.zeros(1000)))
    [1.5, None, 2.0, {'entries': 1000}]
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {name: plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, dict):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, np.ndarray):
        return {"entries": len(value)} if value.size > LARGEST_ARRAY else plain(value.tolist())
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value[:LONGEST]]
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not isfinite(value) else value
