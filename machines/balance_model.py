"""The mixed-integer model of balancing: columns, rows, and one solve of it by HiGHS.

For every job one machine and one deadline is chosen (``x``, 0 or 1); a machine's week has hours and overtime (``o``); a
tool is at one plant (``t``). No column says how many hours of a job are worked in which week, since work that may be
spread fits on one machine exactly where every stretch of weeks holds the jobs that must begin and end within it.
"""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from machines.movable import Job, Problem, open_options

if TYPE_CHECKING:
    import highspy

SHORT_SLACK = 1e-3  # h of a whole plan below which nothing is missing and nothing is overtime
CHOICE_READ = 0.5  # above it a 0-or-1 column of a solution is 1


@dataclass(frozen=True)
class Choice:
    """What an ``x`` stands for: a job on a machine, through by the end of a week."""

    job: int
    machine: int  # row
    hours: float
    release: int
    deadline: int


@dataclass(frozen=True, eq=False)
class Model:
    """Columns with their bounds and the objectives; rows as triplets."""

    choices: tuple[Choice, ...]  # of each x, which are the first columns
    upper: np.ndarray
    whole: np.ndarray  # columns that are 0 or 1
    lateness: np.ndarray
    cost: np.ndarray
    overtime: np.ndarray
    short: np.ndarray  # hours that are missing; only where asked for
    entries: tuple[np.ndarray, np.ndarray, np.ndarray]  # row, column, value
    row_lower: np.ndarray
    row_upper: np.ndarray
    tools: dict[str, dict[str, int]]  # of each tool: column by plant
    over: np.ndarray  # (machines, weeks) columns of the overtime
    lack: np.ndarray | None  # (machines, weeks) columns of the hours that are missing
    most_late: int  # weeks that a job may be late in this model


class _Rows:
    """Rows in the making."""

    def __init__(self) -> None:
        self.row: list[int] = []
        self.column: list[int] = []
        self.value: list[float] = []
        self.lower: list[float] = []
        self.upper: list[float] = []

    def add(self, lower: float, upper: float, terms: list[tuple[int, float]]) -> None:
        number = len(self.lower)
        self.lower.append(lower)
        self.upper.append(upper)
        for column, value in terms:
            self.row.append(number)
            self.column.append(column)
            self.value.append(value)


class _Columns:
    """Columns in the making: upper bound, whole or not, and what each counts in lateness, cost, overtime and lack."""

    def __init__(self) -> None:
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.counts: list[tuple[float, float, float, float]] = []

    def add(self, upper: float, whole: bool = False, late: float = 0.0, cost: float = 0.0, over: float = 0.0,
            short: float = 0.0) -> int:  # fmt: skip
        self.upper.append(upper)
        self.whole.append(whole)
        self.counts.append((late, cost, over, short))
        return len(self.upper) - 1


def deadlines(problem: Problem, job: Job, most_late: int) -> range:
    """Weeks by whose end a job may be through: its due week, or later ones as far as it may be late.

    Parameters
    ----------
    problem : Problem
        [h]
    job : Job
        Of it [-].
    most_late : int
        [weeks], 0 or above.

    Returns
    -------
    weeks : range
        Empty where none is allowed [-].
    """
    latest = problem.weeks - 1 if job.latest is None else min(job.latest, problem.weeks - 1)
    in_time = min(job.due, latest)
    return range(max(in_time, job.release), min(latest, job.due + most_late) + 1)


def model_of(problem: Problem, most_late: int | None = None, elastic: bool = False, last_only: bool = False) -> Model:
    """The model of a problem.

    Parameters
    ----------
    problem : Problem
        [h]
    most_late : int or None
        Weeks that any job may be late; the fewer, the smaller the model; None for as many as there are [weeks].
    elastic : bool
        Any machine may have more hours in any week, which are counted as missing [-].
    last_only : bool
        Each job has its last deadline alone: enough to find out whether there is any plan, and far smaller [-].

    Returns
    -------
    model : Model
        [h, weeks, $]
    """
    columns, rows = _Columns(), _Rows()
    most_late = problem.weeks + max((-job.due for job in problem.jobs), default=0) if most_late is None else most_late
    choices = _choices(problem, most_late, elastic, last_only, columns)
    shape = problem.capacity.shape
    over = np.array([columns.add(float(most), over=1.0) for most in problem.overtime.flat], dtype=int).reshape(shape)
    lack = None
    if elastic:
        lack = np.array([columns.add(np.inf, short=1.0) for _ in problem.capacity.flat], dtype=int).reshape(shape)
    of_job: dict[int, list[int]] = {number: [] for number in range(len(problem.jobs))}
    for x, choice in enumerate(choices):
        of_job[choice.job].append(x)
    for chosen in of_job.values():
        rows.add(1.0, 1.0, [(x, 1.0) for x in chosen])
    _add_stretches(problem, choices, over, lack, rows)
    tools = _add_tools(problem, choices, columns, rows)
    late, cost, extra, short = np.array(columns.counts, dtype=float).reshape(-1, 4).T
    entries = np.array(rows.row, dtype=np.int32), np.array(rows.column, dtype=np.int32), np.array(rows.value)
    return Model(
        tuple(choices), np.array(columns.upper), np.array(columns.whole, dtype=bool), late, cost, extra, short, entries,
        np.array(rows.lower), np.array(rows.upper), tools, over, lack, most_late,
    )  # fmt: skip


def _choices(problem: Problem, most_late: int, elastic: bool, last_only: bool, columns: _Columns) -> list[Choice]:
    """Every machine and deadline of every job whose weeks hold its hours at all."""
    most = np.cumsum(problem.capacity + problem.overtime, axis=1)
    found = []
    for number, job in enumerate(problem.jobs):
        for option in open_options(job):
            row = problem.row(option.machine)
            before = most[row, job.release - 1] if job.release else 0.0
            for deadline in deadlines(problem, job, most_late)[-1 if last_only else 0 :]:
                if elastic or most[row, deadline] - before >= option.hours:
                    columns.add(1.0, True, late=float(max(0, deadline - job.due)), cost=float(option.cost))
                    found.append(Choice(number, row, option.hours, job.release, deadline))
    return found


def _add_stretches(
    problem: Problem, choices: list[Choice], over: np.ndarray, lack: np.ndarray | None, rows: _Rows
) -> None:
    """Every stretch of weeks of a machine holds the hours of the jobs that must be worked within it.

    A stretch that could hold all of them by normal hours, or that a shorter one with the same jobs rules, has no row.
    """
    sums = np.concatenate([np.zeros((len(over), 1)), np.cumsum(problem.capacity, axis=1)], axis=1)
    by_machine: dict[int, list[int]] = defaultdict(list)
    for x, choice in enumerate(choices):
        by_machine[choice.machine].append(x)
    for machine, own in by_machine.items():
        job, release, end = (
            np.array([getattr(choices[x], name) for x in own]) for name in ("job", "release", "deadline")
        )
        hours = np.array([choices[x].hours for x in own])
        for first, last in product(np.unique(release), np.unique(end)):
            inside = np.flatnonzero((release >= first) & (end <= last))
            if not len(inside) or release[inside].min() != first or end[inside].max() != last:
                continue
            normal = sums[machine, last + 1] - sums[machine, first]
            once = np.unique(job[inside], return_index=True)[1]  # a job's hours are the same for each deadline
            if hours[inside][once].sum() > normal:
                terms = [(own[place], float(hours[place])) for place in inside]
                weeks = range(int(first), int(last) + 1)
                terms += [
                    (int(more[machine, week]), -1.0) for more in (over, lack) if more is not None for week in weeks
                ]
                rows.add(-np.inf, float(normal), terms)


def _add_tools(problem: Problem, choices: list[Choice], columns: _Columns, rows: _Rows) -> dict[str, dict[str, int]]:
    """All work of a tool runs at the one plant where the tool is."""
    cost = {(each.tool, each.plant): float(each.cost) for each in problem.transports}
    at: dict[str, dict[str, int]] = {}
    for tool, plant in sorted(cost):
        at.setdefault(tool, {})[plant] = columns.add(1.0, cost=cost[tool, plant])
    for plants in at.values():
        rows.add(1.0, 1.0, [(column, 1.0) for column in plants.values()])
    of_job: dict[tuple[int, str], list[int]] = {}
    for x, choice in enumerate(choices):
        of_job.setdefault((choice.job, problem.plants[choice.machine]), []).append(x)
    for (number, plant), chosen in of_job.items():
        plants = at.get(problem.jobs[number].tool)
        if plants is not None:
            there = [(plants[plant], -1.0)] if plant in plants else []
            rows.add(-np.inf, 0.0, [*((x, 1.0) for x in chosen), *there])
    return at


@dataclass(frozen=True, eq=False)
class Solved:
    """Best values found, None where there are none; the bound that no plan can beat; whether none exists at all."""

    values: np.ndarray | None
    value: float
    bound: float
    impossible: bool


def solved(
    model: Model,
    objective: np.ndarray,
    seconds: float,
    gap: float,
    limits: tuple[tuple[np.ndarray, float], ...] = (),
    start: np.ndarray | None = None,
    report: Callable[[np.ndarray | None, float, float], bool] | None = None,
) -> Solved:
    """The least of one objective, with others held at or below a limit.

    Parameters
    ----------
    model : Model
        [h, weeks, $]
    objective : array
        What each column counts [-].
    seconds : float
        Time after which the best so far is taken [s], above 0.
    gap : float
        Distance between best and bound that is near enough [-], 0 or above.
    limits : tuple of (array, float)
        Other objectives and how large they may be [-].
    start : array or None
        A solution to begin with, each column's value [-].
    report : callable or None
        Told each better solution, its value and the bound, or None in its place where only the bound rose; False
        stops [-].

    Returns
    -------
    solved : Solved
        [-]

    References
    ----------
    HiGHS, highs.dev, called by its own Python interface, since that tells progress and takes a first plan.
    """
    import highspy  # half a second to open, which only those wait for who balance

    highs = highspy.Highs()
    highs.silent()
    for option, value in (("time_limit", float(seconds)), ("mip_rel_gap", float(gap)),
                          ("mip_abs_gap", 1e-6), ("threads", 2), ("random_seed", 0)):  # fmt: skip
        highs.setOptionValue(option, value)
    highs.passModel(_linear_program(model, objective, limits))
    if start is not None:
        first = highspy.HighsSolution()
        first.col_value = start.tolist()
        highs.setSolution(first)
    if report is not None:
        _tell(highs, report)
    highs.run()
    status, info = highs.getModelStatus(), highs.getInfo()
    impossible = status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)
    if impossible or not isfinite(info.objective_function_value) or info.primal_solution_status != 2:
        return Solved(None, np.inf, float(info.mip_dual_bound), impossible)
    bound = info.mip_dual_bound if model.whole.any() else info.objective_function_value
    values = np.array(highs.getSolution().col_value)
    return Solved(values, float(info.objective_function_value), max(0.0, float(bound)), False)


def _tell(highs: "highspy.Highs", report: Callable[[np.ndarray | None, float, float], bool]) -> None:
    going = [True]

    def better(event: "highspy.highs.HighsCallbackEvent") -> None:
        values = np.array(event.data_out.mip_solution)
        going[0] = report(values, event.data_out.mip_primal_bound, event.data_out.mip_dual_bound) and going[0]

    def still(event: "highspy.highs.HighsCallbackEvent") -> None:
        going[0] = report(None, event.data_out.mip_primal_bound, event.data_out.mip_dual_bound) and going[0]
        if not going[0]:
            event.interrupt()

    highs.cbMipImprovingSolution += better
    highs.cbMipInterrupt += still


def _linear_program(model: Model, objective: np.ndarray, limits: tuple) -> "highspy.HighsLp":
    import highspy

    row, column, value = model.entries
    lower, upper = list(model.row_lower), list(model.row_upper)
    for counts, most in limits:
        used = np.flatnonzero(counts)
        row = np.concatenate([row, np.full(len(used), len(lower), dtype=np.int32)])
        column, value = np.concatenate([column, used.astype(np.int32)]), np.concatenate([value, counts[used]])
        lower.append(-np.inf)
        upper.append(most)
    order = np.lexsort((row, column))
    program, size = highspy.HighsLp(), len(model.upper)
    program.num_col_, program.num_row_ = size, len(lower)
    program.col_cost_, program.col_lower_, program.col_upper_ = objective, np.zeros(size), model.upper
    program.row_lower_, program.row_upper_ = np.array(lower), np.array(upper)
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_ = np.searchsorted(column[order], np.arange(size + 1)).astype(np.int32)
    program.a_matrix_.index_, program.a_matrix_.value_ = row[order], value[order]
    kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
    program.integrality_ = [kinds[int(whole)] for whole in model.whole]
    return program
