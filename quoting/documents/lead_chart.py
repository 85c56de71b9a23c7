"""The lead time of a release: its steps as bars, which of them set the date, and what would bring it earlier."""

from datetime import date

from machines.critical_path import Step
from machines.promise import ROUNDING, Placed, Timing, Waits, day_of, steps_of
from quoting.documents.chart_scale import Scale, round_ticks
from quoting.documents.chart_shapes import SMALL, WIDTH, box, chart, path, text
from quoting.documents.figures import count, day

STEP = 25.0  # height of one step [drawing units]
BARS = (8.0, WIDTH - 12.0)  # sides of the bars [drawing units]
HATCH = 6.0  # between the strokes that mark a step which sets the date [drawing units]
NAMES = {
    "tool": "Tool made or moved",
    "tool room": "Fitting in our tool room",
    "first article": "First article",
    "sheet": "Sheet from the mill",
    "move": "Move to the plant that trims",
    "finishing": "Cool, check and pack, at the least",
    "pack": "Ready to ship",
    "transit": "On the road to you",
    "trim": "Trimming",
}
TOOL = ("tool", "queue for tool room", "tool room")  # one stage to a customer
HASTE = {
    "tool": "a tool that is built sooner",
    "queue for tool room": "free hours in the tool room, or a tool bought finished",
    "tool room": "more hours in the tool room",
    "first article": "a quicker approval of the first article",
    "sheet": "sheet that is here sooner, in stock or from another mill",
    "move": "trimming where the part is formed",
    "finishing": "a shorter time for cooling out, checks and packing",
    "transit": "a faster carrier or a nearer plant",
    "forming": "more hours on the machine, as overtime or a further shift",
    "trim": "more hours at the trimmer",
    "assembly": "a second person at the bench",
    "packing": "a second person at the bench",
}


def timing_from(plain: dict) -> Timing:
    """A stored timing as a value."""
    room = plain.get("tool_room")
    placed = tuple(Placed(**one) for one in plain["placed"])
    return Timing(Waits(**plain["waits"]), placed, Placed(**room) if room else None)


def lead_shown(breaks: list[dict], ordered_on: str, *, inside: bool) -> list[dict]:
    """For each release its chart, its table and a sentence; empty for answers stored before there were steps.

    Parameters
    ----------
    breaks : list of dict
        Plain price breaks [days].
    ordered_on : str
        ISO day of the answer, taken for that of the order [-].
    inside : bool
        For our own people: with waiting at each place, hours and codes. A customer hears of whole stages [-].

    Returns
    -------
    shown : list of dict
        [-]
    """
    on = date.fromisoformat(ordered_on)
    return [_release(one, on, inside) for one in breaks if one.get("timing")]


def _release(one: dict, on: date, inside: bool) -> dict:
    timing = timing_from(one["timing"])
    steps = [step for step in steps_of(timing) if step.finish - step.start > ROUNDING]
    rows = [_row(step, timing, on, inside) for step in (steps if inside else _stages(steps))]
    arrives, quantity = day_of(on, timing.arrives), count(one["quantity"])
    reaches = "at your dock" if timing.waits.transit > 0 else "ready on our dock"
    return {
        "quantity": quantity,
        "arrives": day(arrives),
        "road": timing.waits.transit > 0,
        "leaves": day(day_of(on, timing.leaves)),
        "rows": rows,
        "chart": _chart(
            rows, max(row["finish"] for row in rows), f"Steps of a release of {quantity}, {reaches} by {day(arrives)}"
        ),
        "earlier": earlier(steps) if inside else "",
    }


def _row(step: Step, timing: Timing, on: date, inside: bool) -> dict:
    """A step's line. It begins on the day by whose end what it waits for is there, so never before that ends."""
    written = _short if inside else _printed
    worked = (*timing.placed, timing.tool_room) if timing.tool_room else timing.placed
    place = next((each for each in worked if each.name == step.name), None)
    begins, ends = day_of(on, step.start), day_of(on, step.finish)
    # A customer is told whole days, so that bar, days and weeks say the same; our own people the hours behind them.
    start, finish = (step.start, step.finish) if inside else ((begins - on).days, (ends - on).days)
    return {
        "name": said(step.name) if inside else NAMES.get(step.name, said(step.name)),
        "start": start,
        "finish": finish,
        "begins": written(begins),
        "ends": written(ends),
        "days": f"{finish - start:.1f}",
        "weeks": f"{(finish - start) / 7:.1f}",
        "critical": step.critical,
        "slack": "" if step.critical else f"{step.slack:.1f}",
        "work": f"{place.hours:.1f} h at {place.where}" if place and inside else "",
    }


def _short(on: date) -> str:
    return f"{on.day} {on:%b %Y}"  # as our screens write days


def _printed(on: date) -> str:
    return f"{on:%b} {on.day}, {on.year}"  # as the quote writes days, with the month cut


def said(name: str) -> str:
    """A step in the words of the trade.

    >>> said("queue for trim"), said("tool")
    ('Waiting for trim', 'Tool made or moved')
    """
    if name.startswith("queue for "):
        return f"Waiting for {name.removeprefix('queue for ')}"
    return "On the road to the customer" if name == "transit" else NAMES.get(name, name.capitalize())


def _stages(steps: list[Step]) -> list[Step]:
    """Steps as a customer hears of them: all that is done with the part between tool or sheet and the road is one."""
    tool = [one for one in steps if one.name in TOOL]
    waits = [_joined("tool", tool)] if tool else []
    waits += [one for one in steps if one.name in ("first article", "sheet")]
    made = [one for one in steps if one.name not in (*TOOL, "first article", "sheet", "transit")]
    road = [one for one in steps if one.name == "transit"]
    if not made:
        return [*waits, *road]
    return [*waits, _joined("forming to packing, as booked", made), *road]


def _joined(name: str, steps: list[Step]) -> Step:
    return Step(
        name, min(one.start for one in steps), max(one.finish for one in steps), min(one.slack for one in steps)
    )


def earlier(steps: list[Step]) -> str:
    """What would bring the date earlier: the longest step that sets it, and what comes next behind it.

    Parameters
    ----------
    steps : list of Step
        Those that take time [days].

    Returns
    -------
    sentence : str
        [-]
    """
    setting = [one for one in steps if one.critical]
    longest = max(setting, key=lambda one: one.finish - one.start)
    lasts = longest.finish - longest.start
    others = [one for one in steps if not one.critical and one.start < longest.finish and one.finish > longest.start]
    next_one = min(others, key=lambda one: one.slack, default=None)
    start = f"Earlier by {_haste(longest.name)}: {said(longest.name).lower()} sets the date with {lasts:.1f} days"
    if next_one is None:
        return f"{start}, and nothing runs beside it."
    gain = min(next_one.slack, lasts)
    return f"{start}; after {gain:.1f} days of gain {said(next_one.name).lower()} sets it."


def _haste(name: str) -> str:
    if name not in HASTE and name.startswith("queue for "):
        return f"free hours for {name.removeprefix('queue for ')}, on another machine or by overtime"
    return HASTE.get(name, f"a shorter {name}")


def _chart(rows: list[dict], end: float, title: str) -> dict:
    across = Scale(0.0, end / 7 or 1.0, *BARS)
    shapes, down = [], 4.0
    for row in rows:
        left, right = across.at(row["start"] / 7), across.at(row["finish"] / 7)
        shapes.append(box("pace" if row["critical"] else "bar", left, down + 14, right, down + 22))
        if row["critical"]:
            shapes += _hatched(left, right, down)
        mark = "▶ " if row["critical"] else ""
        label = f"{mark}{row['name']}, {_lasting(row['finish'] - row['start'])}"
        weight = "bold" if row["critical"] else "normal"
        shapes.append(text(BARS[0] + 2, down + 11, label, size=SMALL, weight=weight))
        down += STEP
    ticks = round_ticks(0.0, end / 7, 6)
    grid = [path("grid", (across.at(tick), 2.0), (across.at(tick), down)) for tick in ticks]
    feet = [text(across.at(tick), down + 13, f"{tick:g}", anchor="middle", size=SMALL) for tick in ticks]
    feet.append(text(BARS[0], down + 27, "weeks from the order; ▶ striped: sets the date", size=SMALL))
    told = "; ".join(
        f"{row['name']} {row['begins']} to {row['ends']}, {'sets the date' if row['critical'] else 'has slack'}"
        for row in rows
    )
    return chart("lead-time", title, f"{told}.", down + 32, grid + shapes + feet)


def _lasting(days: float) -> str:
    if days == 0:
        return "less than a day"
    return f"{days / 7:.1f} weeks" if days >= 14 else f"{days:.1f} days"


def _hatched(left: float, right: float, down: float) -> list[dict]:
    """Strokes across a bar, so that it can be told apart without colour."""
    places = [left + HATCH * number for number in range(1, int((right - left) / HATCH))]
    return [path("stripe", (at - 3, down + 22), (at + 3, down + 14)) for at in places]
