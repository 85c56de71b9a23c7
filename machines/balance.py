"""Balancing: move movable work so that least is late, then least is paid for moving, then least overtime is worked.

The three are minimised one after another, each held at what was reached before the next begins, so that their order is
exact; one weighted sum would need weights some 1e9 apart, beyond the solver's tolerances.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import monotonic

import numpy as np

from machines.balance_greedy import greedily_placed
from machines.balance_model import Model, model_of, solved
from machines.balance_plan import Plan, Stage, plan_of, planned_as, values_of
from machines.movable import Problem

STAGES = ("lateness", "cost", "overtime")
STAGE_SHARE = {"lateness": 0.5, "cost": 0.7, "overtime": 1.0}  # most that a stage takes of the time still left
FEW_WEEKS = (0, 1, 2, 4, None)  # that any job may be late, tried one after another for a first plan
COST_SLACK = 1e-3  # $ by which the cost reached may be exceeded, for the solver's rounding
LEAST_SECONDS = 0.5  # below which no further model is made
RESERVE = 1.0  # s kept back, at most a tenth of the time, for what the solver runs over and for reading its plan


@dataclass(frozen=True)
class Progress:
    """What is known while it works."""

    stage: str
    seconds: float
    best: Plan | None
    bound: float  # of the stage's objective


def greedy_plan(problem: Problem) -> Plan | None:
    """A plan at once, job by job; None where it finds none (there may be one all the same).

    Parameters
    ----------
    problem : Problem
        [h]

    Returns
    -------
    plan : Plan or None
        [h, weeks, $]
    """
    placed = greedily_placed(problem)
    return None if placed is None else planned_as(problem, placed)


def balanced(
    problem: Problem,
    seconds: float = 20.0,
    gap: float = 0.01,
    report: Callable[[Progress], bool] | None = None,
) -> Plan | None:
    """The plan that is least late, then costs least, then works least overtime; each within ``gap`` of proven least.

    A stage that runs out of time leaves its best plan, and its gap says how far that may be from the least. Making the
    models counts too: one for which there is no time left is not made, and its stage stays unproven.

    Parameters
    ----------
    problem : Problem
        [h]
    seconds : float
        For all three [s], above 0; the call ends within a second of them.
    gap : float
        Near enough to the bound [-], 0 or above.
    report : callable or None
        Told of progress with the best plan so far; False stops with that [-].

    Returns
    -------
    plan : Plan or None
        None where none exists, or none was found in time: ``blame.blamed`` says what lacks [h, weeks, $].
    """
    begin = monotonic()
    run = _Run(problem, gap, begin, seconds, report)
    best, least_late = greedy_plan(problem), 0.0
    run.tell("lateness", best, 0.0)
    if best is None or best.weeks_late:
        best, least_late = run.hardly_late(best)
        if best is None:
            return None
    stages: list[Stage] = []
    model = None
    for name in STAGES:
        least = least_late if name == "lateness" else 0.0
        if _value(best, name) > least and run.going:
            # No job of a plan that is no later in all than the best so far is later than that by itself.
            if model is None or model.most_late != best.weeks_late:
                model = run.model(best.weeks_late) or model
            if model is None or not run.has_time:
                stages.append(Stage(name, _value(best, name), least))
                continue
            if name == "overtime":
                best = run.with_least_overtime(model, best)
            best, bound = run.stage(model, name, best)
            least = max(least, bound)
        stages.append(Stage(name, _value(best, name), least))
    return replace(best, stages=tuple(stages))


def _value(plan: Plan, name: str) -> float:
    return {"lateness": float(plan.weeks_late), "cost": float(plan.cost), "overtime": plan.overtime}[name]


@dataclass
class _Run:
    """One balancing under way."""

    problem: Problem
    gap: float
    begin: float
    seconds: float
    report: Callable[[Progress], bool] | None
    going: bool = True
    slowest: float = 0.0  # s that the slowest model so far took to make

    def left(self) -> float:
        """What the solver may take [s]: the reserve for reading its plan is off already."""
        return max(0.01, self.seconds - min(RESERVE, self.seconds / 10) - (monotonic() - self.begin))

    @property
    def has_time(self) -> bool:
        return self.left() >= min(LEAST_SECONDS, self.seconds / 4)

    def model(self, most_late: int | None, last_only: bool = False) -> Model | None:
        """A model, or None where making it and asking it would go over the time."""
        if not self.has_time or self.left() < self.slowest:
            return None
        begin = monotonic()
        model = model_of(self.problem, most_late, last_only=last_only)
        self.slowest = max(self.slowest, monotonic() - begin)
        return model

    def tell(self, stage: str, best: Plan | None, bound: float) -> bool:
        if self.report is not None and self.going:
            self.going = self.report(Progress(stage, monotonic() - self.begin, best, bound)) is not False
        return self.going

    def any_plan(self, most_late: int | None) -> tuple[Plan | None, bool]:
        """Any plan in which no job is later than so many weeks, and whether there is none.

        Its model has each job's last deadline alone, which makes it far smaller and rules no plan out.
        """
        model = self.model(most_late, last_only=True)
        if model is None:
            return None, False
        found = solved(model, np.zeros(len(model.upper)), self.left() / 3, self.gap)
        return None if found.values is None else plan_of(self.problem, model, found.values), found.impossible

    def hardly_late(self, best: Plan | None) -> tuple[Plan | None, float]:
        """The best plan so far or one in which no job is late by more than few weeks, and the least that must be late.

        Such a plan is first made as little late as it can be in its own small model: the whole one, in which any job
        may be late by all that the best plan is late in all, is larger the later that plan is.
        """
        least = 0.0
        for most_late in FEW_WEEKS:
            found, impossible = self.any_plan(most_late)
            least = 1.0 if impossible and most_late == 0 else least
            if found is not None:
                best = found if best is None else _better(best, found)
                if best.weeks_late > max(least, 1) and most_late and (model := self.model(most_late)):
                    best, _ = self.stage(model, "lateness", best)
                break
        return best, least

    def with_least_overtime(self, model: Model, best: Plan) -> Plan:
        """The same machines and deadlines with the least overtime that they can do with: quickly found, begins well."""
        values = values_of(self.problem, model, best)
        x = len(model.choices)
        upper = np.concatenate([np.round(values[:x]), model.upper[x:]])
        found = solved(replace(model, upper=upper), model.overtime, self.left(), 0.0)
        return best if found.values is None else _better(best, plan_of(self.problem, model, found.values))

    def stage(self, model: Model, name: str, best: Plan) -> tuple[Plan, float]:
        """The better of the best so far and what this stage finds, and the stage's bound."""
        shown = [best]

        def seen(values: np.ndarray | None, value: float, bound: float) -> bool:
            if values is not None:
                shown[0] = _better(shown[0], plan_of(self.problem, model, values))
            return self.tell(name, shown[0], max(0.0, bound))

        found = solved(
            model, getattr(model, name), self.left() * STAGE_SHARE[name],
            1e-9 if name == "lateness" else self.gap, _limits(model, name, best),
            values_of(self.problem, model, best), seen,
        )  # fmt: skip
        if found.values is None:
            return shown[0], 0.0
        bound = float(np.ceil(found.bound - 1e-6)) if name == "lateness" else found.bound
        best = _better(shown[0], plan_of(self.problem, model, found.values))
        return best, min(bound, _value(best, name))


def _limits(model: Model, name: str, best: Plan) -> tuple[tuple[np.ndarray, float], ...]:
    if name == "lateness":
        return ()
    late = ((model.lateness, float(best.weeks_late)),) if model.most_late else ()
    return (*late, (model.cost, float(best.cost) + COST_SLACK)) if name == "overtime" else late


def _better(old: Plan, new: Plan) -> Plan:
    return new if new.key < old.key else old
