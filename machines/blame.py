"""Why there is no plan: work that no machine may take, or the fewest hours that are missing and where."""

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import product
from time import monotonic

import numpy as np

from machines.balance_model import CHOICE_READ, SHORT_SLACK, Choice, deadlines, model_of, solved
from machines.movable import Job, Problem, open_options

LEAST_SECONDS = 0.1  # for the solver, however long making its model took
STUCK = ("no_machine", "no_week", "tool_elsewhere")


@dataclass(frozen=True)
class Stuck:
    """A job that cannot be placed however many hours there were."""

    job: str
    reason: str  # of STUCK
    detail: tuple[str, ...]  # weeks, or plants


@dataclass(frozen=True)
class Shortage:
    """Hours that are missing on a machine, and the stretch of weeks in which most of them are: with its jobs."""

    machine: str
    first: int  # week
    last: int
    hours: float  # missing, overtime already counted
    jobs: tuple[str, ...]  # that have to run within these weeks
    available: float  # h that the machine has in these weeks, overtime included


@dataclass(frozen=True)
class Blame:
    stuck: tuple[Stuck, ...]
    shortages: tuple[Shortage, ...]


def blamed(problem: Problem, seconds: float = 20.0) -> Blame:
    """Which constraints stand in the way: what is stuck, and else the least hours with which there would be a plan.

    Those hours are found by the same model in which every machine may have more of them at a price (an elastic
    relaxation). Other choices of machines may miss as few; these are one of them.

    Parameters
    ----------
    problem : Problem
        One without a plan [h].
    seconds : float
        Making the model included [s], above 0.

    Returns
    -------
    blame : Blame
        Empty where there is a plan after all [h].
    """
    begin = monotonic()
    stuck = tuple(found for job in problem.jobs if (found := _stuck(problem, job)) is not None)
    apart = {one.job for one in stuck}
    elsewhere = _tools_elsewhere(problem, apart)
    apart |= {one.job for one in elsewhere}
    able = replace(problem, jobs=tuple(job for job in problem.jobs if job.code not in apart))
    model = model_of(able, elastic=True, last_only=True)
    found = solved(model, model.short, max(LEAST_SECONDS, seconds - (monotonic() - begin)), 0.01)
    if found.values is None or not able.jobs:
        return Blame(stuck + elsewhere, ())
    missing = found.values[model.lack]
    at: dict[int, list] = defaultdict(list)
    for choice, value in zip(model.choices, found.values, strict=False):
        if value > CHOICE_READ:
            at[choice.machine].append(choice)
    shortages = []
    for row in np.flatnonzero(missing.sum(axis=1) > SHORT_SLACK):
        shortages.append(_shortage(able, int(row), at[row], float(missing[row].sum())))
    return Blame(stuck + elsewhere, tuple(sorted(shortages, key=lambda one: -one.hours)))


def _shortage(problem: Problem, row: int, chosen: list[Choice], missing: float) -> Shortage:
    """The stretch of weeks that lacks most hours for the jobs which must begin and end within it."""
    hours = problem.capacity[row] + problem.overtime[row]

    def inside(first: int, last: int) -> list[Choice]:
        return [one for one in chosen if one.release >= first and one.deadline <= last]

    def lacks(stretch: tuple[int, int]) -> float:
        return sum(one.hours for one in inside(*stretch)) - float(hours[stretch[0] : stretch[1] + 1].sum())

    stretches = sorted(product({one.release for one in chosen}, {one.deadline for one in chosen}))
    first, last = max((each for each in stretches if each[0] <= each[1]), key=lacks)
    jobs = tuple(problem.jobs[one.job].code for one in inside(first, last))
    return Shortage(problem.machines[row], first, last, missing, jobs, float(hours[first : last + 1].sum()))


def _stuck(problem: Problem, job: Job) -> Stuck | None:
    if not open_options(job):
        return Stuck(job.code, "no_machine", ())
    if not deadlines(problem, job, problem.weeks + abs(job.due)):
        return Stuck(job.code, "no_week", (str(job.release), str(job.latest)))
    return None


def _tools_elsewhere(problem: Problem, apart: set[str]) -> tuple[Stuck, ...]:
    """Jobs of one tool that have no plant in common, or none where the tool may go."""
    allowed: dict[str, set[str]] = defaultdict(set)
    for each in problem.transports:
        allowed[each.tool].add(each.plant)
    by_tool: dict[str, list[Job]] = defaultdict(list)
    for job in problem.jobs:
        if job.tool in allowed and job.code not in apart:
            by_tool[job.tool].append(job)
    found = []
    for tool, jobs in by_tool.items():
        plants = [{problem.plants[problem.row(one.machine)] for one in open_options(job)} for job in jobs]
        if not set.intersection(allowed[tool], *plants):
            found += [Stuck(job.code, "tool_elsewhere", tuple(sorted(allowed[tool]))) for job in jobs]
    return tuple(found)
