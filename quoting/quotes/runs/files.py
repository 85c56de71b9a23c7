"""Runs as CSV in the form that an import takes back: the empty table, and what was recorded beside its estimates."""

import csv
import io
from collections.abc import Iterable

from quoting.cells import escaped
from quoting.planning.models import RunRecord
from quoting.quotes.runs.estimates import MEASURES, compared
from quoting.quotes.runs.reading import HEADINGS

EXAMPLE = (
    "Q-2026-0001", "QUARRY-T1", "2026-11-02", "2026-11-03", "300", "11", "163", "104 s", "3.5 h", "5.8 h", "3350 lb",
    "155 s", "57", "2026-11-06", "an example; take this row out",
)  # fmt: skip


def template() -> str:
    """The headings and one example row."""
    return _text([HEADINGS, EXAMPLE])


def accuracy_csv(runs: Iterable[RunRecord]) -> str:
    """Each run a line: what it was, and of each measure the estimate, the actual and their ratio."""
    head = ["run", "job", "part", "machine", "quoted on", "process", "polymer", "started", "ended", "parts good"]
    for one in MEASURES:
        unit = {"share": "share of one", "count": "count"}.get(one.unit, one.unit)
        head += [f"{one.label} {told} [{unit}]" for told in ("estimated", "actual")] + [f"{one.label} ratio"]
    return _text([head, *(_line(run) for run in runs)])


def _line(run: RunRecord) -> list[object]:
    job, estimated = run.job, run.estimated
    line: list[object] = [
        run.pk, job.quote, job.part, run.machine.code, estimated.get("machine", ""), job.process, job.polymer,
        run.started.isoformat(), run.ended.isoformat(), run.parts_good,
    ]  # fmt: skip
    for one in compared(run, estimated):
        in_blanks = one.unit == "blanks"  # the column is headed in kg; the ratio holds for either
        line += [
            "" if figure is None or in_blanks else float(f"{figure:.6g}") for figure in (one.estimated, one.actual)
        ]
        line.append("" if one.ratio is None else float(f"{one.ratio:.4g}"))
    return line


def _text(rows: Iterable[Iterable[object]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out).writerows([escaped(cell) for cell in row] for row in rows)
    return out.getvalue()
