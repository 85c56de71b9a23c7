"""Runs as CSV in the form that an import takes back: the empty table, and what was recorded beside its estimates."""

import csv
import io
from collections.abc import Iterable

from quoting.cells import escaped
from quoting.planning.models import RunRecord
from quoting.quotes.runs.estimates import MEASURES, Compared, compared
from quoting.quotes.runs.reading import HEADINGS

EXAMPLE = (
    "Q-2026-0001", "QUARRY-T1", "2026-11-02", "2026-11-03", "300", "11", "163", "104 s", "3.5 h", "5.8 h", "3350 lb",
    "155 s", "57", "2026-11-06", "an example; take this row out",
)  # fmt: skip


def template() -> str:
    """The headings and one example row."""
    return _text([HEADINGS, EXAMPLE])


def accuracy_csv(runs: Iterable[RunRecord]) -> str:
    """Each run a line: what it was, and of each measure the estimate, the actual and their ratio.

    At the end of the line stands each estimate as it was quoted, with the correction factors of its answer.
    """
    head = ["run", "job", "part", "machine", "quoted on", "process", "polymer", "started", "ended", "parts good"]
    units = {one.name: {"share": "share of one"}.get(one.unit, one.unit) for one in MEASURES}
    for one in MEASURES:
        told = (f"{one.label} {what} [{units[one.name]}]" for what in ("estimated", "actual"))
        head += [*told, f"{one.label} ratio"]
    head += [f"{one.label} as quoted [{units[one.name]}]" for one in MEASURES]
    return _text([head, *(_line(run) for run in runs)])


def _line(run: RunRecord) -> list[object]:
    job, estimated = run.job, run.estimated
    line: list[object] = [
        run.pk, job.quote, job.part, run.machine.code, estimated.get("machine", ""), job.process, job.polymer,
        run.started.isoformat(), run.ended.isoformat(), run.parts_good,
    ]  # fmt: skip
    for one in compared(run, estimated):
        line += [_figure(one, figure) for figure in (one.estimated, one.actual)]
        line.append("" if one.ratio is None else float(f"{one.ratio:.4g}"))
    return line + [_figure(one, one.estimated) for one in compared(run, estimated.get("quoted", {}))]


def _figure(one: Compared, figure: float | None) -> float | str:
    in_blanks = one.unit == "blanks"  # the column is headed in kg; the ratio holds for either
    return "" if figure is None or in_blanks else float(f"{figure:.6g}")


def _text(rows: Iterable[Iterable[object]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out).writerows([escaped(cell) for cell in row] for row in rows)
    return out.getvalue()
