"""Plans: where and when each job runs, what they come to, and what they are as solutions of the model."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from machines.balance_greedy import LATE_SLACK, Placed, laid_out
from machines.balance_model import CHOICE_READ, SHORT_SLACK, Model
from machines.movable import Problem

ROUNDING = 1e-6  # of a distance to the bound


@dataclass(frozen=True)
class Stage:
    """One objective: what was reached and what no plan can beat. Weeks, $, or hours."""

    name: str  # of STAGES
    value: float
    bound: float

    @property
    def gap(self) -> float:
        """Distance to the bound over the value; 0 where the value is proven the least."""
        distance = self.value - self.bound
        return 0.0 if distance <= ROUNDING else distance / self.value


@dataclass(frozen=True)
class Plan:
    """Where and when each job runs."""

    places: tuple[tuple[str, str], ...]  # job, machine
    placed: tuple[Placed, ...]
    late: tuple[tuple[str, int], ...]  # job, weeks after its due week; only those that are
    cost: Decimal  # $ of moving, transport of tools included
    overtime: float  # h
    stages: tuple[Stage, ...] = ()
    premium: Decimal = Decimal(0)  # $ that the overtime costs more than hours of a shift

    @property
    def weeks_late(self) -> int:
        return sum(weeks for _, weeks in self.late)

    @property
    def key(self) -> tuple[int, Decimal, float]:
        """What is minimised, in its order."""
        return self.weeks_late, self.cost, self.overtime


def planned_as(problem: Problem, placed: tuple[Placed, ...], stages: tuple[Stage, ...] = ()) -> Plan:
    """The figures of a plan from its hours alone: who is late, what it costs, what exceeds normal hours.

    Parameters
    ----------
    problem : Problem
        [h]
    placed : tuple of Placed
        Every job's hours [h].
    stages : tuple of Stage
        How far it is proven [-].

    Returns
    -------
    plan : Plan
        [h, weeks, $]

    Raises
    ------
    ArithmeticError
        A job's hours are not all there: the plan is none.
    """
    load, last, done = np.zeros_like(problem.capacity), {}, defaultdict(float)
    places = {each.job: each.machine for each in placed}
    for each in placed:
        load[problem.row(each.machine), each.week] += each.hours
        last[each.job] = max(each.week, last.get(each.job, 0))
        done[each.job] += each.hours
    cost, late = _transport_cost(problem, places), []
    for job in problem.jobs:
        option = next((one for one in job.options if one.machine == places.get(job.code)), None)
        if option is None or abs(option.hours - done[job.code]) > LATE_SLACK:
            raise ArithmeticError(f"{job.code} has {done[job.code]} h in the plan; it takes {option}")
        cost += option.cost
        if last[job.code] > job.due:
            late.append((job.code, last[job.code] - job.due))
    over = np.maximum(load - problem.capacity, 0.0)
    over[over <= SHORT_SLACK] = 0.0
    premium = Decimal(f"{float(over.sum(axis=1) @ problem.overtime_prices):.2f}")
    return Plan(tuple(sorted(places.items())), placed, tuple(late), cost, float(over.sum()), stages, premium)


def _transport_cost(problem: Problem, places: Mapping[str, str]) -> Decimal:
    cost = {(each.tool, each.plant): each.cost for each in problem.transports}
    used = {
        (job.tool, problem.plants[problem.row(places[job.code])])
        for job in problem.jobs
        if job.tool and job.code in places
    }
    return sum((cost.get(each, Decimal(0)) for each in used), Decimal(0))


def plan_of(problem: Problem, model: Model, values: np.ndarray) -> Plan:
    """The plan that a solution of the model means, its hours laid out anew within the same deadlines and overtime.

    Parameters
    ----------
    problem : Problem
        [h]
    model : Model
        Of it [-].
    values : array
        Each column's value [-].

    Returns
    -------
    plan : Plan
        [h, weeks, $]
    """
    chosen = [choice for choice, value in zip(model.choices, values, strict=False) if value > CHOICE_READ]
    places = {problem.jobs[each.job].code: problem.machines[each.machine] for each in chosen}
    deadlines = {problem.jobs[each.job].code: each.deadline for each in chosen}
    hours = problem.capacity + np.minimum(values[model.over], problem.overtime)
    return planned_as(problem, laid_out(problem, places, deadlines, hours))


def values_of(problem: Problem, model: Model, plan: Plan) -> np.ndarray:
    """The solution of the model that a plan means, to begin a search with.

    Parameters
    ----------
    problem : Problem
        [h]
    model : Model
        Of it [-].
    plan : Plan
        [h]

    Returns
    -------
    values : array
        Each column's value [-].
    """
    values, places, last = np.zeros(len(model.upper)), dict(plan.places), {}
    load = np.zeros_like(problem.capacity)
    for each in plan.placed:
        last[each.job] = max(each.week, last.get(each.job, 0))
        load[problem.row(each.machine), each.week] += each.hours
    for x, choice in enumerate(model.choices):
        job = problem.jobs[choice.job]
        first_deadline = max(min(job.due, problem.weeks - 1 if job.latest is None else job.latest), job.release)
        deadline = max(first_deadline, last[job.code])
        if places[job.code] == problem.machines[choice.machine] and choice.deadline == min(deadline, problem.weeks - 1):
            values[x] = 1.0
            if job.tool in model.tools:
                values[model.tools[job.tool][problem.plants[choice.machine]]] = 1.0
    values[model.over] = np.maximum(load - problem.capacity, 0.0)
    return values
