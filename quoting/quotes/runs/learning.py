"""What the recorded runs teach: correction factors by measure. Nothing here changes an estimate."""

from collections.abc import Iterable
from dataclasses import dataclass

from machines.runs import Factor, Learned, Run, SpreadError, checked, corrected_ratios, learned, spread
from quoting.catalog import PARTS_FORMED
from quoting.planning.models import RunRecord
from quoting.quotes.runs.accuracy import compared_runs
from quoting.quotes.runs.estimates import BY_NAME, Measure

LEARNED = ("index_time", "setup_hours", "run_hours", PARTS_FORMED, "sheet", "trim_time")
BEYOND_SCRAP = ("run_hours", "sheet")  # what goes with the parts formed is learned as it is beyond them


@dataclass(frozen=True)
class Taught:
    """Factors of one measure; ``least`` and ``most`` bound what is left of the error, None where ``why`` says so."""

    measure: Measure
    runs: int
    found: Learned
    least: float | None
    most: float | None
    why: str = ""

    @property
    def factors(self) -> tuple[Factor, ...]:
        return self.found.factors

    def together(self, machine: str, polymer: str, process: str) -> float:
        """By what an estimate for these would be multiplied [-]."""
        return self.found.factor(machine, polymer, process)


def taught(records: Iterable[RunRecord]) -> tuple[Taught, ...]:
    """Factors of each measure that can be corrected, of runs on the machine that was quoted.

    A run elsewhere would blame its machine for another's estimate. Scrap is learned as parts formed for each good one,
    which has a logarithm where nothing was lost too; run hours and sheet as what they take beyond that. What a run
    tells of scrap grows with its parts, each of which is lost or not; its times are as they are, however long it lasts.
    """
    runs: dict[str, list[Run]] = {name: [] for name in LEARNED}
    for record, figures in compared_runs(records):
        if record.machine.code != record.estimated.get("machine"):
            continue
        lost = figures[PARTS_FORMED].ratio if PARTS_FORMED in figures else 1.0
        for name in runs.keys() & figures.keys():
            one = figures[name]
            weight = float(record.parts_good + record.parts_scrapped) if name == PARTS_FORMED else 1.0
            runs[name].append(_run(record, one.estimated * (lost if name in BEYOND_SCRAP else 1.0), one.actual, weight))
    return tuple(_taught(BY_NAME[name], found) for name, found in runs.items() if found)


def _run(record: RunRecord, estimated: float, actual: float, weight: float) -> Run:
    job = record.job
    return Run(job.quote, record.machine.code, job.polymer, job.process, estimated, actual, weight)


def _taught(measure: Measure, runs: list[Run]) -> Taught:
    taken, _ = checked(runs, {one.job for one in runs})
    found = learned(taken) if taken else Learned((), 0.0, (0.0, 0.0, 0.0))
    try:
        least, most = spread(corrected_ratios(taken, found))
    except SpreadError as error:
        return Taught(measure, len(taken), found, None, None, str(error))
    return Taught(measure, len(taken), found, least, most)
