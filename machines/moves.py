"""The moves of a plan, each with its reason and with what would be lost without it."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from time import monotonic

from machines.balance import balanced, greedy_plan
from machines.balance_greedy import LATE_SLACK, laid_out
from machines.balance_plan import Plan, planned_as
from machines.movable import Job, Option, Problem, kept_at

REASONS = ("no_way_back", "no_room", "late", "overtime", "none", "not_assessed")
SECONDS_EACH = 5.0  # most for the question what would be without one move; such problems take milliseconds
LEAST_EACH = 0.05  # s; with less left a move is judged at once, as far as that goes
GRACE = 0.5  # s beyond the time; then nothing is worked out any longer
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
    reason: str  # of REASONS: present machine is no option now; no room; would be late; overtime; nothing; no time
    weeks_late_saved: int = 0
    overtime_saved: float = 0.0  # h, below 0 where the move costs overtime
    premium_saved: Decimal = Decimal(0)  # $ that these hours cost more than hours of a shift
    is_estimate: bool = False  # time was up: what would be without it may be less late than told, never later


def moves(problem: Problem, plan: Plan, seconds: float | None = None) -> tuple[Move, ...]:
    """Every move of a plan: what it costs, and what would be if it alone were not made.

    The machines that it touches are planned again with everything else as in the plan. Moves for which the time does
    not reach are judged by a plan made at once, and say so; those after them are not judged.

    Parameters
    ----------
    problem : Problem
        [h]
    plan : Plan
        Of it [h].
    seconds : float or None
        For all of them [s], above 0; None for as long as it takes.

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
    end = None if seconds is None else monotonic() + seconds
    found = [
        _move(problem, plan, tuple(shifts), tools[group], lambda: None if end is None else end - monotonic())
        for group, shifts in groups.items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.weeks_late_saved, one.shifts[0].job)))


def _move(problem: Problem, plan: Plan, shifts: tuple[Shift, ...], tool: str, left: Callable[[], float | None]) -> Move:
    jobs = {job.code: job for job in problem.jobs}
    cost = sum((_option(jobs[one.job], one.to).cost for one in shifts), Decimal(0))
    plants = {problem.plants[problem.row(one.to)] for one in shifts}
    cost += sum((one.cost for one in problem.transports if one.tool == tool and one.plant in plants), Decimal(0))
    if any(one.machine not in {option.machine for option in jobs[one.job].options} for one in shifts):
        return Move(shifts, tool, cost, "no_way_back")
    seconds = left()
    if seconds is not None and seconds < -GRACE:
        return Move(shifts, tool, cost, "not_assessed")
    touched = {machine for one in shifts for machine in (one.machine, one.to)}
    back = dict(plan.places) | {one.job: one.machine for one in shifts}
    without, is_estimate = _without(_only(problem, touched, back), seconds)
    if without is None:
        return Move(shifts, tool, cost, "no_room")
    late, overtime, premium = _figures(problem, plan, touched)
    saved, hours = without.weeks_late - late, without.overtime - overtime
    reason = "late" if saved > 0 else "overtime" if hours > HOURS_THAT_COUNT else "none"
    return Move(shifts, tool, cost, reason, saved, hours, without.premium - premium, is_estimate)


def _without(there: Problem, left: float | None) -> tuple[Plan | None, bool]:
    """The best plan of some machines whose work stays where it is, None if none fits; and whether it is an estimate."""
    quick = _held_plan(there)
    seconds = SECONDS_EACH if left is None else min(SECONDS_EACH, left)
    if quick is None or seconds < LEAST_EACH:
        return quick, quick is not None
    best = balanced(there, seconds, 0.0)
    if best is None:
        return quick, True
    return min(best, quick, key=lambda one: one.key), any(stage.gap for stage in best.stages)


def _held_plan(there: Problem) -> Plan | None:
    """A plan of work that stays where it is, at once; None where there is none, which is then certain.

    Earliest deadline first fills every hour and so finds a plan where there is one, with far more overtime than needed.
    """
    places = {job.code: job.options[0].machine for job in there.jobs}
    last = {job.code: there.weeks - 1 if job.latest is None else job.latest for job in there.jobs}
    placed = laid_out(there, places, last, there.capacity + there.overtime)
    done = defaultdict(float)
    for each in placed:
        done[each.job] += each.hours if each.week <= last[each.job] else 0.0
    if any(job.options[0].hours - done[job.code] > LATE_SLACK for job in there.jobs):
        return None
    found, greedy = planned_as(there, placed), greedy_plan(there)
    return found if greedy is None or found.key < greedy.key else greedy


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
        premiums=tuple(problem.premiums[row] for row in rows) if problem.premiums else (),
    )  # fmt: skip


def _figures(problem: Problem, plan: Plan, touched: set[str]) -> tuple[int, float, Decimal]:
    """Weeks late, overtime and its premium of a plan on some machines."""
    places, load = dict(plan.places), defaultdict(float)
    for each in plan.placed:
        if each.machine in touched:
            load[each.machine, each.week] += each.hours
    over, premium = 0.0, 0.0
    for (name, week), hours in load.items():
        row = problem.row(name)
        more = max(0.0, hours - problem.capacity[row, week])
        over, premium = over + more, premium + more * problem.overtime_prices[row]
    late = sum(weeks for job, weeks in plan.late if places[job] in touched)
    return late, float(over), Decimal(f"{premium:.2f}")


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
