"""The demo's past: finished jobs with their recorded runs, so that accuracy over time shows something."""

import json
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from math import prod

from django.db import transaction

from machines.models import Machine
from machines.runs import EFFECTS
from quoting.catalog import PARTS_FORMED
from quoting.costing.correcting import Corrected, corrected_scrap
from quoting.costing.money import exact
from quoting.costing.recorded_range import TOLD_BY
from quoting.planning.factor_models import ACCEPTED, FactorVersion
from quoting.planning.models import DONE, Job, RunRecord
from quoting.planning.run_models import FILE
from quoting.planning.selectors import corrections_of
from quoting.quotes.records import audit, now
from quoting.quotes.runs.estimates import stated_ranges
from quoting.quotes.runs.factors import from_runs
from quoting.quotes.selectors import catalog
from quoting.quotes.stock import DEMO

ORDERED_BEFORE, READY_BEFORE, SHIPPED_AFTER = timedelta(weeks=8), timedelta(weeks=1), timedelta(days=3)
VALUE, MARGIN = Decimal(10_000), 0.12  # of each past job; invented


@transaction.atomic
def ensure_past_runs(on: date, by: object = None) -> None:
    """Past jobs and their runs, laid before ``on``; what an earlier run of the demo did is left as it is.

    ``by`` has then accepted what the older runs taught, and work ordered since was quoted with it; without somebody
    who decides, nothing was accepted.
    """
    told = json.loads((DEMO / "runs.json").read_text(encoding="utf-8"))
    if Job.objects.filter(quote=told["runs"][0]["job"]).exists():
        return
    machines = {one.code: one for one in Machine.objects.all()}
    spreads = {one.name: (one.least, one.most) for one in catalog(on).rates.spreads}
    accepted = on - timedelta(days=told["factors_accepted_days_ago"])
    runs = sorted(told["runs"], key=lambda one: -one["days_ago"])
    starts = [on - timedelta(days=one["days_ago"]) for one in runs]
    since = len(runs) if by is None else sum(start - ORDERED_BEFORE < accepted for start in starts)
    version: FactorVersion | None = None
    for place, (one, started) in enumerate(zip(runs, starts, strict=True)):
        if by is not None and version is None and started >= accepted:
            version = _accepted(accepted, by)
        _keep_as_quoted(one["estimated"], spreads, version if place >= since else None)
        _past(one, machines[one["estimated"]["machine"]], started)


def _accepted(day: date, by: object) -> FactorVersion:
    """What the runs until a day taught, proposed on it and accepted."""
    measures, digest, count = from_runs()
    at = datetime.combine(day, time(15), UTC)
    row = FactorVersion(
        number=1, measures=measures, digest=digest, runs=count, proposed_at=at, proposed_by=by, state=ACCEPTED,
        decided_at=at, decided_by=by, valid_from=day,
    )  # fmt: skip
    row.full_clean()
    row.save()
    audit("factors_accept", by=by, version=row.number, valid_from=day.isoformat(), digest=digest)
    return row


def _keep_as_quoted(estimated: dict, spreads: dict[str, tuple[float, float]], version: FactorVersion | None) -> None:
    """What a record keeps beside the figures: as quoted, the factors in that, and the ranges that the answer stated."""
    factors, found = {}, corrections_of(version)
    names = estimated["machine"], estimated["polymer"], estimated["process"]
    for one in found.measures if found else ():
        found_of = {(each.effect, each.name): each.factor for each in one.factors}
        factors[one.measure] = prod(found_of.get(asked, 1.0) for asked in zip(EFFECTS, names, strict=True))
        if one.measure in TOLD_BY and one.least is not None:
            spreads = spreads | {TOLD_BY[one.measure]: (one.least, one.most)}
    if "run_hours" in factors:  # recorded runs then tell all of the hours
        spreads = {name: ends for name, ends in spreads.items() if name != "press_efficiency"}
    ranges = stated_ranges(spreads, estimated["scrap"], 0.0, hours="run_hours" in factors)
    measures = {name: one for name, one in estimated.items() if name not in ("machine", "process", "polymer")}
    estimated |= {
        "quoted": _corrected(measures, factors), "factors": factors,
        "ranges": {name: list(ends) for name, ends in ranges.items()},
    }  # fmt: skip


def _corrected(measures: dict, factors: dict[str, float]) -> dict:
    """The figures as an answer with these factors would have told them; shots, hours and sheet follow parts formed."""
    formed = Corrected(factors.get(PARTS_FORMED, 1.0), "")
    scrap = float(corrected_scrap(exact(measures["scrap"]), formed))
    more = (1 - measures["scrap"]) / (1 - scrap)
    by = {name: factors.get(name, 1.0) for name in ("setup_hours", "run_hours", "trim_time", "sheet")}
    by |= {"run_hours": by["run_hours"] * more, "sheet": by["sheet"] * more, "blanks": by["sheet"] * more}
    found = {name: one * by.get(name, 1.0) for name, one in measures.items()}
    return found | {"scrap": scrap, "heats": round(measures["heats"] * more)}


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
