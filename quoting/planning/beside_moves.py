"""What a move of forming work does to trimmers and benches: their hours follow its weeks, where they were quoted."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from machines.weeks import HOUR_SLACK
from quoting.planning import selectors
from quoting.planning.beside import TOOL_ROOM
from quoting.planning.models import DONE, WON, BenchHours, resource_code
from quoting.planning.plan_models import PlanMove, PlanRun
from quoting.planning.weeks import WEEK


@dataclass(frozen=True)
class Overload:
    """A trimmer or bench that a move books beyond its hours in one week."""

    place: str
    week: date
    hours: float  # with the move
    before: float  # as booked now
    limit: float
    jobs: tuple[str, ...]  # all that would be worked there in that week


def overloads(run: PlanRun, moves: Iterable[PlanMove]) -> dict[int, tuple[Overload, ...]]:
    """By number of move what it alone, on top of all that is booked now, would overload; won work counts.

    Hours of the tool room do not follow a move, so no move overloads one.
    """
    places = [one for one in selectors.resources(run.on) if one.kind not in ("forming", TOOL_ROOM)]
    limits = dict(zip(
        (one.code for one in places), selectors.available(tuple(places), run.first, run.weeks), strict=True
    ))  # fmt: skip
    booked: dict[str, dict[str, np.ndarray]] = defaultdict(lambda: defaultdict(lambda: np.zeros(run.weeks)))
    rows = BenchHours.objects.filter(job__state__in=(WON, DONE), week__gte=run.first).exclude(kind=TOOL_ROOM)
    for plant, kind, code, week, hours, quote in rows.filter(week__lt=run.first + run.weeks * WEEK).values_list(
        "plant__code", "kind", "code", "week", "hours", "job__quote"
    ):
        booked[resource_code(plant, kind, code)][quote][(week - run.first) // WEEK] += hours
    shares = _shares(run)
    return {one.number: _of_move(run, one, booked, shares, limits) for one in moves}


def _shares(run: PlanRun) -> dict[str, np.ndarray]:
    """Which share of each job's hours the plan lays into each week."""
    found: dict[str, np.ndarray] = defaultdict(lambda: np.zeros(run.weeks))
    for job, _, week, hours in run.placed:
        found[job][week] += hours
    return {job: weeks / weeks.sum() for job, weeks in found.items()}


def _of_move(
    run: PlanRun, move: PlanMove, booked: dict[str, dict[str, np.ndarray]], shares: dict[str, np.ndarray],
    limits: dict[str, np.ndarray],
) -> tuple[Overload, ...]:  # fmt: skip
    found = []
    for place, jobs in sorted(booked.items()):
        if place not in limits or not set(move.jobs) & set(jobs):
            continue
        after = {job: weeks.sum() * shares[job] if job in move.jobs else weeks for job, weeks in jobs.items()}
        before, load = sum(jobs.values()), sum(after.values())
        for week in np.flatnonzero((load > limits[place] + HOUR_SLACK) & (load > before + HOUR_SLACK)):
            there = tuple(sorted(job for job, weeks in after.items() if weeks[week] > HOUR_SLACK))
            found.append(
                Overload(place, run.first + int(week) * WEEK, float(load[week]), float(before[week]),
                         float(limits[place][week]), there)
            )  # fmt: skip
    return tuple(found)
