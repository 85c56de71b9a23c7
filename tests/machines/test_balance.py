"""Balancing against a published instance, against every plan of small shops, and against a second formulation."""

from dataclasses import replace
from decimal import Decimal
from itertools import product

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from machines.balance import balanced, greedy_plan
from machines.balance_model import deadlines
from machines.movable import Job, Option, Problem, ProblemError, Transport, machine_down, quote_won, tool_moves
from tests.machines.shop_floor import some_problem

# OR-Library, generalised assignment problem, file gap1, problem c515-1 (5 agents, 15 jobs): gain and resource of each
# job with each agent, and each agent's capacity. Read in copies of the file in public repositories.
GAIN = """17 21 22 18 24 15 20 18 19 18 16 22 24 24 16
23 16 21 16 17 16 19 25 18 21 17 15 25 17 24
16 20 16 25 24 16 17 19 19 18 20 16 17 21 24
19 19 22 22 20 16 19 17 21 19 25 23 25 25 25
18 19 15 15 21 25 16 16 23 15 22 17 19 22 24"""
RESOURCE = """8 15 14 23 8 16 8 25 9 17 25 15 10 8 24
15 7 23 22 11 11 12 10 17 16 7 16 10 18 22
21 20 6 22 24 10 24 9 21 14 11 14 11 19 16
20 11 8 14 9 5 6 19 19 7 6 6 13 9 18
8 13 13 13 10 20 25 16 16 17 10 10 5 12 23"""
CAPACITY = (36, 34, 38, 27, 33)


def table(text: str) -> list[list[int]]:
    return [[int(each) for each in line.split()] for line in text.splitlines()]


def test_a_published_assignment_instance_comes_out_at_its_published_optimum():
    # people.brunel.ac.uk/~mastjjb/jeb/orlib/gapinfo.html: c515-1, solved for the largest gain, 336
    gain, resource, highest = table(GAIN), table(RESOURCE), 25
    jobs = tuple(
        Job(f"J{job}", tuple(Option(f"A{agent}", float(resource[agent][job]), Decimal(highest - gain[agent][job]))
                             for agent in range(5)), None, 0, 0)
        for job in range(15)
    )  # fmt: skip
    capacity = np.array([[float(each)] for each in CAPACITY])
    problem = Problem(tuple(f"A{a}" for a in range(5)), ("P",) * 5, capacity, np.zeros((5, 1)), jobs)

    plan = balanced(problem, gap=0.0)

    assert 15 * highest - plan.cost == 336
    assert [stage.gap for stage in plan.stages] == [0, 0, 0]


def small_shop(seed: int) -> Problem:
    generator = np.random.default_rng(seed)
    machines, weeks = 2, 3
    capacity = generator.choice([0.0, 10.0, 20.0], (machines, weeks), p=[0.2, 0.5, 0.3])
    jobs = []
    for number in range(4):
        release = int(generator.integers(0, 2))
        options = tuple(Option(f"M{row}", float(generator.integers(4, 15)), Decimal(int(generator.integers(0, 9))))
                        for row in range(machines) if row == number % 2 or generator.random() < 0.7)  # fmt: skip
        jobs.append(
            Job(f"J{number}", options, None, release, int(generator.integers(release, 3)), tool=f"T{number % 3}")
        )
    transports = tuple(
        Transport(f"T{tool}", plant, Decimal(int(generator.integers(0, 6))))
        for tool in range(3)
        for plant in ("P0", "P1")
    )
    return Problem(("M0", "M1"), ("P0", "P1"), capacity, np.full((machines, weeks), 3.0), tuple(jobs), transports)


def least_overtime(problem: Problem, places: tuple[Option, ...], ends: tuple[int, ...]) -> float | None:
    """Least overtime with which hours by job and week fit, or None: written out week by week, solved by linprog."""
    cells = [(j, w) for j, job in enumerate(problem.jobs) for w in range(job.release, ends[j] + 1)]
    over = [(m, w) for m in range(len(problem.machines)) for w in range(problem.weeks)]
    fill, room = np.zeros((len(problem.jobs), len(cells) + len(over))), np.zeros((len(over), len(cells) + len(over)))
    for column, (j, w) in enumerate(cells):
        fill[j, column] = 1
        room[over.index((problem.row(places[j].machine), w)), column] = 1
    room[:, len(cells) :] = -np.eye(len(over))
    bounds = [(0, None)] * len(cells) + [(0, problem.overtime[m, w]) for m, w in over]
    found = linprog([0.0] * len(cells) + [1.0] * len(over), A_ub=room, b_ub=problem.capacity.ravel(), A_eq=fill,
                    b_eq=[one.hours for one in places], bounds=bounds)  # fmt: skip
    return found.fun if found.success else None


def best_of_all(problem: Problem) -> tuple | None:
    """Weeks late, cost and overtime of the best of all plans, each looked at."""
    sent, best = {(each.tool, each.plant): each.cost for each in problem.transports}, None
    for places in product(*(job.options for job in problem.jobs)):
        at = {
            (job.tool, problem.plants[problem.row(one.machine)]) for job, one in zip(problem.jobs, places, strict=True)
        }
        if len(at) > len({tool for tool, _ in at}):
            continue  # a tool at two plants
        cost = sum(one.cost for one in places) + sum(sent[each] for each in at)
        for ends in product(*(deadlines(problem, job, problem.weeks) for job in problem.jobs)):
            late = sum(end - job.due for end, job in zip(ends, problem.jobs, strict=True))
            if best is None or (late, cost) <= best[:2]:
                overtime = least_overtime(problem, places, ends)
                if overtime is None:
                    continue
                found = (late, cost, overtime)
                best = found if best is None or found < best else best
    return best


@pytest.mark.parametrize("seed", range(24))
def test_no_plan_of_a_small_shop_is_better_and_none_is_found_where_there_is_none(seed):
    problem = small_shop(seed)
    expected = best_of_all(problem)

    plan = balanced(problem, gap=0.0)

    if expected is None:
        assert plan is None
    else:
        assert (plan.weeks_late, plan.cost) == expected[:2]
        assert plan.overtime == pytest.approx(expected[2], abs=1e-3)


def test_the_small_shops_are_of_every_kind():
    kinds = {
        None if best is None else (best[0] > 0, best[2] > 0) for best in map(best_of_all, map(small_shop, range(24)))
    }

    assert kinds >= {None, (False, False), (False, True), (True, True)}


def in_time_by_weeks(problem: Problem) -> float:
    """Least cost of a plan without lateness by another formulation, shares of jobs by week, in scipy's solver."""
    x = [
        (j, one)
        for j, job in enumerate(problem.jobs)
        for one in job.options
        if not job.locked or one.machine == job.current
    ]
    f = [(k, w) for k, (j, _) in enumerate(x) for w in range(problem.jobs[j].release, problem.jobs[j].due + 1)]
    t = list(problem.transports)
    size, rows, low, high = len(x) + len(f) + len(t), [], [], []

    def row(terms: dict[int, float], least: float, most: float) -> None:
        line = np.zeros(size)
        line[list(terms)] = list(terms.values())
        rows.append(line)
        low.append(least)
        high.append(most)

    for j in range(len(problem.jobs)):
        row({k: 1 for k, one in enumerate(x) if one[0] == j}, 1, 1)
    for k in range(len(x)):
        row({k: -1} | {len(x) + n: 1 for n, each in enumerate(f) if each[0] == k}, 0, 0)
    for m, w in product(range(len(problem.machines)), range(problem.weeks)):
        inside = {len(x) + n: x[k][1].hours for n, (k, at) in enumerate(f)
                  if at == w and problem.row(x[k][1].machine) == m}  # fmt: skip
        if inside:
            row(inside, -np.inf, problem.capacity[m, w] + problem.overtime[m, w])
    for n, each in enumerate(t):
        for j, job in enumerate(problem.jobs):
            if job.tool == each.tool:
                here = {k: 1.0 for k, (of, one) in enumerate(x)
                        if of == j and problem.plants[problem.row(one.machine)] == each.plant}  # fmt: skip
                row(here | {len(x) + len(f) + n: -1.0}, -np.inf, 0)
    for tool in {each.tool for each in t}:
        row({len(x) + len(f) + n: 1 for n, each in enumerate(t) if each.tool == tool}, 1, 1)
    cost = [float(one.cost) for _, one in x] + [0.0] * len(f) + [float(each.cost) for each in t]
    whole = np.array([1] * len(x) + [0] * (len(f) + len(t)))
    found = milp(cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=whole, bounds=Bounds(0, 1),
                 options={"mip_rel_gap": 0.0, "time_limit": 60})  # fmt: skip
    assert found.success
    return found.fun


@pytest.mark.parametrize("seed", [3, 5, 6])
def test_a_second_formulation_by_weeks_finds_the_same_least_cost(seed):
    problem = some_problem(16, 5, 10, seed=seed)
    plan = balanced(problem, gap=0.0)

    assert plan.weeks_late == 0
    assert float(plan.cost) == pytest.approx(in_time_by_weeks(problem), abs=0.01)


def two_machines(**changes: object) -> Problem:
    """Two machines at two plants, one job on each, two weeks of 40 h and 5 of overtime."""
    jobs = (
        Job("A", (Option("F1", 40.0), Option("F2", 44.0, Decimal(300))), "F1", 0, 0, tool="TA"),
        Job("B", (Option("F2", 30.0), Option("F1", 30.0, Decimal(300))), "F2", 0, 1, tool="TB"),
    )
    transports = tuple(Transport(tool, plant, Decimal(0 if home == plant else 1000))
                       for tool, home in (("TA", "N"), ("TB", "S")) for plant in ("N", "S"))  # fmt: skip
    problem = Problem(("F1", "F2"), ("N", "S"), np.full((2, 2), 40.0), np.full((2, 2), 5.0), jobs, transports)
    return replace(problem, **changes)


def test_what_fits_stays_where_it_is_at_no_cost():
    plan = balanced(two_machines())

    assert dict(plan.places) == {"A": "F1", "B": "F2"}
    assert plan.key == (0, 0, 0)


def test_a_machine_that_is_down_moves_its_work_to_where_it_is_in_time():
    plan = balanced(machine_down(two_machines(), "F1", 0, 1))

    # A goes to F2 with its tool, 44 h of 45 in the week, and B has the week after
    assert dict(plan.places) == {"A": "F2", "B": "F2"}
    assert (plan.weeks_late, plan.cost, round(plan.overtime, 6)) == (0, Decimal(1300), 4)


def test_lateness_counts_before_any_cost():
    dear = [replace(one, cost=Decimal(10**6)) if one.plant == "S" and one.tool == "TA" else one
            for one in two_machines().transports]  # fmt: skip

    plan = balanced(machine_down(two_machines(transports=tuple(dear)), "F1", 0, 1))

    assert dict(plan.places)["A"] == "F2"


def test_cost_counts_before_overtime():
    longer = replace(two_machines().jobs[0], options=(Option("F1", 45.0), Option("F2", 40.0, Decimal(1))))

    plan = balanced(two_machines(jobs=(longer, two_machines().jobs[1])))

    assert dict(plan.places)["A"] == "F1"
    assert plan.overtime == pytest.approx(5)


def test_locked_work_stays_and_is_late():
    locked = replace(two_machines().jobs[0], locked=True)

    plan = balanced(machine_down(two_machines(jobs=(locked, two_machines().jobs[1])), "F1", 0, 1))

    assert dict(plan.places)["A"] == "F1"
    assert plan.late == (("A", 1),)


def test_a_won_quote_finds_its_place():
    new = Job("C", (Option("F1", 38.0), Option("F2", 45.0)), None, 1, 1)

    plan = balanced(quote_won(two_machines(), [new]))

    assert dict(plan.places)["C"] == "F1"
    assert plan.weeks_late == 0


def test_a_tool_that_moves_takes_its_work_along():
    plan = balanced(tool_moves(two_machines(), "TB", "N"))

    assert dict(plan.places)["B"] == "F1"
    assert plan.cost == 1300


def test_every_hour_of_every_job_is_in_the_plan_and_no_week_holds_more_than_it_has():
    problem = some_problem(40, 8, 14, seed=3)
    plan = balanced(problem)
    load = np.zeros_like(problem.capacity)
    for each in plan.placed:
        load[problem.row(each.machine), each.week] += each.hours
        job = next(one for one in problem.jobs if one.code == each.job)
        assert each.week >= job.release

    assert (load <= problem.capacity + problem.overtime + 1e-2).all()
    for job in problem.jobs:
        hours = next(one.hours for one in job.options if one.machine == dict(plan.places)[job.code])
        assert sum(each.hours for each in plan.placed if each.job == job.code) == pytest.approx(hours, abs=0.02)


def test_the_plan_is_never_worse_than_the_greedy_one_and_its_bounds_hold():
    for seed in range(4):
        problem = some_problem(30, 6, 12, seed=seed)
        greedy, plan = greedy_plan(problem), balanced(problem)
        assert greedy is None or plan.key <= greedy.key
        for stage in plan.stages:
            assert stage.bound <= stage.value + 1e-6


def test_progress_tells_the_best_plan_so_far_and_can_be_stopped():
    told = []
    problem = some_problem(40, 8, 14, seed=3)

    balanced(problem, report=lambda progress: told.append(progress) or True)
    stopped = balanced(problem, report=lambda progress: False)

    assert told[0].stage == "lateness"
    assert {each.stage for each in told} >= {"cost"}
    keys = [each.best.key for each in told if each.best]
    assert keys[-1] <= keys[0]
    assert stopped is not None


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: two_machines(capacity=-np.ones((2, 2))), "capacity"),
        (lambda: two_machines(overtime=np.ones((3, 2))), "overtime"),
        (lambda: two_machines(machines=("F1", "F1")), "machines"),
        (lambda: two_machines(jobs=two_machines().jobs * 2), "code"),
        (lambda: two_machines(jobs=(Job("A", (Option("F9", 1.0),), None, 0, 0),)), "options"),
        (lambda: two_machines(jobs=(Job("A", (Option("F1", -1.0),), None, 0, 0),)), "options"),
        (lambda: two_machines(jobs=(Job("A", (Option("F1", 1.0),), None, 7, 7),)), "release"),
        (lambda: two_machines(jobs=(Job("A", (Option("F1", 1.0),), "F0", 0, 0, locked=True),)), "locked"),
        (lambda: machine_down(two_machines(), "F9", 0, 1), "machine"),
        (lambda: machine_down(two_machines(), "F1", 5, 1), "weeks"),
        (lambda: tool_moves(two_machines(), "TX", "N"), "tool"),
        (lambda: tool_moves(two_machines(), "TA", "W"), "plant"),
    ],
)
def test_a_problem_that_cannot_be_is_refused_by_field(make, field):
    with pytest.raises(ProblemError) as refused:
        make()
    assert refused.value.field == field


def test_the_premium_of_overtime_is_told_and_moves_no_work():
    # 50 h of work in a week of 40 h and 10 h of overtime: the least is paid for moving before overtime is looked at.
    job = Job("A", (Option("F1", 50.0), Option("F2", 50.0, Decimal(300))), "F1", 0, 0)
    problem = Problem(("F1", "F2"), ("N", "N"), np.array([[40.0], [60.0]]), np.full((2, 1), 10.0), (job,))

    for each in (29.0, 31.0):
        plan = balanced(replace(problem, premiums=(each, 0.0)))

        assert (dict(plan.places)["A"], plan.cost, plan.premium, plan.overtime) == ("F1", 0, 10 * each, 10.0)


def test_a_premium_is_one_for_each_machine_and_not_negative():
    for wrong in ((1.0,), (1.0, -1.0)):
        with pytest.raises(ProblemError, match="premiums"):
            replace(two_machines(), premiums=wrong)
