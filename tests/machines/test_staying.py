"""Work that stays on its machine, and that a plan counts on in other weeks than it is booked in."""

from dataclasses import replace

import numpy as np
import pytest

from machines.balance import greedy_plan
from machines.movable import Job, Option, Problem, machine_down
from machines.staying import staying
from tests.machines.shop_floor import some_problem


def one_machine(*jobs: Job, weeks: int = 4, overtime: float = 0.0) -> Problem:
    return Problem(("F",), ("N",), np.full((1, weeks), 40.0), np.full((1, weeks), overtime), jobs)


def work(code: str, hours: float, due: int) -> Job:
    return Job(code, (Option("F", hours),), "F", 0, due)


def test_weeks_that_do_as_they_are_booked_stay_though_a_plan_lays_them_elsewhere():
    problem = one_machine(work("A", 30.0, 3))

    assert greedy_plan(problem).placed[0].week != 3
    assert staying(problem, greedy_plan(problem), {"A": {3: 30.0}}) == ()


def test_work_booked_in_a_week_that_is_gone_takes_those_of_the_plan_and_says_what_lacks():
    problem = machine_down(one_machine(work("A", 30.0, 3), work("B", 20.0, 0)), "F", 1, 1)
    found = staying(problem, greedy_plan(problem), {"A": {1: 30.0}, "B": {0: 20.0}})

    assert [(one.machine, one.jobs, one.week, one.hours, one.limit) for one in found] == [("F", ("A",), 1, 30.0, 0.0)]


def test_work_that_would_be_late_where_it_is_booked_says_how_many_weeks_the_plan_saves():
    problem = one_machine(work("A", 30.0, 0))

    (found,) = staying(problem, greedy_plan(problem), {"A": {2: 30.0}})

    assert (found.week, found.weeks_late_saved) == (None, 2)


def test_overtime_that_the_plan_may_work_counts_as_room():
    problem = one_machine(work("A", 30.0, 1), work("B", 15.0, 1), overtime=5.0)

    assert staying(problem, greedy_plan(problem), {"A": {1: 30.0}, "B": {1: 15.0}}) == ()
    short = replace(problem, overtime=np.full((1, 4), 4.0))
    assert staying(short, greedy_plan(short), {"A": {1: 30.0}, "B": {1: 15.0}})[0].week == 1


@pytest.mark.parametrize("seed", range(20))
def test_once_every_line_is_taken_no_machine_goes_beyond_its_hours(seed):
    problem = some_problem(30, 6, 12, seed=seed)
    plan = greedy_plan(problem)
    if plan is None:
        pytest.skip("this shop has no plan at once")
    generator = np.random.default_rng(seed)
    booked = {
        job.code: {int(generator.integers(0, problem.weeks)): next(
            option.hours for option in job.options if option.machine == job.current
        )} for job in problem.jobs if job.current
    }  # fmt: skip
    taken = {job for one in staying(problem, plan, booked) for job in one.jobs}
    load, places = np.zeros_like(problem.capacity), dict(plan.places)
    for each in plan.placed:
        job = next(one for one in problem.jobs if one.code == each.job)
        if job.current != places[job.code] or job.code in taken:
            load[problem.row(each.machine), each.week] += each.hours
    for job in problem.jobs:
        if job.current == places[job.code] and job.code not in taken:
            ((week, hours),) = booked[job.code].items()
            load[problem.row(job.current), week] += hours
    assert (load <= problem.capacity + problem.overtime + 0.1).all()
