"""Work that a plan leaves on its machine and lays into other weeks than those in which it is booked."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from machines.balance_plan import Plan
from machines.movable import Problem

HOURS_THAT_COUNT = 0.05  # h

Booked = Mapping[str, Mapping[int, float]]


@dataclass(frozen=True)
class Staying:
    """The work of one machine that stays there and that the plan counts on in other weeks.

    ``week``, ``hours`` and ``limit`` say where the machine would be booked furthest beyond its hours, overtime allowed
    included, if this work kept its weeks while all else follows the plan; None where it would merely be late.
    """

    machine: str
    jobs: tuple[str, ...]
    weeks_late_saved: int
    week: int | None
    hours: float = 0.0
    limit: float = 0.0


def staying(problem: Problem, plan: Plan, booked: Booked) -> tuple[Staying, ...]:
    """Machines on which work that stays must follow the plan's weeks, since it would be late or have no room otherwise.

    Where the weeks as booked do as well, nothing is proposed: a plan lays work out anew without need.

    Parameters
    ----------
    problem : Problem
        [h]
    plan : Plan
        Of it [h].
    booked : mapping of str to mapping of int to float
        Hours of each job by week as booked, from the first week of the problem on [h].

    Returns
    -------
    staying : tuple of Staying
        By machine [weeks, h].
    """
    planned: dict[str, dict[int, float]] = defaultdict(dict)
    for one in plan.placed:
        planned[one.job][one.week] = planned[one.job].get(one.week, 0.0) + one.hours
    places = dict(plan.places)
    found = (_of_machine(problem, machine, places, planned, booked) for machine in problem.machines)
    return tuple(one for one in found if one)


def _of_machine(
    problem: Problem, machine: str, places: dict[str, str], planned: Booked, booked: Booked
) -> Staying | None:
    here = [job for job in problem.jobs if places[job.code] == machine]
    moved = [job for job in here if job.current == machine and _differ(planned[job.code], booked.get(job.code, {}))]
    if not moved:
        return None
    load, names = np.zeros(problem.weeks), {job.code for job in moved}
    for job in here:
        for week, hours in (booked.get(job.code, {}) if job.code in names else planned[job.code]).items():
            load[week] += hours if 0 <= week < problem.weeks else 0.0
    worst = furthest_beyond(problem, machine, load)
    saved = sum(_late(job.due, booked.get(job.code, {})) - _late(job.due, planned[job.code]) for job in moved)
    if worst is None and saved <= 0:
        return None
    return Staying(machine, tuple(sorted(names)), saved, *(worst or (None,)))


def furthest_beyond(problem: Problem, machine: str, load: np.ndarray) -> tuple[int, float, float] | None:
    """Where a load goes furthest beyond the hours of a machine, overtime allowed included.

    Parameters
    ----------
    problem : Problem
        [h]
    machine : str
        One of its machines [-].
    load : array
        Hours of each week of the problem [h].

    Returns
    -------
    found : tuple of int, float, float, or None
        Week, hours there and limit [-, h, h]; None where the machine has room for all of it.
    """
    row = problem.row(machine)
    limit = problem.capacity[row] + problem.overtime[row]
    week = int(np.argmax(load - limit))
    if load[week] <= limit[week] + HOURS_THAT_COUNT:
        return None
    return week, float(load[week]), float(limit[week])


def _differ(planned: Mapping[int, float], booked: Mapping[int, float]) -> bool:
    weeks = planned.keys() | booked.keys()
    return any(abs(planned.get(week, 0.0) - booked.get(week, 0.0)) > HOURS_THAT_COUNT for week in weeks)


def _late(due: int, hours: Mapping[int, float]) -> int:
    worked = [week for week, one in hours.items() if one > HOURS_THAT_COUNT]
    return max(0, max(worked) - due) if worked else 0
