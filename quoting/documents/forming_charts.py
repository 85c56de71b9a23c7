"""The charts of a forming study: temperatures over time, through the thickness, on the tool, and the stations."""

from dataclasses import dataclass

import numpy as np

from quoting.documents.chart_axes import (
    LEFT,
    RIGHT,
    ROW,
    Mark,
    Plot,
    depth_sides,
    drawn_marks,
    fahrenheit,
    frame,
    mark_rows,
    temperature_feet,
    temperature_sides,
    time_foot,
)
from quoting.documents.chart_scale import Scale, round_ticks, spread, text_width
from quoting.documents.chart_shapes import BRICK, PINE, SMALL, TYPE, WIDTH, box, chart, curve, dot, path, text
from quoting.documents.figures import figure
from quoting.documents.labels import said

PLOT_HEIGHT = 205.0  # drawing units
LANE = 76.0  # drawing units right of the last moment, where the lines are named
BOLD = 1.08  # width of a bold text over that of a normal one, at most, in DejaVu Sans
WATCHED = 40  # places along a name at which its way from the curves is looked at
SEEN = 1.5  # drawing units by which two lines must differ to be seen as two


@dataclass(frozen=True)
class Line:
    """A named line: (time [s], temperature [K]) from the first moment to the last."""

    name: str
    look: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Level:
    """A temperature that matters, with its name [K]."""

    name: str
    look: str
    temperature: float
    colour: str


def temperature_chart(heating: dict) -> dict:
    """Skins and mid-plane from loading to the touch of the tool, over the forming window and the phases.

    Parameters
    ----------
    heating : dict
        Plain ``HeatingStudy`` [s, K].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    lines = sheet_lines(heating["curve"])
    levels = window_levels(heating)
    low, high = _reach(lines, levels)
    end = heating["curve"][-1]["time"]
    across = Scale(0.0, end, LEFT, RIGHT - LANE)
    marks = tuple(Mark(across.at((one["start"] + one["end"]) / 2), said(one["name"], {})) for one in heating["phases"])
    top = 18 + ROW * mark_rows(marks)[1]
    plot = Plot(across, Scale(low, high, top + PLOT_HEIGHT, top), top, top + PLOT_HEIGHT)
    shapes = [
        *_phases(heating["phases"], plot),
        box("window", LEFT, plot.down.at(levels[0].temperature), RIGHT, plot.down.at(levels[-1].temperature)),
        *temperature_sides(plot, low, high),
        *time_foot(plot, end, "s from loading"),
        *_levels(levels, plot),
        frame(plot),
        *_lines(lines, plot),
        *drawn_marks(marks, top),
        *_level_names(levels, plot, above=True),
    ]
    return chart("temperature", "Sheet temperature over time", _heating_told(heating), plot.bottom + 34, shapes)


def sheet_lines(curve_: list[dict]) -> tuple[Line, ...]:
    """Upper skin, mid-plane, and the lower skin where it runs visibly apart from the upper one."""
    upper = _points(curve_, "upper_skin")
    core = Line("mid-plane", "second", _points(curve_, "middle"))
    lower = _points(curve_, "lower_skin")
    warmest = max(value for _, value in upper + core.points)
    coldest = min(value for _, value in upper + core.points)
    apart = max(abs(one[1] - other[1]) for one, other in zip(upper, lower, strict=True))
    if apart * PLOT_HEIGHT <= SEEN * max(warmest - coldest, 1.0):
        return Line("both skins", "first", upper), core
    return Line("upper skin", "first", upper), core, Line("lower skin", "third", lower)


def window_levels(heating: dict) -> tuple[Level, ...]:
    """The forming window from below: lower limit, normal, scorch limit."""
    return (
        Level("lower limit", "lower", heating["lower_forming_temperature"], PINE),
        Level("normal", "normal", heating["normal_forming_temperature"], PINE),
        Level("scorch limit", "scorch", heating["upper_forming_temperature"], BRICK),
    )


def cooling_chart(curve_: list[dict], demould_temperature: float, time: float) -> dict:
    """The wall that governs on its tool: free side, middle, tool side, and where it may leave the tool.

    Parameters
    ----------
    curve_ : list of dict
        Plain ``Moment`` of the cooling [s, K].
    demould_temperature : float
        [K]
    time : float
        When the part leaves the tool [s].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    lines = (
        Line("free side", "first", _points(curve_, "upper_skin")),
        Line("middle", "second", _points(curve_, "middle")),
        Line("tool side", "third", _points(curve_, "lower_skin")),
    )
    levels = (Level("demould at", "scorch", demould_temperature, BRICK),)
    low, high = _reach(lines, levels)
    end = max(curve_[-1]["time"], time)
    top = 18 + ROW
    plot = Plot(Scale(0.0, end, LEFT, RIGHT - LANE), Scale(low, high, top + PLOT_HEIGHT, top), top, top + PLOT_HEIGHT)
    off = plot.across.at(time)
    shapes = [
        *temperature_sides(plot, low, high),
        *time_foot(plot, end, "s on the tool"),
        *_levels(levels, plot),
        path("normal", (off, plot.top), (off, plot.bottom)),
        frame(plot),
        *_lines(lines, plot),
        *drawn_marks((Mark(off, f"off the tool at {time:.0f} s"),), top),
        _name_in_the_clear(levels[0], lines, plot, off),
    ]
    told = (
        f"From {figure(curve_[0]['hottest'], 'K')} the hottest point falls to {figure(demould_temperature, 'K')}, at "
        f"which the part may leave the tool, in {time:.0f} s."
    )
    return chart("cooling", "Cooling of the wall that governs", told, plot.bottom + 34, shapes)


def profile_chart(heating: dict) -> dict:
    """Temperature through the thickness as it leaves the oven and as it meets the tool, the upper face on top.

    Parameters
    ----------
    heating : dict
        Plain ``HeatingStudy`` [m, K].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    leaving, meeting = (
        tuple((one["temperature"], one["depth"]) for one in heating[key]) for key in ("exit_profile", "contact_profile")
    )
    levels = window_levels(heating)
    known = [value for value, _ in leaving + meeting] + [one.temperature for one in levels]
    reach = max(max(known) - min(known), 1.0)
    low, high = min(known) - 0.45 * reach, max(known) + 0.06 * reach
    thick = leaving[-1][1]
    across = Scale(low, high, LEFT, RIGHT)
    marks = tuple(Mark(across.at(one.temperature), one.name) for one in levels)
    top = 18 + ROW * mark_rows(marks)[1]
    plot = Plot(across, Scale(0.0, thick, top, top + 0.8 * PLOT_HEIGHT), top, top + 0.8 * PLOT_HEIGHT)
    shapes = [
        box("window", across.at(levels[0].temperature), top, across.at(levels[-1].temperature), plot.bottom),
        *temperature_feet(plot, low, high),
        *depth_sides(plot, thick),
        *_upright(levels, plot),
        frame(plot),
        curve("first", leaving, plot.across, plot.down),
        curve("second", meeting, plot.across, plot.down),
        *_pointed(leaving, plot, 0.3, "leaving the oven"),
        *_pointed(meeting, plot, 0.62, "at the tool"),
        text(LEFT + 5, top + 14, "upper face", size=SMALL),
        text(LEFT + 5, plot.bottom - 6, "lower face", size=SMALL),
        *drawn_marks(marks, top),
    ]  # fmt: skip
    return chart(
        "profile", "Temperature through the thickness", _profile_told(leaving, meeting), plot.bottom + 40, shapes
    )


def stations_chart(cycle: dict) -> dict:
    """One bar per station on a scale of seconds; the one that sets the pace is dark and marked.

    Parameters
    ----------
    cycle : dict
        Plain ``Cycle`` of a plan [s].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    stations = cycle["stations"]
    longest = max((one["time"] for one in stations), default=0.0) or 1.0
    step, top = 32.0, 6.0
    bottom = top + step * len(stations)
    across = Scale(0.0, longest * 1.04, 8.0, WIDTH - 14.0)
    shapes = []
    for tick in round_ticks(0.0, longest * 1.04, 6):
        shapes.append(path("grid", (across.at(tick), top), (across.at(tick), bottom)))
        shapes.append(text(across.at(tick), bottom + 13, f"{tick:.0f}", anchor="middle", size=SMALL))
    for number, one in enumerate(stations):
        governs, down = one["name"] == cycle["governing_station"], top + step * number
        shapes.append(box("pace" if governs else "bar", 8.0, down + 16, across.at(one["time"]), down + 27))
        words = f"{'▶ ' if governs else ''}{said(one['name'], {})} {one['time']:.1f} s"
        size = min(TYPE, round((WIDTH - 15.0) / (BOLD * text_width(words, 1.0)), 1))
        shapes.append(text(11.0, down + 12, words, size=size, weight="bold" if governs else "normal"))
    shapes.append(text(11.0, bottom + 26, "▶ sets the pace", size=SMALL))
    shapes.append(text(WIDTH - 4, bottom + 26, "s at the station", anchor="end", size=SMALL))
    shapes.append(path("tick", (8.0, top), (8.0, bottom)))
    pace = cycle["governing_station"]
    told = "; ".join(
        f"{said(one['name'], {})} {one['time']:.1f} s{', sets the pace' if one['name'] == pace else ''}"
        for one in stations
    )
    return chart("stations", "Time at each station", f"{told}.", bottom + 30, shapes)


def _points(curve_: list[dict], key: str) -> tuple[tuple[float, float], ...]:
    return tuple((one["time"], one[key]) for one in curve_)


def _reach(lines: tuple[Line, ...], levels: tuple[Level, ...]) -> tuple[float, float]:
    """From a little below the coldest to a little above the hottest thing drawn [K]."""
    known = [value for line in lines for _, value in line.points] + [one.temperature for one in levels]
    room = 0.07 * max(max(known) - min(known), 1.0)
    return min(known) - room, max(known) + 1.4 * room


def _phases(phases: list[dict], plot: Plot) -> list[dict]:
    """Every other phase on a tint, each with a line at its end."""
    drawn = [
        box("band", plot.across.at(one["start"]), plot.top, plot.across.at(one["end"]), plot.bottom)
        for one in phases[1::2]
    ]
    ends = [plot.across.at(one["end"]) for one in phases]
    return drawn + [path("edge", (end, plot.top), (end, plot.bottom)) for end in ends]


def _levels(levels: tuple[Level, ...], plot: Plot) -> list[dict]:
    """A line across the plot for each level."""
    downs = [plot.down.at(one.temperature) for one in levels]
    return [path(one.look, (LEFT, down), (RIGHT, down)) for one, down in zip(levels, downs, strict=True)]


def _upright(levels: tuple[Level, ...], plot: Plot) -> list[dict]:
    """A line down the plot for each level."""
    across = [plot.across.at(one.temperature) for one in levels]
    return [path(one.look, (at, plot.top), (at, plot.bottom)) for one, at in zip(levels, across, strict=True)]


def _level_names(levels: tuple[Level, ...], plot: Plot, *, above: bool) -> list[dict]:
    """Names at the left end, above or below their lines, apart from each other."""
    wanted = tuple(plot.down.at(one.temperature) + (-4 if above else 13) for one in levels)
    places = spread(wanted, ROW, plot.top + TYPE, plot.bottom - 3)
    return [
        text(LEFT + 5, down, f"{one.name} {fahrenheit(one.temperature):.0f} °F", size=SMALL, colour=one.colour)
        for one, down in zip(levels, places, strict=True)
    ]


def _name_in_the_clear(level: Level, lines: tuple[Line, ...], plot: Plot, most: float) -> dict:
    """Name of a level above or below its line, left of ``most``, where every curve is farthest from it."""
    words = f"{level.name} {fahrenheit(level.temperature):.0f} °F"
    at, width = plot.down.at(level.temperature), text_width(words, SMALL)
    curves = [
        ([plot.across.at(time) for time, _ in one.points], [plot.down.at(kelvin) for _, kelvin in one.points])
        for one in lines
    ]

    def clearance(place: tuple[float, float]) -> float:
        left, base = place
        under = np.linspace(left, left + width, WATCHED)
        return min(float(np.abs(np.interp(under, *one) - (base - SMALL / 3)).min()) for one in curves)

    starts = np.linspace(LEFT + 5, max(most - width - 5, LEFT + 5), WATCHED).tolist()
    left, base = max(((start, at + off) for start in starts for off in (-4.0, 13.0)), key=clearance)
    return text(left, base, words, size=SMALL, colour=level.colour)


def _lines(lines: tuple[Line, ...], plot: Plot) -> list[dict]:
    """The lines, each named in the lane behind its last point."""
    drawn = [curve(one.look, one.points, plot.across, plot.down) for one in lines]
    ends = tuple(plot.down.at(one.points[-1][1]) for one in lines)
    places = spread(tuple(end + 4 for end in ends), ROW + 1, plot.top + TYPE, plot.bottom - 3)
    for one, end, down in zip(lines, ends, places, strict=True):
        last = plot.across.at(one.points[-1][0])
        drawn.append(path("leader", (last, end), (last + 7, down - 4)))
        drawn.append(text(last + 9, down, one.name, size=SMALL))
    return drawn


def _pointed(points: tuple[tuple[float, float], ...], plot: Plot, share: float, name: str) -> list[dict]:
    """A name in the empty left part of the plot, with a line to its curve."""
    found = points[round(share * (len(points) - 1))]
    across, down = plot.across.at(found[0]), plot.down.at(found[1])
    right = LEFT + 0.75 * text_width(name, SMALL)  # it begins behind the text, whose white edge covers it
    return [
        path("leader", (right, down), (across, down)),
        dot("dot", across, down, 2.6),
        text(LEFT + 5, down + 4, name, size=SMALL),
    ]


def _heating_told(heating: dict) -> str:
    last = heating["curve"][-1]
    hottest = max(one["hottest"] for one in heating["curve"])
    phases = ", ".join(f"{one['name']} {one['start']:.0f} to {one['end']:.0f} s" for one in heating["phases"])
    scorch, lower = heating["upper_forming_temperature"], heating["lower_forming_temperature"]
    named = (("upper skin", "upper_skin"), ("mid-plane", "middle"), ("lower skin", "lower_skin"))
    meets = ", ".join(f"{name} {figure(last[key], 'K')}" for name, key in named)
    return (
        f"Phases: {phases}. Hottest {figure(hottest, 'K')}, scorch limit {figure(scorch, 'K')}. At the tool: {meets}; "
        f"forming window {figure(lower, 'K')} to {figure(scorch, 'K')}."
    )


def _profile_told(leaving: tuple, meeting: tuple) -> str:
    parts = []
    for name, points in (("Leaving the oven", leaving), ("At the tool", meeting)):
        middle = points[len(points) // 2][0]
        parts.append(
            f"{name}: upper face {figure(points[0][0], 'K')}, middle {figure(middle, 'K')}, "
            f"lower face {figure(points[-1][0], 'K')}"
        )
    return "; ".join(parts) + "."
