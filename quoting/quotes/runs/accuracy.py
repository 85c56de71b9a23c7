"""How near estimates came: actual over estimated of the runs in force, as worked out and as quoted.

As worked out is before any factor; as quoted with the factors that were in force at the answer. Only what was quoted
with factors can show what they did, and the same runs are held against both.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from statistics import median

import numpy as np
from django.db.models import F, QuerySet
from django.db.models.fields.json import KeyTextTransform

from machines.runs import LEAST_RUNS, TAIL
from quoting.planning.models import RunRecord
from quoting.quotes.runs.estimates import FOLLOWED, Compared, Measure, followed
from quoting.quotes.runs.recording import in_force

FILTERS = ("machine", "polymer", "process")


@dataclass(frozen=True)
class Ratios:
    """Actual over estimated of some runs: the median [-], the median of how far off either way, and P10 and P90 where
    there are enough for a tenth."""

    runs: int
    median: float
    error: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Seen:
    """One measure of one run: actual over the estimate as worked out and as quoted, whether factors were in force, and
    whether it lay within the range that the answer stated; None where that was not kept or not stated."""

    worked_out: float
    quoted: float | None
    corrected: bool
    within: bool | None


@dataclass(frozen=True)
class Nearness:
    """Some runs together. ``within`` of ``stated`` runs lay inside their stated range. ``before`` and ``after`` are of
    the runs that were quoted with factors alone: None where there is none."""

    worked_out: Ratios
    quoted: Ratios | None
    within: int
    stated: int
    before: Ratios | None
    after: Ratios | None


@dataclass(frozen=True)
class MeasureAccuracy:
    """One measure: all runs together, and by the month in which they ended."""

    measure: Measure
    whole: Nearness | None
    months: tuple[tuple[date, Nearness], ...]


def ratios_of(values: Iterable[float]) -> Ratios | None:
    """
    >>> ratios_of([0.9, 1.2, 1.3])
    Ratios(runs=3, median=1.2, error=0.19999999999999996, low=None, high=None)
    """
    values = list(values)
    if not values:
        return None
    error = median(abs(one - 1) for one in values)
    if len(values) < LEAST_RUNS:
        return Ratios(len(values), median(values), error)
    low, high = np.quantile(values, (TAIL, 1 - TAIL))
    return Ratios(len(values), median(values), error, float(low), float(high))


def runs_by(machine: str = "", polymer: str = "", process: str = "") -> QuerySet[RunRecord]:
    """The runs in force that ran on this machine, and whose jobs are of this polymer and process."""
    wanted = {"machine__code": machine, "job__polymer": polymer, "job__process": process}
    return in_force().select_related("job", "machine").filter(**{key: one for key, one in wanted.items() if one})


def choices() -> dict[str, list[str]]:
    """What each filter can be set to: what was run."""
    rows = in_force().values_list("machine__code", "job__polymer", "job__process").distinct().order_by()
    return {name: sorted({row[at] for row in rows}) for at, name in enumerate(FILTERS)}


def moved(runs: QuerySet[RunRecord]) -> QuerySet[RunRecord]:
    """Those that ran on another machine than was quoted."""
    quoted = runs.exclude(estimated={}).annotate(quoted_on=KeyTextTransform("machine", "estimated"))
    return quoted.exclude(quoted_on=F("machine__code"))


def compared_runs(runs: Iterable[RunRecord]) -> Iterator[tuple[RunRecord, dict[str, Compared]]]:
    """Every run with its figures that have an estimate as worked out beside them, by measure."""
    for run in runs:
        yield run, followed(run, run.estimated)


def seen(run: RunRecord) -> dict[str, Seen]:
    """One run by measure."""
    kept, quoted = run.estimated, {}
    if "quoted" in kept:
        quoted = followed(run, kept["quoted"])
    corrected = bool(kept.get("factors"))
    return {
        name: _seen(
            one.ratio, quoted[name].ratio if name in quoted else None, corrected, kept.get("ranges", {}).get(name)
        )
        for name, one in followed(run, kept).items()
    }


def _seen(worked_out: float, quoted: float | None, corrected: bool, ends: list[float] | None) -> Seen:
    within = None if quoted is None or ends is None else ends[0] <= quoted <= ends[1]
    return Seen(worked_out, quoted, corrected and quoted is not None, within)


def accuracy(runs: Iterable[RunRecord]) -> tuple[MeasureAccuracy, ...]:
    """By measure, in the order of ``FOLLOWED``; the months are those in which runs ended."""
    by_month: dict[str, dict[date, list[Seen]]] = defaultdict(lambda: defaultdict(list))
    for run in runs:
        for name, one in seen(run).items():
            by_month[name][run.ended.replace(day=1)].append(one)
    return tuple(_measured(measure, by_month[measure.name]) for measure in FOLLOWED)


def _measured(measure: Measure, by_month: dict[date, list[Seen]]) -> MeasureAccuracy:
    every = [one for month in by_month.values() for one in month]
    months = tuple((month, nearness(by_month[month])) for month in sorted(by_month))
    return MeasureAccuracy(measure, nearness(every) if every else None, months)


def nearness(runs: list[Seen]) -> Nearness:
    """Runs of one measure, one at least."""
    corrected = [one for one in runs if one.corrected]
    return Nearness(
        worked_out=ratios_of(one.worked_out for one in runs),
        quoted=ratios_of(one.quoted for one in runs if one.quoted is not None),
        within=sum(one.within is True for one in runs),
        stated=sum(one.within is not None for one in runs),
        before=ratios_of(one.worked_out for one in corrected),
        after=ratios_of(one.quoted for one in corrected),
    )
