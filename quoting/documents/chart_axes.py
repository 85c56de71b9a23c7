"""The frame of a chart with both unit systems on it: degrees Fahrenheit beside Celsius, inches beside millimetres."""

from dataclasses import dataclass

from materials.sheet import INCH
from quoting.documents.chart_scale import Scale, round_step, round_ticks, rows_of, text_width, tick_text
from quoting.documents.chart_shapes import SMALL, SOFT, TYPE, box, path, text

LEFT, RIGHT = 40.0, 320.0  # sides of every plot [drawing units]
ROW = 13.0  # height of a row of labels [drawing units]
ZERO_CELSIUS = 273.15  # K, by definition
ZERO_FAHRENHEIT = 459.67  # degR, by definition


@dataclass(frozen=True)
class Plot:
    """A plot with its two scales: across it and down it, in SI."""

    across: Scale
    down: Scale
    top: float
    bottom: float


@dataclass(frozen=True)
class Mark:
    """A label above a plot, over the place it speaks of."""

    middle: float
    words: str


def fahrenheit(kelvin: float) -> float:
    """``T_F = 9/5 T_K - 459.67``.

    >>> round(fahrenheit(373.15), 6)
    212.0
    """
    return kelvin * 9 / 5 - ZERO_FAHRENHEIT


def from_fahrenheit(degrees: float) -> float:
    """Kelvin of a tick in degrees Fahrenheit.

    >>> round(from_fahrenheit(212.0), 6)
    373.15
    """
    return (degrees + ZERO_FAHRENHEIT) * 5 / 9


def temperature_ticks(low: float, high: float) -> tuple[list[tuple[float, str]], list[tuple[float, str]]]:
    """(value [K], text) of round ticks in Fahrenheit, and of those in Celsius."""
    us = [(from_fahrenheit(value), f"{value:.0f}") for value in round_ticks(fahrenheit(low), fahrenheit(high), 7)]
    si = [(value + ZERO_CELSIUS, f"{value:.0f}") for value in round_ticks(low - ZERO_CELSIUS, high - ZERO_CELSIUS, 7)]
    return us, si


def length_ticks(reach: float) -> tuple[list[tuple[float, str]], list[tuple[float, str]]]:
    """(value [m], text) of round ticks from 0 to ``reach``: in inches, and in millimetres."""
    both = []
    for unit in (INCH, 0.001):
        step = round_step(reach / unit, 5)
        both.append([(value * unit, tick_text(value, step)) for value in round_ticks(0.0, reach / unit, 5)])
    return both[0], both[1]


def temperature_sides(plot: Plot, low: float, high: float) -> list[dict]:
    """Fahrenheit with its grid on the left side, Celsius on the right."""
    us, si = temperature_ticks(low, high)
    drawn = []
    for value, said in us:
        down = plot.down.at(value)
        drawn += [path("grid", (LEFT, down), (RIGHT, down)), path("tick", (LEFT - 4, down), (LEFT, down))]
        drawn.append(text(LEFT - 6, down + 4, said, anchor="end", size=SMALL))
    for value, said in si:
        down = plot.down.at(value)
        drawn += [path("tick", (RIGHT, down), (RIGHT + 4, down)), text(RIGHT + 6, down + 4, said, size=SMALL)]
    drawn.append(text(LEFT - 6, plot.top - 8, "°F", anchor="end", size=SMALL, colour=SOFT))
    drawn.append(text(RIGHT + 6, plot.top - 8, "°C", size=SMALL, colour=SOFT))
    return drawn


def temperature_feet(plot: Plot, low: float, high: float) -> list[dict]:
    """Fahrenheit with its grid below the plot, Celsius on a second line below that."""
    us, si = temperature_ticks(low, high)
    second = plot.bottom + 20
    drawn = [path("tick", (LEFT, second), (RIGHT, second))]
    for value, said in us:
        across = plot.across.at(value)
        drawn += [path("grid", (across, plot.top), (across, plot.bottom))]
        drawn.append(text(across, plot.bottom + 13, said, anchor="middle", size=SMALL))
    for value, said in si:
        across = plot.across.at(value)
        drawn += [path("tick", (across, second), (across, second + 3))]
        drawn.append(text(across, second + 14, said, anchor="middle", size=SMALL))
    drawn.append(text(LEFT - 6, plot.bottom + 13, "°F", anchor="end", size=SMALL, colour=SOFT))
    drawn.append(text(LEFT - 6, second + 14, "°C", anchor="end", size=SMALL, colour=SOFT))
    return drawn


def depth_sides(plot: Plot, reach: float) -> list[dict]:
    """Depth below the upper face: inches on the left, millimetres on the right."""
    us, si = length_ticks(reach)
    drawn = []
    for value, said in us:
        down = plot.down.at(value)
        # the last one stays clear of the unit of the temperatures below the plot
        beside = min(down + 4, plot.bottom)
        drawn += [path("tick", (LEFT - 4, down), (LEFT, down))]
        drawn.append(text(LEFT - 6, beside, said, anchor="end", size=SMALL))
    for value, said in si:
        down = plot.down.at(value)
        drawn += [path("tick", (RIGHT, down), (RIGHT + 4, down)), text(RIGHT + 6, down + 4, said, size=SMALL)]
    drawn.append(text(LEFT - 6, plot.top - 8, "in", anchor="end", size=SMALL, colour=SOFT))
    drawn.append(text(RIGHT + 6, plot.top - 8, "mm", size=SMALL, colour=SOFT))
    return drawn


def time_foot(plot: Plot, end: float, said: str) -> list[dict]:
    """Seconds below the plot, up to ``end``."""
    drawn = []
    for value in round_ticks(0.0, end, 6):
        across = plot.across.at(value)
        drawn += [path("tick", (across, plot.bottom), (across, plot.bottom + 4))]
        drawn.append(text(across, plot.bottom + 15, f"{value:.0f}", anchor="middle", size=SMALL))
    drawn.append(text(RIGHT, plot.bottom + 28, said, anchor="end", size=SMALL, colour=SOFT))
    return drawn


def frame(plot: Plot) -> dict:
    return box("frame", LEFT, plot.top, RIGHT, plot.bottom)


def mark_rows(marks: tuple[Mark, ...]) -> tuple[list[tuple[float, int]], int]:
    """(middle, row counted from the plot) of each label, and how many rows they need."""
    placed = []
    for mark in marks:
        half = text_width(mark.words, TYPE) / 2
        placed.append((min(max(mark.middle, LEFT + half), RIGHT - half), half))
    rows = rows_of(tuple((middle - half, middle + half) for middle, half in placed))
    return [(middle, row) for (middle, _), row in zip(placed, rows, strict=True)], max(rows, default=-1) + 1


def drawn_marks(marks: tuple[Mark, ...], top: float) -> list[dict]:
    """Labels above the plot, each in its row, with a line down to what it speaks of where it stands higher."""
    drawn = []
    for mark, (middle, row) in zip(marks, mark_rows(marks)[0], strict=True):
        down = top - 5 - ROW * row
        if row:
            drawn.append(path("leader", (mark.middle, top), (mark.middle, down + 3)))
        drawn.append(text(middle, down, mark.words, anchor="middle"))
    return drawn
