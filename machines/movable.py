"""Work that may be moved between machines, as a problem to solve, and what-if changes of it. Weeks count from 0."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np


class ProblemError(ValueError):
    """A problem that cannot be stated: names where, the field, what was given and what is accepted."""

    def __init__(self, where: str, field: str, given: object, accepted: str) -> None:
        self.where, self.field, self.given, self.accepted = where, field, given, accepted
        super().__init__(f"{where}: {field}: got {given}; accepted is {accepted}")


@dataclass(frozen=True)
class Option:
    """A machine that can really run the job (routing said so), its clock hours there, and what it costs to go there."""

    machine: str
    hours: float  # set-up and run
    cost: Decimal = Decimal(0)  # $: set-up, first article and difference of freight; without the tool's transport


@dataclass(frozen=True)
class Job:
    """A release. It may be spread over weeks, but runs on one machine."""

    code: str
    options: tuple[Option, ...]
    current: str | None  # machine on which it is booked; None for work that has no place yet
    release: int  # first week in which it can run: sheet and tool are there
    due: int  # last week in which it is in time
    latest: int | None = None  # last week that is allowed at all
    tool: str = ""
    locked: bool = False  # stays where it is


@dataclass(frozen=True)
class Transport:
    """What it costs to bring a tool to a plant; 0 where it is. A plant without a row cannot have the tool."""

    tool: str
    plant: str
    cost: Decimal


@dataclass(frozen=True, eq=False)
class Problem:
    """Machines with hours by week, and the jobs. Arrays are (machines, weeks) in hours."""

    machines: tuple[str, ...]
    plants: tuple[str, ...]  # of each machine
    capacity: np.ndarray
    overtime: np.ndarray  # at most so much on top
    jobs: tuple[Job, ...]
    transports: tuple[Transport, ...] = ()
    premiums: tuple[float, ...] = ()  # $ that an hour of overtime costs more, by machine; empty where none does

    def __post_init__(self) -> None:
        _check_machines(self)
        _check_jobs(self)

    @property
    def weeks(self) -> int:
        return self.capacity.shape[1]

    @property
    def overtime_prices(self) -> np.ndarray:
        """(machines,) what an hour of overtime costs more than one of a shift [$/h]."""
        return np.array(self.premiums) if self.premiums else np.zeros(len(self.machines))

    def row(self, machine: str) -> int:
        return self.machines.index(machine)


def _check_machines(problem: Problem) -> None:
    shape = (len(problem.machines), problem.capacity.shape[-1])
    if len(set(problem.machines)) != len(problem.machines) or len(problem.plants) != len(problem.machines):
        raise ProblemError("problem", "machines", problem.machines, "each machine once, with its plant")
    for field in ("capacity", "overtime"):
        hours = getattr(problem, field)
        if hours.shape != shape:
            raise ProblemError("problem", field, hours.shape, f"an array of {shape}")
        if not (np.isfinite(hours).all() and (hours >= 0).all()):
            raise ProblemError("problem", field, hours.min(), "hours of 0 or more")
    if problem.premiums and len(problem.premiums) != len(problem.machines):
        raise ProblemError("problem", "premiums", len(problem.premiums), "one for each machine, or none")
    if not all(np.isfinite(each) and each >= 0 for each in problem.premiums):
        raise ProblemError("problem", "premiums", problem.premiums, "amounts of 0 or more")


def _check_jobs(problem: Problem) -> None:
    known, codes = set(problem.machines), [job.code for job in problem.jobs]
    twice = {code for code in codes if codes.count(code) > 1} if len(set(codes)) < len(codes) else ()
    for code in sorted(twice):
        raise ProblemError(code, "code", "twice", "each job once")
    for job in problem.jobs:
        machines = [option.machine for option in job.options]
        if not set(machines) <= known or len(set(machines)) < len(machines):
            raise ProblemError(job.code, "options", machines, "machines of the problem, each once")
        if any(not (option.hours > 0 and option.cost >= 0) for option in job.options):
            raise ProblemError(job.code, "options", job.options, "hours above 0 and costs of 0 or more")
        if not 0 <= job.release < problem.weeks:
            raise ProblemError(job.code, "release", job.release, f"a week from 0 to {problem.weeks - 1}")
        if job.locked and job.current not in machines:
            raise ProblemError(job.code, "locked", job.current, "a current machine that is among the options")


def machine_down(problem: Problem, machine: str, first: int, weeks: int) -> Problem:
    """The problem with a machine that stands for some weeks, overtime included.

    Parameters
    ----------
    problem : Problem
        [h]
    machine : str
        Code [-].
    first, weeks : int
        First week and how many [weeks], 0 or above.

    Returns
    -------
    problem : Problem
        [h]

    Raises
    ------
    ProblemError
        The machine is not in the problem, or the weeks are none.
    """
    if machine not in problem.machines:
        raise ProblemError("what if", "machine", machine, f"one of {', '.join(problem.machines)}")
    if not (0 <= first < problem.weeks and weeks > 0):
        raise ProblemError("what if", "weeks", (first, weeks), f"weeks from 0 to {problem.weeks - 1}")
    capacity, overtime = problem.capacity.copy(), problem.overtime.copy()
    for hours in (capacity, overtime):
        hours[problem.row(machine), first : first + weeks] = 0.0
    return replace(problem, capacity=capacity, overtime=overtime)


def quote_won(problem: Problem, jobs: Iterable[Job]) -> Problem:
    """The problem with the releases of a quote added.

    Parameters
    ----------
    problem : Problem
        [h]
    jobs : iterable of Job
        Its releases, without a current machine [h].

    Returns
    -------
    problem : Problem
        [h]

    Raises
    ------
    ProblemError
        A job is in the problem already, or cannot be.
    """
    return replace(problem, jobs=(*problem.jobs, *jobs))


def tool_moves(problem: Problem, tool: str, plant: str) -> Problem:
    """The problem with a tool that goes to a plant, and its work with it, also what was locked.

    Parameters
    ----------
    problem : Problem
        [h]
    tool : str
        Its code [-].
    plant : str
        Where it goes [-].

    Returns
    -------
    problem : Problem
        [h]

    Raises
    ------
    ProblemError
        No job uses the tool, or the plant has no machine here.
    """
    if plant not in problem.plants:
        raise ProblemError("what if", "plant", plant, f"one of {', '.join(sorted(set(problem.plants)))}")
    if all(job.tool != tool for job in problem.jobs):
        raise ProblemError("what if", "tool", tool, "a tool that a job uses")
    there = {machine for machine, of in zip(problem.machines, problem.plants, strict=True) if of == plant}
    jobs = tuple(
        replace(job, options=tuple(one for one in job.options if one.machine in there), locked=False)
        if job.tool == tool
        else job
        for job in problem.jobs
    )
    return replace(problem, jobs=jobs)


def kept_at(problem: Problem, places: dict[str, str]) -> Problem:
    """The problem with some jobs held on a machine: for a plan of which only some moves are taken.

    Parameters
    ----------
    problem : Problem
        [h]
    places : dict of str to str
        Machine by job [-].

    Returns
    -------
    problem : Problem
        [h]
    """
    jobs = tuple(
        replace(job, options=tuple(one for one in job.options if one.machine == places[job.code]))
        if job.code in places
        else job
        for job in problem.jobs
    )
    return replace(problem, jobs=jobs)


def open_options(job: Job) -> tuple[Option, ...]:
    """Where a job may go: all its options, or its place alone where it is locked.

    Parameters
    ----------
    job : Job
        [-]

    Returns
    -------
    options : tuple of Option
        [h]
    """
    return tuple(one for one in job.options if one.machine == job.current) if job.locked else job.options
