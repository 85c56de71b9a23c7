"""A first plan at once, and the laying-out of hours by week of any choice of machines: earliest due work first."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from machines.movable import Job, Option, Problem, open_options

SOLVER_SLACK = 1e-4  # h that a job may lack: the solver's tolerance leaves up to this over, floats far less
LATE_SLACK = 1e-2  # h that no job is called late for


@dataclass(frozen=True)
class Placed:
    """Hours of a job on its machine in one week."""

    job: str
    machine: str
    week: int
    hours: float


def greedily_placed(problem: Problem) -> tuple[Placed, ...] | None:
    """A machine and weeks for each job, one after another: locked work first, then by due week and size.

    Each takes what makes it least late, then costs least, then needs the least overtime, as things then stand.

    Parameters
    ----------
    problem : Problem
        [h]

    Returns
    -------
    placed : tuple of Placed or None
        None where a job found no room [h].
    """
    normal, over = problem.capacity.copy(), problem.overtime.copy()
    sent = {(each.tool, each.plant): each.cost for each in problem.transports}
    with_rows, at, places = {each.tool for each in problem.transports}, _bound_tools(problem), []
    prices = problem.overtime_prices
    for job in sorted(problem.jobs, key=lambda one: (not one.locked, one.due, -_largest(one), one.code)):
        found = None
        for option in open_options(job):
            row = problem.row(option.machine)
            plant = problem.plants[row]
            if job.tool in with_rows and ((job.tool, plant) not in sent or at.get(job.tool, plant) != plant):
                continue
            laid = _room(problem, job, option, normal[row], over[row])
            if laid is not None:
                travel = sent[job.tool, plant] if job.tool in with_rows and job.tool not in at else 0
                hours = laid[2].sum()
                key = (laid[0], float(option.cost + travel) + hours * prices[row], hours, option.hours, option.machine)
                found = min(found, (key, row, laid), key=lambda each: each[0]) if found else (key, row, laid)
        if found is None:
            return None
        (*_, machine), row, (_, taken, extra) = found
        normal[row] -= taken
        over[row] -= extra
        hours = taken + extra
        places += [Placed(job.code, machine, int(week), float(hours[week])) for week in np.flatnonzero(hours)]
        at[job.tool] = problem.plants[row]
    return tuple(places)


def _largest(job: Job) -> float:
    return max((option.hours for option in job.options), default=0.0)


def _bound_tools(problem: Problem) -> dict[str, str]:
    """Where a tool has to be because work that uses it is locked."""
    return {job.tool: problem.plants[problem.row(job.current)] for job in problem.jobs if job.locked and job.tool}


def _room(
    problem: Problem, job: Job, option: Option, normal: np.ndarray, over: np.ndarray
) -> tuple[int, np.ndarray, np.ndarray] | None:
    """Weeks late, normal hours and overtime: in time by normal hours, else with overtime, else as early as it goes."""
    latest = problem.weeks - 1 if job.latest is None else min(job.latest, problem.weeks - 1)
    taken, extra, left = np.zeros_like(normal), np.zeros_like(over), option.hours
    for week in range(job.release, min(job.due, latest) + 1):
        taken[week] = min(left, normal[week])
        left -= taken[week]
    for week in range(job.release, latest + 1):
        if left <= SOLVER_SLACK:
            break
        extra[week] = min(left, over[week])
        left -= extra[week]
        if week > job.due:
            taken[week] = min(left, normal[week])
            left -= taken[week]
    if left > SOLVER_SLACK:
        return None
    used = np.flatnonzero(taken + extra)
    return max(0, int(used[-1]) - job.due) if len(used) else 0, taken, extra


def laid_out(
    problem: Problem, places: Mapping[str, str], deadlines: Mapping[str, int], hours: np.ndarray
) -> tuple[Placed, ...]:
    """Hours by week of chosen machines: in each week the work whose deadline comes first, as much as there are hours.

    On one machine with work that can be interrupted this meets every set of deadlines that can be met.

    Parameters
    ----------
    problem : Problem
        [h]
    places : mapping of str to str
        Machine by job [-].
    deadlines : mapping of str to int
        Last week by job [week].
    hours : array
        (machines, weeks) hours with overtime [h].

    Returns
    -------
    placed : tuple of Placed
        By machine, week and deadline [h].

    References
    ----------
    Earliest deadline first is optimal for preemptive work on one machine, from memory, unverified.
    """
    result = []
    for row, machine in enumerate(problem.machines):
        waiting = sorted((job for job in problem.jobs if places.get(job.code) == machine),
                         key=lambda job: (deadlines[job.code], job.due, job.code))  # fmt: skip
        left = {job.code: next(one.hours for one in job.options if one.machine == machine) for job in waiting}
        for week in range(problem.weeks):
            room = float(hours[row, week])
            for job in waiting:
                take = min(room, left[job.code]) if job.release <= week else 0.0
                if 0 < left[job.code] - take <= LATE_SLACK and week >= deadlines[job.code]:
                    take = left[job.code]  # what rounding left over at the deadline
                if take > 0:
                    result.append(Placed(job.code, machine, week, take))
                    left[job.code] -= take
                    room = max(0.0, room - take)
    return tuple(result)
