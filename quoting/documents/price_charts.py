"""The charts of a price: cost lines of a release stepping up to what it costs landed, and the price by release size."""

from math import log10

from quoting.documents.chart_axes import LEFT, RIGHT, Plot, frame
from quoting.documents.chart_scale import Scale, round_step, round_ticks, text_width, tick_text
from quoting.documents.chart_shapes import PINE, SMALL, SOFT, TYPE, WIDTH, box, chart, curve, dot, path, text
from quoting.documents.figures import count, money

STEP = 25.0  # height of one line of the bar chart [drawing units]
BARS = (8.0, WIDTH - 12.0)  # sides of the bars [drawing units]
UNSEEN = 0.005  # $: less is no bar
PLOT_HEIGHT = 190.0  # drawing units
ROOM = 0.12  # share of the reach that stays free above and below the curve
SIZES = (1, 2, 5)  # round release sizes, times a power of ten


def waterfall(lines: list[dict], price_break: dict) -> dict:
    """Cost lines of one release one after the other, each from where the last one ended, up to the landed price.

    Parameters
    ----------
    lines : list of dict
        Plain cost lines of this release; they add up to its unit price [$ per part].
    price_break : dict
        Its plain price break [$ per part].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    steps = [(one["name"], float(one["per_part"])) for one in lines]
    steps = [(name, amount) for name, amount in steps if abs(amount) >= UNSEEN]
    steps.append(("freight", float(price_break["freight_per_part"])))
    totals = {"freight": ("unit price", price_break["unit_price"])}
    reach = _reach(steps)
    across = Scale(0.0, reach, *BARS)
    shapes, down, at = [], 4.0, 0.0
    for name, amount in steps:
        if name in totals:
            label, price = totals[name]
            shapes += _bar("pace", label, money(price), (0.0, float(price)), across, down)
            down, at = down + STEP, float(price)
        look = "bar" if amount >= 0 else "credit"
        shapes += _bar(look, name, _signed(amount), (at, at + amount), across, down)
        down, at = down + STEP, at + amount
    landed = price_break["landed_unit_price"]
    shapes += _bar("pace", "landed", money(landed), (0.0, float(landed)), across, down)
    bottom = down + STEP
    grid = [path("grid", (across.at(tick), 2.0), (across.at(tick), bottom)) for tick in round_ticks(0.0, reach, 6)]
    step = round_step(reach, 6)
    feet = [
        text(across.at(tick), bottom + 13, f"${tick_text(tick, step)}", anchor="middle", size=SMALL)
        for tick in round_ticks(0.0, reach, 6)
    ]
    told = "; ".join(f"{name} {_signed(amount)}" for name, amount in steps)
    title = f"From cost lines to the landed price, per part in releases of {count(price_break['quantity'])}"
    told += f"; unit price {money(price_break['unit_price'])}, landed {money(landed)}."
    return chart(f"waterfall-{price_break['quantity']}", title, told, bottom + 18, grid + shapes + feet)


def _reach(steps: list[tuple[str, float]]) -> float:
    """The farthest that the bars step to the right."""
    at = most = 0.0
    for _, amount in steps:
        at += amount
        most = max(most, at)
    return most * 1.02 or 1.0


def _bar(look: str, name: str, amount: str, ends: tuple[float, float], across: Scale, down: float) -> list[dict]:
    weight = "bold" if look == "pace" else "normal"
    return [
        box(look, across.at(ends[0]), down + 14, across.at(ends[1]), down + 22),
        text(BARS[0] + 2, down + 11, f"{name} {amount}", weight=weight, size=SMALL),
    ]


def _signed(amount: float) -> str:
    return money(f"{amount:.2f}") if amount >= 0 else f"−{money(f'{-amount:.2f}')}"


def price_curve(release: dict) -> dict:
    """Landed unit price by release size, with the sizes asked for and the one that is cheapest in a year.

    Parameters
    ----------
    release : dict
        Plain ``ReleaseAdvice`` [$].

    Returns
    -------
    chart : dict
        Size, shapes and words for ``chart_svg.html`` [drawing units].
    """
    known = {one["quantity"]: float(one["landed_unit_price"]) for one in release["curve"]}
    asked, best = [one["quantity"] for one in release["asked"]], release["best"]["quantity"]
    low, high = min(known.values()), max(known.values())
    room = ROOM * max(high - low, 0.01 * high)
    first, last = log10(min(known)), log10(max(known))
    apart = 0.04 * max(last - first, 0.1)
    top = 22.0
    plot = Plot(
        Scale(first - apart, last + apart, LEFT, RIGHT + 24),
        Scale(low - room, high + room, top + PLOT_HEIGHT, top),
        top,
        top + PLOT_HEIGHT,
    )
    points = tuple((log10(quantity), price) for quantity, price in sorted(known.items()))
    shapes = [
        *_price_side(plot, low - room, high + room),
        *_size_foot(plot, min(known), max(known)),
        frame(plot) | {"width": f"{RIGHT + 24 - LEFT:.1f}"},
        curve("first", points, plot.across, plot.down),
        *_best_line(plot, best, known[best]),
        *(dot("dot", plot.across.at(log10(one)), plot.down.at(known[one]), 4) for one in asked),
        *_asked_names(plot, asked, known),
    ]
    told = "; ".join(f"{count(one)} parts {money(f'{known[one]:.2f}')}" for one in sorted({*asked, best}))
    told = f"Landed price by release size: {told}. Cheapest in a year: releases of {count(best)}."
    return chart("price-curve", "Landed price by release size", told, plot.bottom + 34, shapes)


def _price_side(plot: Plot, low: float, high: float) -> list[dict]:
    step, drawn = round_step(high - low, 6), []
    for tick in round_ticks(low, high, 6):
        down = plot.down.at(tick)
        drawn += [path("grid", (LEFT, down), (RIGHT + 24, down)), path("tick", (LEFT - 4, down), (LEFT, down))]
        drawn.append(text(LEFT - 6, down + 4, f"{tick_text(tick, step)}", anchor="end", size=SMALL))
    drawn.append(text(LEFT - 34, plot.top - 8, "$ per part, landed", size=SMALL, colour=SOFT))
    return drawn


def _size_foot(plot: Plot, low: int, high: int) -> list[dict]:
    """Round release sizes on a scale of equal ratios; those whose names would touch are left out."""
    drawn, right = [], 0.0
    sizes = (digit * 10**power for power in range(9) for digit in SIZES)
    for size in (one for one in sizes if low <= one <= high):
        across, half = plot.across.at(log10(size)), text_width(count(size), SMALL) / 2
        drawn.append(path("tick", (across, plot.bottom), (across, plot.bottom + 4)))
        if across - half >= right:
            drawn.append(text(across, plot.bottom + 15, count(size), anchor="middle", size=SMALL))
            right = across + half + 6
    drawn.append(text(RIGHT + 24, plot.bottom + 29, "parts in a release", anchor="end", size=SMALL, colour=SOFT))
    return drawn


def _best_line(plot: Plot, best: int, price: float) -> list[dict]:
    """The size that is cheapest in a year: a line down to it, named on the side that has room."""
    across, words = plot.across.at(log10(best)), f"cheapest in a year: {count(best)}"
    width = text_width(words, SMALL)
    left = across - width - 4 > LEFT
    name = text(across + (-5 if left else 5), plot.top + TYPE + 2, words, anchor="end" if left else "start",
                size=SMALL, colour=PINE)  # fmt: skip
    return [
        path("normal", (across, plot.top), (across, plot.bottom)),
        name,
        dot("thin", across, plot.down.at(price), 4),
    ]


def _asked_names(plot: Plot, asked: list[int], known: dict[int, float]) -> list[dict]:
    """The price at each size asked for, right above its mark where the curve leaves room, else left of it.

    Where two would touch, the later one is left to the table.
    """
    drawn, right = [], 0.0
    for one in sorted(asked):
        words = money(f"{known[one]:.2f}")
        width, across = text_width(words, SMALL), plot.across.at(log10(one))
        left = across + 4 if across + 4 + width < RIGHT + 22 else RIGHT + 22 - width
        if left >= right:
            drawn.append(text(left, plot.down.at(known[one]) - 9, words, size=SMALL))
            right = left + width + 4
    return drawn
