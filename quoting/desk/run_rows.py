"""Recorded runs as the screens show them: figures beside their estimates, and the charts of accuracy."""

from collections.abc import Iterable
from datetime import date

from quoting import units
from quoting.documents.chart_axes import LEFT, RIGHT, Plot, frame
from quoting.documents.chart_scale import Scale, round_step, round_ticks, tick_text
from quoting.documents.chart_shapes import SMALL, SOFT, chart, curve, dot, path, text
from quoting.planning.models import Job, RunRecord
from quoting.quotes.models import QUOTE, Quote
from quoting.quotes.runs.accuracy import MeasureAccuracy, Nearness, Ratios
from quoting.quotes.runs.estimates import BY_NAME, Compared, compared
from quoting.quotes.runs.learning import Taught
from quoting.quotes.runs.recording import ORDERED, in_force

PLOT_TOP, PLOT_HEIGHT = 22.0, 120.0  # drawing units
LEAST_REACH = 0.2  # of the ratio above and below one, so that small errors look small
MOST_RUNS = 3  # of a job, on the page of its inquiry
KEY_WIDTH = 130.0  # drawing units
NAMED_MONTHS = 6  # names of months that fit below a chart


def figure(value: float | None, unit: str) -> str:
    """One figure of a run in the reader's units; empty where it was not taken."""
    if value is None:
        return ""
    plain = {"blanks": f"{value:,.0f} blanks", "ratio": f"{value:.3f}"}
    return plain[unit] if unit in plain else units.show(value, unit)


def off(ratio: float | None) -> str:
    """By how much the actual is over or under its estimate.

    >>> off(1.083), off(0.9), off(1.0004), off(None)
    ('8.3 % over', '10.0 % under', 'as estimated', '')
    """
    if ratio is None:
        return ""
    percent = round(100 * (ratio - 1), 1)
    if not percent:
        return "as estimated"
    return f"{abs(percent):.1f} % {'over' if percent > 0 else 'under'}"


def side_by_side(run: RunRecord) -> list[dict]:
    """Each measure of a run: estimated, as quoted where factors were in force, actual, and how far apart. The actual
    stands against what was quoted."""
    rows = compared(run, run.estimated)
    if not run.estimated.get("factors"):
        return [_row(one, one) for one in rows]
    return [_row(one, quoted) for one, quoted in zip(rows, compared(run, run.estimated["quoted"]), strict=True)]


def _row(one: Compared, quoted: Compared) -> dict:
    return {
        "label": one.measure.label,
        "what": one.measure.what,
        "estimated": figure(one.estimated, one.unit),
        "quoted": figure(quoted.estimated, quoted.unit),
        "actual": figure(one.actual, one.unit),
        "off": off(quoted.ratio),
    }


def shown(run: RunRecord) -> dict:
    """A run with its figures, and what a reader of them should know."""
    quoted_on, factors = run.estimated.get("machine", ""), run.estimated.get("factors", {})
    return {
        "run": run,
        "rows": side_by_side(run),
        "moved": quoted_on if quoted_on and quoted_on != run.machine.code else "",
        "without_estimate": not run.estimated,
        "factors": ", ".join(f"{BY_NAME[name].label.lower()} {one:.3f}" for name, one in factors.items()),
    }


def recorded_for(documents: Iterable[Quote]) -> dict:
    """The runs of the jobs of an inquiry's documents, and the jobs that a run can be recorded for."""
    numbers = {one.number for one in documents if one.kind == QUOTE}
    jobs = list(Job.objects.filter(quote__in=numbers, state__in=ORDERED)) if numbers else []
    runs = list(in_force().filter(job__in=jobs).select_related("job", "machine")[: MOST_RUNS + 1]) if jobs else []
    return {"jobs": jobs, "runs": [shown(one) for one in runs[:MOST_RUNS]], "more": len(runs) > MOST_RUNS}


def accuracy_shown(measured: Iterable[MeasureAccuracy]) -> list[dict]:
    """Each measure that was recorded, with its chart and its table by month, newest first."""
    return [
        {
            "measure": one.measure,
            "whole": nearness_row(one.whole),
            "gain": gained(one.whole),
            "chart": accuracy_chart(one),
            "months": [(month, nearness_row(near)) for month, near in reversed(one.months)],
        }
        for one in measured
        if one.whole
    ]


def nearness_row(near: Nearness) -> dict:
    within = f"{percent(near.within / near.stated)} of {near.stated}" if near.stated else ""
    quoted = ratios_row(near.quoted) if near.quoted else None
    return {"worked_out": ratios_row(near.worked_out), "quoted": quoted, "within": within}


def ratios_row(ratios: Ratios) -> dict:
    return {
        "runs": ratios.runs,
        "median": f"{ratios.median:.3f}",
        "error": percent(ratios.error),
        "range": "" if ratios.low is None else f"{ratios.low:.3f} to {ratios.high:.3f}",
    }


def percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def gained(near: Nearness) -> str:
    """What the factors did to the median error of the runs that were quoted with them, in words; empty without any."""
    if near.before is None or near.after is None:
        return ""
    before, after = round(100 * near.before.error, 1), round(100 * near.after.error, 1)
    word = (
        "no nearer"
        if before == after
        else f"{abs(before - after):.1f} points {'nearer' if after < before else 'further off'}"
    )
    runs = f"{near.after.runs:,} run{'' if near.after.runs == 1 else 's'} quoted with factors"
    return f"{word}: {before:.1f} % off as worked out, {after:.1f} % as quoted, of {runs}"


def taught_shown(taught: Taught) -> dict:
    """What the runs teach of one measure, its factors by effect."""
    spread = f"{taught.least:.3f} to {taught.most:.3f}" if taught.least is not None else ""
    return {
        "measure": taught.measure,
        "runs": taught.runs,
        "spread": spread,
        "why": taught.why,
        "factors": [
            {
                "effect": one.effect, "name": one.name, "runs": one.runs, "observed": f"{one.observed:.3f}",
                "factor": f"{one.factor:.3f}",
            }
            for one in taught.factors
        ],
    }  # fmt: skip


def accuracy_chart(one: MeasureAccuracy) -> dict:
    """Median of actual over estimated by month, as worked out and as quoted, with the line where it was right."""
    points = tuple((_months(month), near.worked_out.median) for month, near in one.months)
    quoted = tuple((_months(month), near.quoted.median) for month, near in one.months if near.quoted and near.after)
    every = [ratio for _, ratio in points + quoted]
    first, last = points[0][0], max(points[-1][0], points[0][0] + 1)
    low, high = min(1 - LEAST_REACH, *every), max(1 + LEAST_REACH, *every)
    room, bottom = 0.08 * (high - low), PLOT_TOP + PLOT_HEIGHT
    plot = Plot(Scale(first - 0.4, last + 0.4, LEFT, RIGHT), Scale(low - room, high + room, bottom, PLOT_TOP),
                PLOT_TOP, bottom)  # fmt: skip
    right = plot.down.at(1.0)
    shapes = [
        *_side(plot, low - room, high + room),
        *_foot(plot, int(first), int(last)),
        frame(plot),
        path("normal", (LEFT, right), (RIGHT, right)),
        *_line("second" if quoted else "first", points, plot),
        *(_line("first", quoted, plot) if quoted else ()),
        *_key(plot, bool(quoted)),
    ]
    told = "; ".join(_told(month, near) for month, near in one.months)
    title = f"{one.measure.label}: actual over estimated by month"
    return chart(f"accuracy-{one.measure.name}", title, f"Median and runs: {told}.", bottom + 40, shapes)


def _line(look: str, points: tuple[tuple[float, float], ...], plot: Plot) -> list[dict]:
    dots = [dot("dot", plot.across.at(at), plot.down.at(ratio)) for at, ratio in points]
    return [curve(look, points, plot.across, plot.down), *dots] if len(points) > 1 else dots


def _key(plot: Plot, quoted: bool) -> list[dict]:
    """What each line is, below the months."""
    down, named = plot.bottom + 33, [("first", "as worked out")]
    if quoted:
        named = [("second", "as worked out"), ("first", "as quoted with factors")]
    drawn = []
    for place, (look, words) in enumerate(named):
        left = LEFT + place * KEY_WIDTH
        drawn += [path(look, (left, down - 4), (left + 22, down - 4)), text(left + 27, down, words, size=SMALL)]
    return drawn


def _told(month: date, near: Nearness) -> str:
    words = f"{month:%b %Y} {near.worked_out.median:.2f} as worked out of {near.worked_out.runs}"
    return words + (f", {near.quoted.median:.2f} as quoted of {near.quoted.runs}" if near.after else "")


def _months(day: date) -> float:
    return float(12 * day.year + day.month - 1)


def _side(plot: Plot, low: float, high: float) -> list[dict]:
    step, drawn = round_step(high - low, 5), []
    for tick in round_ticks(low, high, 5):
        down = plot.down.at(tick)
        drawn += [path("grid", (LEFT, down), (RIGHT, down)), path("tick", (LEFT - 4, down), (LEFT, down))]
        drawn.append(text(LEFT - 6, down + 4, tick_text(tick, step), anchor="end", size=SMALL))
    drawn.append(text(LEFT - 34, plot.top - 8, "actual over estimated", size=SMALL, colour=SOFT))
    return drawn


def _foot(plot: Plot, first: int, last: int) -> list[dict]:
    drawn, apart = [], max(1, -(-(last - first + 1) // NAMED_MONTHS))
    for at in range(first, last + 1):
        across = plot.across.at(float(at))
        drawn.append(path("tick", (across, plot.bottom), (across, plot.bottom + 4)))
        if (last - at) % apart == 0:
            words = f"{date(at // 12, at % 12 + 1, 1):%b %y}"
            drawn.append(text(across, plot.bottom + 16, words, anchor="middle", size=SMALL))
    return drawn
