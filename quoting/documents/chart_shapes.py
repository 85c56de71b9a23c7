"""The shapes of a chart as plain mappings, which one template writes as SVG for the screen and for print alike."""

from quoting.documents.chart_scale import Scale

WIDTH = 360.0  # drawing units of every chart: type of 12 can still be read where a chart is 270 pixels wide
TYPE, SMALL = 12.0, 11.0  # sizes of type [drawing units]
INK, SOFT, GRID, PINE, BRICK = "#1d2a28", "#46534f", "#d9d6cd", "#1c4f47", "#922b1c"
WINDOW, BAND, WALL = "#c9ddd4", "#f1eee6", "#b9c7c2"
# Lines differ in dash and weight, so that they can be told apart in grey.
LOOKS = {
    "frame": {"fill": "none", "stroke": INK, "stroke-width": 1},
    "grid": {"fill": "none", "stroke": GRID, "stroke-width": 0.8},
    "tick": {"fill": "none", "stroke": INK, "stroke-width": 0.8},
    "band": {"fill": BAND, "stroke": "none"},
    "edge": {"fill": "none", "stroke": "#a9a69a", "stroke-width": 0.8},
    "window": {"fill": WINDOW, "stroke": "none", "fill-opacity": 0.75},
    "normal": {"fill": "none", "stroke": PINE, "stroke-width": 0.9, "stroke-dasharray": "7 3 1.5 3"},
    "lower": {"fill": "none", "stroke": PINE, "stroke-width": 0.9},
    "scorch": {"fill": "none", "stroke": BRICK, "stroke-width": 1.4},
    "first": {"fill": "none", "stroke": INK, "stroke-width": 2.4, "stroke-linejoin": "round"},
    "second": {"fill": "none", "stroke": INK, "stroke-width": 1.8, "stroke-dasharray": "8 4"},
    "third": {"fill": "none", "stroke": INK, "stroke-width": 1.8, "stroke-dasharray": "2 3"},
    "leader": {"fill": "none", "stroke": SOFT, "stroke-width": 0.7},
    "centre": {"fill": "none", "stroke": SOFT, "stroke-width": 0.8, "stroke-dasharray": "10 3 2 3"},
    "wall": {"fill": WALL, "stroke": INK, "stroke-width": 1, "stroke-linejoin": "round"},
    "face": {"fill": "#dde5e2", "stroke": INK, "stroke-width": 1, "stroke-linejoin": "round"},
    "dot": {"fill": "#ffffff", "stroke": INK, "stroke-width": 1.2},
    "thin": {"fill": BRICK, "stroke": "#ffffff", "stroke-width": 1.2},
    "bar": {"fill": "#a9c2ba", "stroke": INK, "stroke-width": 0.6},
    "credit": {"fill": "#e2b9b1", "stroke": BRICK, "stroke-width": 0.8},
    "stripe": {"fill": "none", "stroke": "#ffffff", "stroke-width": 1.2},
    "pace": {"fill": PINE, "stroke": INK, "stroke-width": 0.6},
}


def path(look: str, *points: tuple[float, float], closed: bool = False) -> dict:
    """Straight pieces from point to point."""
    drawn = "L".join(f"{across:.1f} {down:.1f}" for across, down in points)
    return {"kind": "path", "d": f"M{drawn}{'Z' if closed else ''}", "look": LOOKS[look]}


def box(look: str, left: float, top: float, right: float, bottom: float) -> dict:
    """A rectangle by its sides; a side given the wrong way round is turned."""
    left, right, top, bottom = min(left, right), max(left, right), min(top, bottom), max(top, bottom)
    size = {"x": f"{left:.1f}", "y": f"{top:.1f}", "width": f"{right - left:.1f}", "height": f"{bottom - top:.1f}"}
    return {"kind": "box", **size, "look": LOOKS[look]}


def dot(look: str, across: float, down: float, radius: float = 3.2) -> dict:
    return {"kind": "dot", "x": f"{across:.1f}", "y": f"{down:.1f}", "r": radius, "look": LOOKS[look]}


def text(
    across: float, down: float, words: str, *, anchor: str = "start", size: float = TYPE, colour: str = INK,
    weight: str = "normal",
) -> dict:  # fmt: skip
    """A text on a white edge, so that lines behind it do not run through it."""
    place = {"x": f"{across:.1f}", "y": f"{down:.1f}", "anchor": anchor, "size": f"{size:g}"}
    return {"kind": "text", **place, "words": words, "colour": colour, "weight": weight}


def curve(look: str, points: tuple[tuple[float, float], ...], across: Scale, down: Scale) -> dict:
    """A line through (x, y) values on two scales."""
    return path(look, *((across.at(x), down.at(y)) for x, y in points))


def chart(name: str, title: str, told: str, height: float, shapes: list[dict], width: float = WIDTH) -> dict:
    """What the template needs: size, shapes in the order of painting, and the words for those who do not see it."""
    return {
        "name": name,
        "title": title,
        "told": told,
        "width": f"{width:g}",
        "height": f"{height:.0f}",
        "shapes": shapes,
    }
