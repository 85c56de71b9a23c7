"""Half a section of the part with its predicted walls: outline to scale, wall drawn thicker so that it is seen."""

from dataclasses import dataclass
from math import cos, hypot, pi, sin, tan

from quoting.documents.chart_scale import spread
from quoting.documents.chart_shapes import BRICK, SMALL, SOFT, TYPE, chart, dot, path, text
from quoting.documents.figures import length

LEFT, TOP = 16.0, 22.0  # drawing units
FIELD_WIDTH, FIELD_HEIGHT = 140.0, 150.0  # drawing units for the cavity from its middle to the rim, and for its depth
THICKEST = 13.0  # drawing units for a wall as thick as the gauge
FLATTEST, STEEPEST = 2.4, 0.45  # half width over depth beyond which the sketch is no longer to scale
WEB = 24.0  # drawing units of web beside the cavity
LABELS = 212.0  # drawing units: where the labels begin
LABEL_GAP = 31.0  # drawing units between two labels of two lines each
RADIUS = 15.0  # drawing units of the rounded edges, whatever the part has
ORDER = ("web", "rim", "side", "edge", "base")  # along the section, from outside to the middle
Point = tuple[float, float]


@dataclass(frozen=True)
class Outline:
    """The tool's surface as a line with its wall at each point, and where each place stands on it."""

    points: tuple[Point, ...]
    walls: tuple[float, ...]
    places: dict[str, int]


@dataclass(frozen=True)
class Shape:
    """Half width and depth as drawn, and the draft [drawing units, rad]."""

    half: float
    depth: float
    draft: float
    to_scale: bool


def wall_sketch(walls: list[dict], part: dict, gauge: float, *, male: bool = False) -> dict:
    """Walls at web, rim, side, edge and base on a half section, the corner beside it, the thinnest marked.

    Parameters
    ----------
    walls : list of dict
        Plain ``WallPlace`` of the method used [m].
    part : dict
        Plain ``Part``: length, width, depth [m], draft_angle [rad].
    gauge : float
        Before forming [m], above 0.
    male : bool
        The sheet lies over the tool instead of in it [-].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    known = {one["place"]: one["wall"] for one in walls}
    thinnest = min(known, key=known.get) if known else ""
    shape = drawn_shape(part)
    outline = section(shape, known, gauge)
    height = TOP + shape.depth
    turned = _turned(outline, height + TOP) if male else outline
    bottom = max(height + THICKEST, TOP + LABEL_GAP * len(ORDER) - 8)
    inset = bottom + 44
    shapes = [
        path("centre", (LEFT, TOP - 14), (LEFT, height + 18)),
        path("wall", *turned.points, *reversed(inner(turned)), closed=True),
        *_labels(turned, known, gauge, thinnest, bottom),
        *_corner(known, gauge, thinnest, inset),
        text(LEFT + 4, height + 16 if male else TOP - 10, "middle", size=SMALL, colour=SOFT),
    ]
    end = inset + 36
    note = "outline to scale" if shape.to_scale else "outline not to scale"
    shapes.append(text(LEFT - 8, end, f"half section, {note}; wall drawn thicker", size=SMALL, colour=SOFT))
    told = "; ".join(f"{name} {length(wall)}{', the thinnest' * (name == thinnest)}" for name, wall in known.items())
    return chart("walls", "Predicted walls on a half section of the part", f"{told}.", end + 8, shapes)


def drawn_shape(part: dict) -> Shape:
    """Half width and depth in drawing units; a part too flat or too steep to draw is cut short.

    Parameters
    ----------
    part : dict
        Plain ``Part`` [m, rad].

    Returns
    -------
    shape : Shape
        [drawing units, rad]
    """
    half, depth = min(part["length"], part["width"]) / 2, max(part["depth"], 1e-6)
    ratio = min(max(half / depth, STEEPEST), FLATTEST)
    deep = min(FIELD_HEIGHT, FIELD_WIDTH / ratio)
    draft = min(part.get("draft_angle") or 0.0, pi / 6)
    return Shape(deep * ratio, deep, draft, abs(ratio - half / depth) < 1e-9)


def section(shape: Shape, walls: dict[str, float], gauge: float) -> Outline:
    """The tool's surface from the web over rim, side and edge to the middle of the base, and the wall on it.

    Between two places the wall changes evenly along the surface.

    Parameters
    ----------
    shape : Shape
        [drawing units, rad]
    walls : dict
        Wall by place [m].
    gauge : float
        [m], above 0.

    Returns
    -------
    outline : Outline
        [drawing units]
    """
    rim, floor = LEFT + shape.half, TOP + shape.depth
    foot = rim - min(shape.depth * tan(shape.draft), 0.5 * shape.half)
    round_ = min(RADIUS, 0.3 * shape.half, 0.3 * shape.depth)
    over = _arc((rim + round_, TOP + round_), round_, -pi / 2, -pi)
    under = _arc((foot - round_, floor - round_), round_, 0.0, pi / 2)
    middle = ((over[-1][0] + under[0][0]) / 2, (over[-1][1] + under[0][1]) / 2)
    points = ((rim + round_ + WEB, TOP), *over, middle, *under, (LEFT, floor))
    places = {"web": 0, "rim": 1 + len(over) // 2, "side": 1 + len(over), "edge": 2 + len(over) + len(under) // 2,
              "base": len(points) - 1}  # fmt: skip
    shares = {places[one]: walls.get(one, gauge) / gauge for one in ORDER}
    return Outline(points, _between(points, shares | {1: shares[0]}), places)  # the web is even up to the rim


def inner(outline: Outline) -> list[Point]:
    """The free face of the wall: each point of the tool's surface moved off the tool by its wall.

    The line runs from the web to the middle, so that off the tool is on its right hand.
    """
    moved = []
    last = len(outline.points) - 1
    for number, (across, down) in enumerate(outline.points):
        before, after = outline.points[max(number - 1, 0)], outline.points[min(number + 1, last)]
        run, fall = after[0] - before[0], after[1] - before[1]
        by = THICKEST * outline.walls[number] / (hypot(run, fall) or 1.0)
        moved.append((across - by * fall, down + by * run))
    return moved


def _arc(centre: Point, radius: float, start: float, end: float, steps: int = 8) -> tuple[Point, ...]:
    turns = [start + (end - start) * step / steps for step in range(steps + 1)]
    return tuple((centre[0] + radius * cos(turn), centre[1] + radius * sin(turn)) for turn in turns)


def _between(points: tuple[Point, ...], known: dict[int, float]) -> tuple[float, ...]:
    """Values at every point, even along the line between the points where they are known."""
    run = [0.0]
    for one, other in zip(points, points[1:], strict=False):
        run.append(run[-1] + hypot(other[0] - one[0], other[1] - one[1]))
    fixed = sorted(known)
    values = []
    for number, at in enumerate(run):
        before = max((one for one in fixed if one <= number), default=fixed[0])
        after = min((one for one in fixed if one >= number), default=fixed[-1])
        share = (at - run[before]) / ((run[after] - run[before]) or 1.0)
        values.append(known[before] + share * (known[after] - known[before]))
    return tuple(values)


def _turned(outline: Outline, height: float) -> Outline:
    """Upside down, for a sheet that is draped over its tool."""
    return Outline(tuple((x, height - y) for x, y in outline.points), outline.walls, outline.places)


def _labels(outline: Outline, walls: dict[str, float], gauge: float, thinnest: str, bottom: float) -> list[dict]:
    """Name, share and wall of each place in a column on the right, with a line to its point."""
    named = [place for place in ORDER if place in walls]
    spots = {place: outline.points[outline.places[place]] for place in named}
    downs = spread(tuple(spots[one][1] for one in named), LABEL_GAP, TOP - 4, bottom - 8)
    drawn = []
    for place, down in zip(named, downs, strict=True):
        across, at = spots[place]
        drawn += [path("leader", (across, at), (LABELS - 12, down), (LABELS - 4, down))]
        drawn.append(dot("thin" if place == thinnest else "dot", across, at, 4.0 if place == thinnest else 2.6))
        drawn += _named(place, walls[place], gauge, down, place == thinnest)
    return drawn


def _corner(walls: dict[str, float], gauge: float, thinnest: str, down: float) -> list[dict]:
    """The corner where three faces meet lies on no section through the middle: a piece of it stands beside it."""
    if "corner" not in walls:
        return []
    across, at = LEFT + 44, down - 12  # the corner itself
    up, left, right, near = (across, at - 26), (across - 30, at + 13), (across + 30, at + 13), (across, at + 26)
    return [
        path("wall", (across, at), up, (up[0] - 30, up[1] + 13), left, closed=True),
        path("wall", (across, at), up, (up[0] + 30, up[1] + 13), right, closed=True),
        path("face", (across, at), left, near, right, closed=True),
        path("leader", (across, at), (LABELS - 12, down), (LABELS - 4, down)),
        dot("thin" if thinnest == "corner" else "dot", across, at, 4.0 if thinnest == "corner" else 2.6),
        *_named("corner", walls["corner"], gauge, down, thinnest == "corner"),
    ]


def _named(place: str, wall: float, gauge: float, down: float, is_thinnest: bool) -> list[dict]:
    """Name and share of the gauge over the wall in both systems."""
    share = f"{100 * wall / gauge:.0f} %"
    name = f"{place}: thinnest, {share}" if is_thinnest else f"{place}, {share} of gauge"
    weight, colour = ("bold", BRICK) if is_thinnest else ("normal", SOFT)
    return [
        text(LABELS, down, name, size=SMALL, colour=colour, weight=weight),
        text(LABELS, down + TYPE + 1.0, length(wall), size=SMALL),
    ]
