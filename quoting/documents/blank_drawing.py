"""The blank on the platen, drawn to scale as SVG for the quote and the inquiry page."""

from dataclasses import dataclass
from html import escape
from math import sqrt

from quoting.documents.figures import length, size

LONGEST_SIDE, TALLEST_SIDE = 390.0, 185.0  # drawing units given to the largest thing drawn
LEFT, TOP, RIGHT, ROW = 64.0, 30.0, 26.0, 15.0
LEAST_WIDTH = 490.0  # the longest line of the legend
INK, SOFT = "#1a1a1a", "#555555"
FONT = "DejaVu Sans, sans-serif"
LEAST_ROOM = 112.0  # drawing units a cavity needs to carry its own size


@dataclass(frozen=True)
class Box:
    """A rectangle in drawing units."""

    left: float
    top: float
    width: float
    height: float

    def inside(self, by: float) -> "Box":
        return Box(self.left + by, self.top + by, max(self.width - 2 * by, 0.0), max(self.height - 2 * by, 0.0))


def blank_drawing(candidate: dict, plan: dict) -> str:
    """SVG of platen, largest clamp opening, blank, clamp strip and cavities with their trim lines, all to one scale.

    Parameters
    ----------
    candidate : dict
        Plain ``Candidate`` of a snapshot [lengths in m].
    plan : dict
        Plain ``FormingPlan`` of the same snapshot [SI].

    Returns
    -------
    svg : str
        Markup that is safe to put into a page as it is [-].
    """
    machine, layout = candidate["machine"], candidate["layout"]
    platen = machine["platen_length"], machine["platen_width"]
    opening = machine["largest_opening_length"], machine["largest_opening_width"]
    blank = layout["blank_length"], layout["blank_width"]
    reach = tuple(max(sides) for sides in zip(platen, opening, blank, strict=True))
    scale = min(LONGEST_SIDE / reach[0], TALLEST_SIDE / reach[1])
    left = max(LEFT, (LEAST_WIDTH - reach[0] * scale) / 2)
    field = Box(left, TOP, reach[0] * scale, reach[1] * scale)
    strip = clamp_strip(blank, plan["press"]["box_area"]) * scale
    sheet = _centred(field, blank, scale)
    cavities = _cavities(field, layout, scale)
    rows = _legend(candidate, strip / scale)
    legend = field.top + field.height + 64
    height = legend + ROW * len(rows) - 6
    drawn = [
        _rectangle(_centred(field, platen, scale), fill="#ffffff", width=2.0),
        _rectangle(_centred(field, opening, scale), width=1.0, dash="9 4", colour=SOFT),
        _rectangle(sheet, fill="#e4e4e4", width=1.4),
        _rectangle(sheet.inside(strip), fill="#f8f8f8", width=0.6, colour=SOFT),
        *(_cavity(cavity) for cavity in cavities),
        _cavity_size(cavities[0], layout),
        _along(field, platen, scale, field.top - 11, "platen"),
        _along(field, blank, scale, field.top + field.height + 26, "blank"),
        _across(field, blank, scale),
        _scale_bar(field, scale),
        *_drawn_legend(rows, legend),
    ]
    return _svg(candidate, max(field.left + field.width + RIGHT, LEAST_WIDTH), height, drawn)


def clamp_strip(blank: tuple[float, float], box_area: float) -> float:
    """Width of the strip that the clamp holds [m], from the area left inside it.

    ``(L - 2 c)(W - 2 c) = box_area``, solved for the smaller root.

    Parameters
    ----------
    blank : tuple
        Sides of the blank [m], above 0.
    box_area : float
        Area inside the clamp [m2], from 0 to that of the blank.

    Returns
    -------
    strip : float
        [m]

    Examples
    --------
    >>> round(clamp_strip((1.2, 0.8), (1.2 - 0.05) * (0.8 - 0.05)), 6)
    0.025
    """
    length, width = blank
    return max((length + width - sqrt((length - width) ** 2 + 4 * max(box_area, 0.0))) / 4, 0.0)


def _centred(field: Box, sides: tuple[float, float], scale: float) -> Box:
    width, height = sides[0] * scale, sides[1] * scale
    return Box(field.left + (field.width - width) / 2, field.top + (field.height - height) / 2, width, height)


def _cavities(field: Box, layout: dict, scale: float) -> list[Box]:
    along, across = layout["along"], layout["across"]
    part = layout["part_along"], layout["part_across"]
    gap = tuple(layout["gap"] + layout.get(wider, 0.0) for wider in ("wider_along", "wider_across"))
    block = along * part[0] + (along - 1) * gap[0], across * part[1] + (across - 1) * gap[1]
    whole = _centred(field, block, scale)
    step = (part[0] + gap[0]) * scale, (part[1] + gap[1]) * scale
    return [
        Box(whole.left + column * step[0], whole.top + row * step[1], part[0] * scale, part[1] * scale)
        for row in range(across)
        for column in range(along)
    ]


def _cavity(box: Box) -> str:
    """The formed part; its edge is the trim line, drawn dash-dot as a cut is."""
    return _rectangle(box, fill="#cfcfcf", width=1.2, dash="8 3 2 3")


def _cavity_size(box: Box, layout: dict) -> str:
    if box.width < LEAST_ROOM or box.height < 2 * ROW:
        return ""
    middle = box.left + box.width / 2, box.top + box.height / 2
    inches, millimetres = size(layout["part_along"], layout["part_across"]).removesuffix(")").split(" (")
    return _text(middle[0], middle[1] - 3, inches, anchor="middle") + _text(
        middle[0], middle[1] + 11, millimetres, anchor="middle", points=10, colour="#333333"
    )


def _along(field: Box, sides: tuple[float, float], scale: float, at: float, what: str) -> str:
    box = _centred(field, sides, scale)
    inches, millimetres = _both(sides[0])
    label = _text(box.left + box.width / 2, at - 5, f"{what} {inches} ({millimetres})", anchor="middle", points=11)
    return _line(box.left, at, box.left + box.width, at) + _tick(box.left, at) + _tick(box.left + box.width, at) + label


def _across(field: Box, blank: tuple[float, float], scale: float) -> str:
    """Width of the blank on its left, written upright so that it needs no turned text."""
    box, at = _centred(field, blank, scale), field.left - 12
    inches, millimetres = _both(blank[1])
    middle = box.top + box.height / 2
    return (
        _line(at, box.top, at, box.top + box.height)
        + _tick(at, box.top)
        + _tick(at, box.top + box.height)
        + _text(at - 6, middle - 12, "blank", anchor="end", points=10)
        + _text(at - 6, middle + 1, inches, anchor="end", points=10)
        + _text(at - 6, middle + 14, millimetres, anchor="end", points=10)
    )


def _scale_bar(field: Box, scale: float) -> str:
    foot, at = 0.3048 * scale, field.top + field.height + 40
    bar = _line(field.left, at, field.left + foot, at) + _tick(field.left, at) + _tick(field.left + foot, at)
    return bar + _text(field.left + foot + 8, at + 4, "scale bar 12 in (305 mm)", points=10)


def _legend(candidate: dict, strip: float) -> list[tuple[str, str]]:
    machine, layout = candidate["machine"], candidate["layout"]
    opening = machine["largest_opening_length"], machine["largest_opening_width"]
    blank = layout["blank_length"], layout["blank_width"]
    many = layout["along"] * layout["across"]
    over = any(side > room + 1e-9 for side, room in zip(blank, opening, strict=True))
    return [
        ("platen", f"Platen {size(machine['platen_length'], machine['platen_width'])}"),
        ("opening", f"Largest clamp opening {size(*opening)}"),
        ("blank", f"Blank {size(*blank)}{', larger than the opening' if over else ''}"),
        ("strip", f"Clamp strip {length(strip)} on each side"),
        ("cavity", f"{many} {'cavity' if many == 1 else 'cavities'}, trim line "
                   f"{size(layout['part_along'], layout['part_across'])}"),
    ]  # fmt: skip


def _drawn_legend(rows: list[tuple[str, str]], top: float) -> list[str]:
    looks = {
        "platen": {"fill": "#ffffff", "width": 2.0},
        "opening": {"fill": "#ffffff", "width": 1.0, "dash": "9 4", "colour": SOFT},
        "blank": {"fill": "#f8f8f8", "width": 1.4},
        "strip": {"fill": "#e4e4e4", "width": 0.6, "colour": SOFT},
        "cavity": {"fill": "#cfcfcf", "width": 1.2, "dash": "8 3 2 3"},
    }
    drawn = []
    for number, (look, text) in enumerate(rows):
        at = top + ROW * number
        drawn.append(_rectangle(Box(LEFT, at - 10, 30, 11), **looks[look]) + _text(LEFT + 40, at, text, points=11))
    return drawn


def _both(value: float) -> tuple[str, str]:
    inches, millimetres = size(value).removesuffix(")").split(" (")
    return inches, millimetres


def _rectangle(box: Box, *, fill: str = "none", width: float, dash: str = "", colour: str = INK) -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<rect x="{box.left:.2f}" y="{box.top:.2f}" width="{box.width:.2f}" height="{box.height:.2f}"'
        f' fill="{fill}" stroke="{colour}" stroke-width="{width}"{dashed}/>'
    )


def _line(left: float, top: float, right: float, bottom: float) -> str:
    return f'<path d="M{left:.2f} {top:.2f}L{right:.2f} {bottom:.2f}" fill="none" stroke="{INK}" stroke-width="0.8"/>'


def _tick(left: float, top: float) -> str:
    return _line(left - 4, top + 4, left + 4, top - 4)


def _text(left: float, top: float, text: str, *, anchor: str = "start", points: int = 12, colour: str = INK) -> str:
    return (
        f'<text x="{left:.2f}" y="{top:.2f}" font-family="{FONT}" font-size="{points}" text-anchor="{anchor}"'
        f' fill="{colour}">{escape(text)}</text>'
    )


def _svg(candidate: dict, width: float, height: float, drawn: list[str]) -> str:
    layout = candidate["layout"]
    title = f"Blank on the platen of machine {candidate['machine']['code']}"
    told = (
        f"Platen {size(candidate['machine']['platen_length'], candidate['machine']['platen_width'])}; blank "
        f"{size(layout['blank_length'], layout['blank_width'])}; {layout['along']} by {layout['across']} cavities of "
        f"{size(layout['part_along'], layout['part_across'])}."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}"'
        f' height="{height:.0f}" role="img" aria-label="{escape(title)}. {escape(told)}">'
        f"<title>{escape(title)}</title><desc>{escape(told)}</desc>{''.join(drawn)}</svg>"
    )
