"""Recorded runs as the screens show them: figures beside their estimates, and the charts of accuracy."""

from collections.abc import Iterable
from datetime import date

from quoting import units
from quoting.documents.chart_axes import LEFT, RIGHT, Plot, frame
from quoting.documents.chart_scale import Scale, round_step, round_ticks, tick_text
from quoting.documents.chart_shapes import SMALL, SOFT, chart, curve, dot, path, text
from quoting.planning.models import Job, RunRecord
from quoting.quotes.models import QUOTE, Inquiry
from quoting.quotes.runs.accuracy import MeasureAccuracy, Ratios
from quoting.quotes.runs.estimates import Compared, compared
from quoting.quotes.runs.learning import Taught
from quoting.quotes.runs.recording import ORDERED, in_force

PLOT_TOP, PLOT_HEIGHT = 22.0, 120.0  # drawing units
LEAST_REACH = 0.2  # of the ratio above and below one, so that small errors look small
MOST_RUNS = 3  # of a job, on the page of its inquiry
NAMED_MONTHS = 6  # names of months that fit below a chart


def figure(value: float | None, unit: str) -> str:
    """One figure of a run in the reader's units; empty where it was not taken."""
    if value is None:
        return ""
    return f"{value:,.0f} blanks" if unit == "blanks" else units.show(value, unit)


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
    """Each measure of a run: estimated, actual, and how far apart."""
    return [_row(one) for one in compared(run, run.estimated)]


def _row(one: Compared) -> dict:
    return {
        "label": one.measure.label,
        "what": one.measure.what,
        "estimated": figure(one.estimated, one.unit),
        "actual": figure(one.actual, one.unit),
        "off": off(one.ratio),
    }


def shown(run: RunRecord) -> dict:
    """A run with its figures, and what a reader of them should know."""
    quoted_on = run.estimated.get("machine", "")
    return {
        "run": run,
        "rows": side_by_side(run),
        "moved": quoted_on if quoted_on and quoted_on != run.machine.code else "",
        "without_estimate": not run.estimated,
    }


def recorded_for(inquiry: Inquiry) -> dict:
    """The runs of an inquiry's jobs, and the jobs that a run can be recorded for."""
    numbers = set(inquiry.quotes.filter(kind=QUOTE).values_list("number", flat=True))
    jobs = list(Job.objects.filter(quote__in=numbers, state__in=ORDERED)) if numbers else []
    runs = list(in_force().filter(job__in=jobs).select_related("job", "machine")[: MOST_RUNS + 1]) if jobs else []
    return {"jobs": jobs, "runs": [shown(one) for one in runs[:MOST_RUNS]], "more": len(runs) > MOST_RUNS}


def accuracy_shown(measured: Iterable[MeasureAccuracy]) -> list[dict]:
    """Each measure that was recorded, with its chart and its table by month, newest first."""
    return [
        {
            "measure": one.measure,
            "whole": ratios_row(one.whole),
            "chart": accuracy_chart(one),
            "months": [(month, ratios_row(ratios)) for month, ratios in reversed(one.months)],
        }
        for one in measured
        if one.whole
    ]


def ratios_row(ratios: Ratios) -> dict:
    return {
        "runs": ratios.runs,
        "median": f"{ratios.median:.3f}",
        "off": off(ratios.median),
        "range": "" if ratios.low is None else f"{ratios.low:.3f} to {ratios.high:.3f}",
    }


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
    """Median of actual over estimated by month, with the line where the estimate was right."""
    points = tuple((_months(month), ratios.median) for month, ratios in one.months)
    first, last = points[0][0], max(points[-1][0], points[0][0] + 1)
    low = min(1 - LEAST_REACH, *(ratio for _, ratio in points))
    high = max(1 + LEAST_REACH, *(ratio for _, ratio in points))
    room, bottom = 0.08 * (high - low), PLOT_TOP + PLOT_HEIGHT
    plot = Plot(Scale(first - 0.4, last + 0.4, LEFT, RIGHT), Scale(low - room, high + room, bottom, PLOT_TOP),
                PLOT_TOP, bottom)  # fmt: skip
    right = plot.down.at(1.0)
    shapes = [
        *_side(plot, low - room, high + room),
        *_foot(plot, int(first), int(last)),
        frame(plot),
        path("normal", (LEFT, right), (RIGHT, right)),
        curve("first", points, plot.across, plot.down),
        *(dot("dot", plot.across.at(at), plot.down.at(ratio)) for at, ratio in points),
    ]
    told = "; ".join(f"{month:%b %Y} {ratios.median:.2f} of {ratios.runs}" for month, ratios in one.months)
    title = f"{one.measure.label}: actual over estimated by month"
    return chart(f"accuracy-{one.measure.name}", title, f"Median and runs: {told}.", bottom + 22, shapes)


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
