"""The demo's past: finished jobs with their recorded runs, so that accuracy over time shows something."""

import json
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction

from machines.models import Machine
from quoting.planning.models import DONE, Job, RunRecord
from quoting.planning.run_models import FILE
from quoting.quotes.records import now
from quoting.quotes.runs.estimates import stated_ranges
from quoting.quotes.selectors import catalog
from quoting.quotes.stock import DEMO

ORDERED_BEFORE, READY_BEFORE, SHIPPED_AFTER = timedelta(weeks=8), timedelta(weeks=1), timedelta(days=3)
VALUE, MARGIN = Decimal(10_000), 0.12  # of each past job; invented


@transaction.atomic
def ensure_past_runs(on: date) -> None:
    """Past jobs and their runs, laid before ``on``; what an earlier run of the demo did is left as it is."""
    told = json.loads((DEMO / "runs.json").read_text(encoding="utf-8"))["runs"]
    if Job.objects.filter(quote=told[0]["job"]).exists():
        return
    machines = {one.code: one for one in Machine.objects.all()}
    spreads = {one.name: (one.least, one.most) for one in catalog(on).rates.spreads}
    for one in told:
        _keep_as_quoted(one["estimated"], spreads)
        _past(one, machines[one["estimated"]["machine"]], on - timedelta(days=one["days_ago"]))


def _keep_as_quoted(estimated: dict, spreads: dict[str, tuple[float, float]]) -> None:
    """What a record keeps beside the figures: quoted without factors, with the ranges that the rates state."""
    ranges = stated_ranges(spreads, estimated["scrap"], 0.0)
    measures = {name: one for name, one in estimated.items() if name not in ("machine", "process", "polymer")}
    estimated |= {"quoted": measures, "factors": {}, "ranges": {name: list(ends) for name, ends in ranges.items()}}


def _past(one: dict, machine: Machine, started: date) -> None:
    actual, estimated = one["actual"], one["estimated"]
    ended = started + timedelta(days=one["days"] - 1)
    job = Job(
        quote=one["job"], part=one["part"], state=DONE, machine=machine, process=estimated["process"],
        polymer=estimated["polymer"], quantity=actual["parts_good"],
        hours=estimated["setup_hours"] + estimated["run_hours"], since=started - ORDERED_BEFORE,
        ready=started - READY_BEFORE, due=ended + SHIPPED_AFTER, value=VALUE, margin=MARGIN,
        delivered=ended + SHIPPED_AFTER,
    )  # fmt: skip
    job.full_clean()
    job.save()
    run = RunRecord(
        job=job, machine=machine, started=started, ended=ended, delivered=job.delivered, estimated=estimated,
        source=FILE, at=now(), **actual,
    )  # fmt: skip
    run.full_clean()
    run.save()
