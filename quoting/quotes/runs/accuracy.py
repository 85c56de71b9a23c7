"""How near estimates came: actual over estimated by measure and month, of the runs in force."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from statistics import median

import numpy as np
from django.db.models import QuerySet

from machines.runs import LEAST_RUNS, TAIL
from quoting.planning.models import RunRecord
from quoting.quotes.runs.estimates import MEASURES, Compared, Measure, compared
from quoting.quotes.runs.recording import in_force

FILTERS = ("machine", "polymer", "process")


@dataclass(frozen=True)
class Ratios:
    """Actual over estimated of some runs: the median [-], and P10 and P90 where there are enough for a tenth."""

    runs: int
    median: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class MeasureAccuracy:
    """One measure: all runs together, and by the month in which they ended."""

    measure: Measure
    whole: Ratios | None
    months: tuple[tuple[date, Ratios], ...]


def ratios_of(values: Iterable[float]) -> Ratios:
    """
    >>> ratios_of([1.0, 1.1, 1.3])
    Ratios(runs=3, median=1.1, low=None, high=None)
    """
    values = list(values)
    if len(values) < LEAST_RUNS:
        return Ratios(len(values), median(values))
    low, high = np.quantile(values, (TAIL, 1 - TAIL))
    return Ratios(len(values), median(values), float(low), float(high))


def runs_by(machine: str = "", polymer: str = "", process: str = "") -> QuerySet[RunRecord]:
    """The runs in force that ran on this machine, and whose jobs are of this polymer and process."""
    wanted = {"machine__code": machine, "job__polymer": polymer, "job__process": process}
    return in_force().select_related("job", "machine").filter(**{key: one for key, one in wanted.items() if one})


def choices() -> dict[str, list[str]]:
    """What each filter can be set to: what was run."""
    rows = in_force().values_list("machine__code", "job__polymer", "job__process").distinct().order_by()
    return {name: sorted({row[at] for row in rows}) for at, name in enumerate(FILTERS)}


def compared_runs(runs: Iterable[RunRecord]) -> Iterator[tuple[RunRecord, Compared]]:
    """Every figure of every run that has an estimate beside it."""
    for run in runs:
        for one in compared(run, run.estimated):
            if one.ratio is not None:
                yield run, one


def accuracy(runs: Iterable[RunRecord]) -> tuple[MeasureAccuracy, ...]:
    """By measure, in the order of ``MEASURES``; the months are those in which runs ended."""
    by_month: dict[str, dict[date, list[float]]] = defaultdict(lambda: defaultdict(list))
    for run, one in compared_runs(runs):
        by_month[one.measure.name][run.ended.replace(day=1)].append(one.ratio)
    return tuple(_measured(measure, by_month[measure.name]) for measure in MEASURES)


def _measured(measure: Measure, by_month: dict[date, list[float]]) -> MeasureAccuracy:
    every = [ratio for ratios in by_month.values() for ratio in ratios]
    months = tuple((month, ratios_of(by_month[month])) for month in sorted(by_month))
    return MeasureAccuracy(measure, ratios_of(every) if every else None, months)
