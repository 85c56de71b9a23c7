"""The moves of a plan, each with its reason and with what would be lost without it."""

from collections import defaultdict
from dataclasses import dataclass, replace
from decimal import Decimal

from machines.balance import Plan, balanced
from machines.movable import Job, Option, Problem, kept_at

REASONS = ("no_way_back", "no_room", "late", "overtime", "none")
SECONDS_EACH = 5.0  # most for the question what would be without one move; such problems take milliseconds
HOURS_THAT_COUNT = 0.05  # h


@dataclass(frozen=True)
class Shift:
    """One job from one machine to another."""

    job: str
    machine: str
    to: str


@dataclass(frozen=True)
class Move:
    """What can only be accepted together: one job, or all work of a tool that changes plant."""

    shifts: tuple[Shift, ...]
    tool: str  # where it changes plant, otherwise empty
    cost: Decimal  # $
    reason: str  # of REASONS: current machine is no option now; work would not fit; would be late; overtime; nothing
    weeks_late_saved: int
    overtime_saved: float  # h, below 0 where the move costs overtime


def moves(problem: Problem, plan: Plan) -> tuple[Move, ...]:
    """Every move of a plan: what it costs, and what would be if it alone were not made.

    The machines that it touches are planned again with everything else as in the plan.

    Parameters
    ----------
    problem : Problem
        [h]
    plan : Plan
        Of it [h].

    Returns
    -------
    moves : tuple of Move
        Most weeks saved first, then by job [weeks, h, $].
    """
    groups: dict[str, list[Shift]] = defaultdict(list)
    places, plant = dict(plan.places), dict(zip(problem.machines, problem.plants, strict=True))
    tools = {}
    for job in problem.jobs:
        to = places[job.code]
        if job.current is not None and job.current != to:
            travels = bool(job.tool) and plant[job.current] != plant[to]
            group = f"tool {job.tool}" if travels else f"job {job.code}"
            groups[group].append(Shift(job.code, job.current, to))
            tools[group] = job.tool if travels else ""
    found = [_move(problem, plan, tuple(shifts), tools[group]) for group, shifts in groups.items()]
    return tuple(sorted(found, key=lambda one: (-one.weeks_late_saved, one.shifts[0].job)))


def _move(problem: Problem, plan: Plan, shifts: tuple[Shift, ...], tool: str) -> Move:
    jobs = {job.code: job for job in problem.jobs}
    cost = sum((_option(jobs[one.job], one.to).cost for one in shifts), Decimal(0))
    plants = {problem.plants[problem.row(one.to)] for one in shifts}
    cost += sum((one.cost for one in problem.transports if one.tool == tool and one.plant in plants), Decimal(0))
    touched = {machine for one in shifts for machine in (one.machine, one.to)}
    back = dict(plan.places) | {one.job: one.machine for one in shifts}
    if any(one.machine not in {option.machine for option in jobs[one.job].options} for one in shifts):
        return Move(shifts, tool, cost, "no_way_back", 0, 0.0)
    there = _only(problem, touched, back)
    without = balanced(there, SECONDS_EACH, 0.0)
    if without is None:
        return Move(shifts, tool, cost, "no_room", 0, 0.0)
    late, overtime = _figures(problem, plan, touched)
    saved, hours = without.weeks_late - late, without.overtime - overtime
    reason = "late" if saved > 0 else "overtime" if hours > HOURS_THAT_COUNT else "none"
    return Move(shifts, tool, cost, reason, saved, hours)


def _option(job: Job, machine: str) -> Option:
    return next(one for one in job.options if one.machine == machine)


def _only(problem: Problem, touched: set[str], places: dict[str, str]) -> Problem:
    """Some machines alone with the jobs that are on them, each held where it is."""
    rows = [row for row, machine in enumerate(problem.machines) if machine in touched]
    jobs = tuple(replace(job, locked=False) for job in problem.jobs if places[job.code] in touched)
    held = kept_at(replace(problem, jobs=jobs), {job.code: places[job.code] for job in jobs})
    return replace(
        held, machines=tuple(problem.machines[row] for row in rows), plants=tuple(problem.plants[row] for row in rows),
        capacity=problem.capacity[rows], overtime=problem.overtime[rows], transports=(),
    )  # fmt: skip


def _figures(problem: Problem, plan: Plan, touched: set[str]) -> tuple[int, float]:
    """Weeks late and overtime of a plan on some machines."""
    places, load = dict(plan.places), defaultdict(float)
    for each in plan.placed:
        if each.machine in touched:
            load[each.machine, each.week] += each.hours
    over = sum(max(0.0, hours - problem.capacity[problem.row(name), week]) for (name, week), hours in load.items())
    return sum(weeks for job, weeks in plan.late if places[job] in touched), float(over)


def with_moves(problem: Problem, plan: Plan, accepted: tuple[Move, ...]) -> Plan | None:
    """The plan in which only some moves are made: what has a place stays there, what has none keeps that of the plan.

    Parameters
    ----------
    problem : Problem
        [h]
    plan : Plan
        Of which moves are taken [h].
    accepted : tuple of Move
        [-]

    Returns
    -------
    plan : Plan or None
        None where these moves alone leave no plan [h, weeks, $].
    """
    to = {one.job: one.to for move in accepted for one in move.shifts}
    held = {job.code: to.get(job.code, job.current or dict(plan.places)[job.code]) for job in problem.jobs}
    return balanced(kept_at(problem, held), SECONDS_EACH, 0.0)
