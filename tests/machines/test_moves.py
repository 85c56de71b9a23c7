"""Moves with their reason and saving, plans of some moves only, and what is to blame where there is no plan."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from scipy.optimize import linprog

from machines.balance import balanced
from machines.blame import blamed
from machines.movable import Job, Option, Problem, Transport, machine_down, tool_moves
from machines.moves import _held_plan, moves, with_moves
from tests.machines.shop_floor import some_problem
from tests.machines.test_balance import two_machines


@pytest.fixture(scope="module")
def larger() -> tuple:
    """A shop that must move work, and its plan."""
    problem = some_problem(25, 6, 12, seed=1)
    return problem, balanced(problem, gap=0.0)


def test_a_move_says_what_it_costs_and_how_late_the_work_were_without_it():
    down = machine_down(two_machines(), "F1", 0, 1)
    (move,) = moves(down, balanced(down))

    assert [(one.job, one.machine, one.to) for one in move.shifts] == [("A", "F1", "F2")]
    assert (move.reason, move.weeks_late_saved, move.cost, move.tool) == ("late", 1, Decimal(1300), "TA")


def test_work_that_would_not_fit_at_all_says_so():
    down = machine_down(two_machines(), "F1", 0, 2)
    (move,) = moves(down, balanced(down))

    assert move.reason == "no_room"


def test_a_tool_that_was_sent_away_has_no_way_back():
    sent = tool_moves(two_machines(), "TB", "N")

    assert [one.reason for one in moves(sent, balanced(sent))] == ["no_way_back"]


def test_work_of_one_tool_that_changes_plant_is_accepted_together():
    first, other = two_machines().jobs
    again = replace(first, code="A2", options=tuple(replace(one, hours=1.0) for one in first.options))
    down = machine_down(two_machines(jobs=(first, again, other)), "F1", 0, 2)

    (move,) = moves(down, balanced(down))

    assert {one.job for one in move.shifts} == {"A", "A2"}
    assert move.cost == 2 * 300 + 1000  # the tool travels once


def test_every_move_of_a_larger_plan_is_needed_and_their_costs_add_up_to_the_plan(larger):
    problem, plan = larger
    found = moves(problem, plan)

    assert found
    assert sum(move.cost for move in found) == plan.cost
    assert all(move.reason in ("late", "no_room") for move in found)  # at least cost nothing moves for nothing


def test_with_all_moves_it_is_the_plan_again_and_with_none_it_is_later(larger):
    problem, plan = larger
    found = moves(problem, plan)

    everything, nothing = with_moves(problem, plan, found), with_moves(problem, plan, ())

    assert everything.key[:2] == plan.key[:2]
    assert everything.overtime == pytest.approx(plan.overtime, abs=0.05)
    assert nothing is None or nothing.weeks_late > plan.weeks_late


def test_accepting_one_move_after_another_is_never_later(larger):
    problem, plan = larger
    found = moves(problem, plan)
    late = [with_moves(problem, plan, found[:number]) for number in range(len(found) + 1)]
    weeks = [np.inf if one is None else one.weeks_late for one in late]

    assert weeks[-1] == plan.weeks_late
    assert weeks[-1] <= min(weeks)


def test_a_shop_with_too_few_hours_names_machine_weeks_and_work():
    down = machine_down(two_machines(), "F2", 0, 2)
    assert balanced(machine_down(down, "F1", 0, 2)) is None

    found = blamed(machine_down(down, "F1", 0, 2))

    assert found.stuck == ()
    assert sum(one.hours for one in found.shortages) == pytest.approx(70)
    assert {job for one in found.shortages for job in one.jobs} == {"A", "B"}
    assert {one.available for one in found.shortages} == {0.0}


def test_a_shortage_names_the_stretch_of_weeks_that_lacks_most_and_only_the_work_within_it():
    rows = (("early", 10.0, 0, 0), ("tight", 70.0, 1, 1), ("any", 10.0, 0, 3))  # code, hours, release and last week
    jobs = tuple(Job(code, (Option("F1", hours),), "F1", first, last, last) for code, hours, first, last in rows)
    problem = Problem(("F1",), ("N",), np.full((1, 4), 40.0), np.full((1, 4), 5.0), jobs)

    (found,) = blamed(problem).shortages

    assert (found.first, found.last, found.jobs, found.available) == (1, 1, ("tight",), 45.0)
    assert found.hours == pytest.approx(25.0)


def test_the_hours_that_are_missing_are_the_least_there_can_be():
    # One machine, hard last weeks: scipy's linprog on hours by week, with hours that may be bought
    generator = np.random.default_rng(5)
    for _ in range(10):
        need, release = generator.integers(10, 60, 4).astype(float), generator.integers(0, 2, 4)
        latest = release + generator.integers(0, 2, 4)
        jobs = tuple(Job(f"J{j}", (Option("F1", need[j]),), None, int(release[j]), int(latest[j]), int(latest[j]))
                     for j in range(4))  # fmt: skip
        problem = Problem(("F1",), ("N",), np.full((1, 3), 30.0), np.full((1, 3), 2.0), jobs)
        cells = [(j, w) for j in range(4) for w in range(release[j], latest[j] + 1)]
        room = np.array(
            [[float(w == week) for _, w in cells] + [-float(week == n) for n in range(3)] for week in range(3)]
        )
        fill = np.array([[float(j == job) for j, _ in cells] + [0.0] * 3 for job in range(4)])
        least = linprog([0] * len(cells) + [1] * 3, A_ub=room, b_ub=[32] * 3, A_eq=fill, b_eq=need).fun

        missing = sum(one.hours for one in blamed(problem).shortages)

        assert missing == pytest.approx(least, abs=1e-2)
        assert (balanced(problem) is None) == (least > 1e-6)


def test_work_without_a_machine_or_a_week_or_a_common_plant_is_stuck():
    nowhere = Job("N", (), None, 0, 0)
    over = Job("O", (Option("F1", 5.0),), None, 1, 1, latest=0)
    here = Job("H", (Option("F1", 5.0),), None, 0, 1, tool="TX")
    there = Job("T", (Option("F2", 5.0),), None, 0, 1, tool="TX")
    problem = two_machines(jobs=(nowhere, over, here, there),
                           transports=(Transport("TX", "N", Decimal(0)), Transport("TX", "S", Decimal(9))))  # fmt: skip
    assert balanced(problem) is None

    found = blamed(problem)

    assert {(one.job, one.reason) for one in found.stuck} == {
        ("N", "no_machine"), ("O", "no_week"), ("H", "tool_elsewhere"), ("T", "tool_elsewhere"),
    }  # fmt: skip
    assert found.shortages == ()


def test_where_there_is_a_plan_nothing_is_to_blame():
    assert blamed(two_machines()).shortages == ()


def test_without_time_left_a_move_is_judged_at_once_and_never_later_than_the_exact_answer(larger):
    problem, plan = larger
    exact = {move.shifts: move for move in moves(problem, plan)}

    quick = moves(problem, plan, seconds=0.001)

    assert {move.shifts for move in quick} == set(exact)
    for move in quick:
        same = exact[move.shifts]
        assert move.is_estimate == (move.reason not in ("no_room", "no_way_back"))
        assert (move.reason == "no_room") == (same.reason == "no_room")  # whether it fits is certain at once
        assert move.weeks_late_saved >= same.weeks_late_saved
    assert not any(move.is_estimate for move in exact.values())


@pytest.mark.parametrize("seed", range(12))
def test_whether_work_that_stays_fits_at_all_is_found_at_once_as_the_solver_finds_it(seed):
    generator = np.random.default_rng(seed)
    jobs = tuple(
        Job(f"J{j}", (Option("F1", float(generator.integers(5, 40))),), "F1", int(generator.integers(0, 3)), 3,
            int(generator.integers(2, 4)))
        for j in range(5)
    )  # fmt: skip
    problem = Problem(("F1",), ("N",), np.full((1, 4), 25.0), np.full((1, 4), 5.0), jobs)

    assert (_held_plan(problem) is None) == (balanced(problem) is None)


def test_a_premium_that_is_no_whole_cent_leaves_the_exact_answer_exact():
    down = machine_down(replace(two_machines(), premiums=(1 / 3, 0.144)), "F1", 0, 1)
    plan = balanced(down, gap=0.0)

    assert [stage.gap for stage in plan.stages] == [0, 0, 0]
    assert not any(move.is_estimate for move in moves(down, plan))


def test_long_after_the_time_is_up_moves_are_told_with_their_cost_and_not_judged(larger, monkeypatch):
    problem, plan = larger
    clock = iter(range(0, 1000, 10))
    monkeypatch.setattr("machines.moves.monotonic", lambda: float(next(clock)))

    found = moves(problem, plan, seconds=1.0)

    assert {move.reason for move in found} <= {"not_assessed", "no_way_back"}
    assert sum(move.cost for move in found) == plan.cost
