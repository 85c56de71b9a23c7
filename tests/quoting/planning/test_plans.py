"""Plans through the database: what they find, what accepting a move does, and what keeps one from being accepted."""

from datetime import timedelta
from decimal import Decimal
from itertools import permutations, product

import numpy as np
import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from machines import selectors as machine_selectors
from machines.calendar import hours_by_week
from machines.models import Booking
from machines.movable import kept_at
from quoting.planning.beside_moves import overloads
from quoting.planning.models import QUOTED, BenchHours, Job, PlanMove, PlanRun
from quoting.planning.plan_models import (
    AS_IT_IS,
    CANCELLED,
    DONE,
    FAILED,
    IMPOSSIBLE,
    MACHINE_DOWN,
    QUOTE_WON,
    RUNNING,
    TOOL_MOVES,
    WAITING,
)
from quoting.planning.shop import WEEK, changed, shop_of
from quoting.quotes import balancing, balancing_work, policies, selectors, services
from quoting.quotes.models import AuditEntry
from quoting.quotes.steps import ConflictError, StateError
from quoting.quotes.workers import beat
from tests.quoting.desk.world import person
from tests.quoting.planning.won_work import job, next_monday, two_of_one_plant


@pytest.fixture
def office(db, settings):
    settings.BACKGROUND = "workers"
    services.catalog_ensure()
    services.ensure_groups()
    Booking.objects.all().delete()
    return person("mia", policies.MANAGER)


@pytest.fixture
def other(office):
    return person("max", policies.MANAGER)


def asked(by, kind=AS_IT_IS, overtime=0.0, **more):
    return balancing.plan_ask(kind=kind, overtime=overtime, by=by, **more)


def worked(run, worker="w"):
    beat(worker)
    balancing_work.work_off(run.pk, worker)
    run.refresh_from_db()
    return run


def down(by, machine, weeks=2):
    return worked(asked(by, MACHINE_DOWN, machine=machine, down_from=next_monday(), down_weeks=weeks))


def accepted(run, by, number=1):
    run.refresh_from_db()
    return balancing.move_accept(move=run.moves.get(number=number), by=by, version=str(run.version))


def hours_of(quote):
    return {(one.machine.code, one.week): one.hours for one in Booking.objects.filter(quote=quote)}


def test_work_of_a_machine_that_is_down_moves_to_the_cheapest_that_has_it_in_time(office):
    first, mate, away = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300), (away, 20, 900)])

    run = down(office, first)

    move = run.moves.get()
    assert run.state == DONE and run.best == {"late": 0, "cost": "300", "overtime": 0.0, "premium": "0.00"}
    assert run.before["late"] == 2
    assert [(one["job"], one["machine"], one["to"]) for one in move.shifts] == [("Q-1", first.code, mate.code)]
    assert (move.reason, move.weeks_late_saved, move.cost) == ("late", 2, 300)


def test_accepting_a_move_books_the_work_on_the_new_machine_in_the_weeks_of_the_plan_and_records_it(office):
    first, mate, _ = two_of_one_plant()
    row = job("Q-1", first, 20, 0, [(mate, 22, 300)])
    BenchHours.objects.create(job=row, plant=first.plant, kind="assembly", week=next_monday(), hours=6)
    run = down(office, first)

    move = accepted(run, office)

    row.refresh_from_db()
    run.refresh_from_db()
    assert (row.machine, row.hours) == (mate, 22)
    assert {code for code, _ in hours_of("Q-1")} == {mate.code}
    assert sum(hours_of("Q-1").values()) == pytest.approx(22)
    assert sum(row.bench_hours.values_list("hours", flat=True)) == pytest.approx(6)
    assert set(row.bench_hours.values_list("week", flat=True)) == {week for _, week in hours_of("Q-1")}
    assert (move.state, move.by) == ("accepted", office)
    entry = AuditEntry.objects.get(action="plan_move_accept")
    assert entry.by == office and entry.detail["job"] == "Q-1" and entry.detail["to"] == mate.code


def test_moves_of_one_plan_are_accepted_one_after_another(office):
    first, mate, away = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 20, 300)])
    job("Q-2", first, 15, 0, [(away, 15, 300)])
    run = down(office, first)

    accepted(run, office, 1)
    accepted(run, office, 2)

    assert set(Job.objects.values_list("quote", "machine__code")) == {("Q-1", mate.code), ("Q-2", away.code)}


def test_a_move_on_data_that_changed_is_refused_and_says_what_changed(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = down(office, first)
    job("Q-7", mate, 10, 0)

    with pytest.raises(ConflictError, match="job Q-7 is new"):
        accepted(run, office)
    assert Job.objects.get(quote="Q-1").machine == first
    assert {code for code, _ in hours_of("Q-1")} == {first.code}


def test_hours_that_belong_to_no_job_count_as_load_and_their_change_is_named(office):
    first, mate, _ = two_of_one_plant()
    full = hours_by_week(machine_selectors.calendars()[mate.plant.code], mate.code, next_monday(), 4)
    for week, hours in enumerate(full):
        Booking.objects.create(machine=mate, week=next_monday() + week * WEEK, hours=hours, firm=True, label="standing")
    job("Q-1", first, 20, 0, [(mate, 20, 300)])

    run = down(office, first)

    assert run.state == DONE and [one.reason for one in run.moves.all()] == [
        "weeks"
    ]  # it is through sooner where it is than behind standing work
    assert run.best["late"] == 2
    old = run.basis
    Booking.objects.filter(machine=mate).update(hours=1)
    now = shop_of(run, selectors.rates(run.on).freight).basis
    assert changed(old, now) == [f"machine {mate.code} changed"]


def test_another_plans_move_of_the_same_work_is_overtaken(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    one, two = down(office, first), down(office, first)

    accepted(one, office)

    assert two.moves.get().state == "overtaken"
    with pytest.raises(StateError, match="overtaken already"):
        accepted(two, office)


def test_a_refused_move_changes_nothing_and_is_not_decided_twice(office, other):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = down(office, first)

    balancing.move_refuse(move=run.moves.get(), by=other, version=str(run.version))

    assert Job.objects.get().machine == first
    with pytest.raises(StateError, match="refused already by max"):
        accepted(run, office)


def test_a_page_that_is_out_of_date_decides_nothing_and_hears_who_was_first(office, other):
    first, mate, away = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 20, 300)])
    job("Q-2", first, 15, 0, [(away, 15, 300)])
    run = down(office, first)
    seen = str(run.version)
    balancing.move_accept(move=run.moves.get(number=1), by=other, version=seen)

    with pytest.raises(ConflictError, match="move 1 was accepted by max"):
        balancing.move_accept(move=run.moves.get(number=2), by=office, version=seen)


def test_a_quote_taken_as_won_finds_its_machine_and_makes_room_for_itself(office):
    first, mate, _ = two_of_one_plant()
    full = hours_by_week(machine_selectors.calendars()[first.plant.code], first.code, next_monday(), 1)[0]
    job("Q-1", first, float(full), 0, [(mate, float(full), 300)])
    job("Q-9", first, 20, 0, state=QUOTED)

    run = worked(asked(office, QUOTE_WON, quote="Q-9"))

    assert run.best == {"late": 0, "cost": "300", "overtime": 0.0, "premium": "0.00"}
    assert run.moves.get().jobs == ("Q-1",)
    assert {one[1] for one in run.placed if one[0] == "Q-9"} == {first.code}
    assert Job.objects.get(quote="Q-9").state == QUOTED


def test_a_tool_that_moves_takes_its_work_to_the_plant_by_a_truck_at_the_freight_rate(office):
    first, _, away = two_of_one_plant()
    job("Q-1", first, 20, 1, [(away, 20, 50)], tool="T-1", tool_plant=first.plant)

    run = worked(asked(office, TOOL_MOVES, tool="T-1", plant=away.plant))

    move = run.moves.get()
    freight = selectors.rates(run.on).freight
    assert (move.tool, move.reason) == ("T-1", "no_way_back")
    assert move.cost >= 50 + freight.truckload_minimum
    assert run.before is None
    accepted(run, office)
    row = Job.objects.get()
    assert (row.machine.plant, row.tool_plant) == (away.plant, away.plant)


def test_where_no_plan_exists_the_machine_and_the_missing_hours_are_named(office):
    first, _, _ = two_of_one_plant()
    hours = hours_by_week(machine_selectors.calendars()[first.plant.code], first.code, next_monday(), 30).sum()
    job("Q-1", first, float(hours), 0, booked={0: 100})

    run = worked(asked(office))

    assert run.state == IMPOSSIBLE and not run.moves.exists()
    lack = run.blame["shortages"][0]
    assert (lack["machine"], lack["jobs"]) == (first.code, ["Q-1"]) and lack["hours"] > 0


def test_a_job_under_way_has_only_the_hours_that_are_still_booked(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 40, 0, [(mate, 44, 300)], booked={-3: 30, 0: 10})

    run = down(office, first)

    assert sum(one[3] for one in run.placed) == pytest.approx(44 * 10 / 40)
    accepted(run, office)
    assert sum(hours_of("Q-1").values()) == pytest.approx(30 + 11)
    assert hours_of("Q-1")[first.code, next_monday() - 3 * WEEK] == 30


def test_work_that_stays_follows_the_plan_by_a_line_of_its_own(office):
    first, mate, _ = two_of_one_plant()
    row = job("Q-1", first, 20, 3, booked={0: 20})
    BenchHours.objects.create(job=row, plant=first.plant, kind="assembly", week=next_monday(), hours=6)
    job("Q-2", mate, 20, 3, booked={2: 20})

    run = down(office, first)
    line = run.moves.get()
    assert line.reason == "weeks" and line.jobs == ("Q-1",)
    assert (line.detail["week"], line.detail["hours"], line.detail["limit"]) == (next_monday().isoformat(), 20.0, 0.0)

    accepted(run, office)
    planned = {run.first + week * WEEK for quote, _, week, _ in run.placed if quote == "Q-1"}
    assert {(code, week) for code, week in hours_of("Q-1")} == {(first.code, week) for week in planned}
    assert min(planned) >= next_monday() + 2 * WEEK
    assert set(row.bench_hours.values_list("week", flat=True)) == planned
    assert hours_of("Q-2") == {(mate.code, next_monday() + 2 * WEEK): 20}  # its weeks do as they are


def test_weeks_that_only_a_move_would_free_wait_for_it(office):
    first, mate, _ = two_of_one_plant()
    hours = hours_a_week(first)
    job("Q-1", first, hours, 1, [(mate, hours, 300)], booked={1: hours})
    job("Q-2", first, hours, 1, booked={2: hours})  # late as booked; its week in the plan is the one that Q-1 leaves
    job("Q-3", first, hours, 0, booked={0: hours}, locked=True)

    run = worked(asked(office))
    assert [one.reason for one in run.moves.all()] == ["late", "weeks"]
    with pytest.raises(StateError, match="Q-1 still there"):
        accepted(run, office, 2)
    accepted(run, office, 1)
    accepted(run, office, 2)

    assert hours_of("Q-2") == {(first.code, next_monday() + WEEK): pytest.approx(hours)}


def hours_a_week(machine):
    calendar = machine_selectors.calendars()[machine.plant.code]
    return min(float(one) for one in hours_by_week(calendar, machine.code, next_monday(), 4))


def test_what_a_move_does_to_a_trimmer_is_told_with_its_hours(office):
    first, mate, _ = two_of_one_plant()
    trimmer = first.plant.trimmers.first()
    for quote, week in (("Q-1", 0), ("Q-2", 3)):
        row = job(quote, first if quote == "Q-1" else mate, 20, 3, [(mate, 22, 300)], booked={week: 20},
                  locked=quote == "Q-2")  # fmt: skip
        BenchHours.objects.create(
            job=row, plant=first.plant, kind="router", code=trimmer.code, week=next_monday() + week * WEEK, hours=70
        )
    run = PlanRun(on=timezone.localdate(), first=next_monday(), weeks=4, placed=[["Q-1", mate.code, 3, 22.0]])
    move = PlanMove(number=1, shifts=[{"job": "Q-1", "machine": first.code, "to": mate.code}])

    (found,) = overloads(run, [move])[1]

    assert (found.place, found.week) == (f"{first.plant.code}/{trimmer.code}", next_monday() + 3 * WEEK)
    assert (found.hours, found.before, found.jobs) == (140, 70, ("Q-1", "Q-2"))
    assert found.limit < 140
    assert overloads(run, [PlanMove(number=2, shifts=[{"job": "Q-9", "machine": "", "to": ""}])]) == {2: ()}


def test_a_locked_job_stays(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 20, 300)], locked=True)

    run = down(office, first)

    assert [one.reason for one in run.moves.all()] == ["weeks"]  # in the first weeks that its machine has again
    assert run.best["late"] == 2 and run.late == [["Q-1", 2]]


@pytest.mark.parametrize("seed", range(4))
def test_no_way_of_placing_a_small_shop_is_less_late_or_as_late_and_cheaper(office, seed):
    generator = np.random.default_rng(seed)
    machines = two_of_one_plant()
    for number in range(5):
        own, *rest = (machines[place] for place in generator.permutation(3))
        options = [(one, float(generator.integers(20, 90)), int(generator.integers(100, 900))) for one in rest]
        job(f"Q-{number}", own, float(generator.integers(20, 90)), int(generator.integers(0, 3)), options)
    run = down(office, machines[0], 3)
    problem = balancing.asked(run, shop_of(run, selectors.rates(run.on).freight))

    every = []
    for places in product(*([one.machine for one in work.options] for work in problem.jobs)):
        held = kept_at(problem, dict(zip((work.code for work in problem.jobs), places, strict=True)))
        late = least_late(held)
        cost = sum((work.options[0].cost for work in held.jobs), Decimal(0))
        every.append((late, cost))

    assert (run.best["late"], Decimal(run.best["cost"])) == min(every)


def least_late(held):
    """Weeks late when every order of the jobs on each machine is tried and each takes the hours that are left."""
    total = 0
    for row, machine in enumerate(held.machines):
        own = [work for work in held.jobs if work.options[0].machine == machine]
        total += min(late_in_order(order, held.capacity[row]) for order in permutations(own))
    return total


def late_in_order(order, hours):
    left, late = hours.copy(), 0
    for one in order:
        need, week = one.options[0].hours, one.release
        while need > 1e-9:
            taken = min(need, left[week])
            left[week] -= taken
            need -= taken
            week += need > 1e-9
        late += max(0, week - one.due)
    return late


def test_a_plan_is_told_while_it_works_and_can_be_cancelled(office, monkeypatch):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = asked(office, MACHINE_DOWN, machine=first, down_from=next_monday(), down_weeks=2)
    kept = []

    def balanced(problem, seconds, gap, report):
        plan = balancing_work.greedy_plan(problem)
        going = report(balancing_work.Progress("cost", 1.5, plan, 200.0))
        run.refresh_from_db()
        kept.append((going, run.state, run.stage, run.seconds, run.bound, run.best["cost"]))
        balancing.plan_cancel(run=run, by=office, version=str(run.version))
        monkeypatch.setattr(balancing_work, "SAVE_EVERY", 0.0)
        kept.append(report(balancing_work.Progress("cost", 3.0, plan, 300.0)))
        return plan

    monkeypatch.setattr(balancing_work, "as_booked", lambda problem, seconds: None)
    monkeypatch.setattr(balancing_work, "balanced", balanced)
    worked(run)

    assert kept == [(True, RUNNING, "cost", 1.5, 200.0, "300"), False]
    assert run.state == CANCELLED and run.bound == 200.0 and not run.moves.exists()


def test_a_plan_whose_worker_was_killed_is_taken_up_by_another_and_one_that_lives_is_left_alone(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = asked(office)
    beat("alive")
    assert balancing_work.claimed(run.pk, "alive") is not None
    assert balancing_work.claimed(run.pk, "w") is None

    PlanRun.objects.filter(pk=run.pk).update(worker="killed")
    assert worked(run).state == DONE


def test_a_plan_that_kills_its_workers_is_given_up_and_can_be_begun_again(office):
    job("Q-1", two_of_one_plant()[0], 20, 0)
    run = asked(office)
    for worker in ("one", "two", "three"):
        assert balancing_work.claimed(run.pk, worker) is not None
    worked(run)
    assert run.state == FAILED and "begun 3 times" in run.reason

    balancing.plan_again(run=run, by=office, version=str(run.version))
    run.refresh_from_db()
    assert run.state == WAITING and worked(run).state == DONE


def test_a_plan_of_a_week_that_is_over_moves_nothing(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = down(office, first)
    PlanRun.objects.filter(pk=run.pk).update(first=run.first - WEEK)

    with pytest.raises(StateError, match="which is over"):
        accepted(run, office)


def test_only_a_manager_of_both_plants_decides(office):
    first, mate, away = two_of_one_plant()
    job("Q-1", first, 20, 0, [(away, 20, 300)])
    run = down(office, first)
    estimator, tied = person("eve", policies.ESTIMATOR), person("tim", policies.MANAGER)
    tied.plant_ties.create(plant=first.plant)

    for deed in (balancing.move_accept, balancing.move_refuse):
        for who in (estimator, tied):
            with pytest.raises(PermissionDenied):
                deed(move=run.moves.get(), by=who, version=str(run.version))
    with pytest.raises(PermissionDenied):
        asked(estimator)
    assert PlanMove.objects.get().state == "proposed"


def test_a_question_that_cannot_be_asked_names_its_field(office):
    first, _, _ = two_of_one_plant()
    with pytest.raises(ValidationError, match="Down from"):
        asked(office, MACHINE_DOWN, machine=first, down_from=next_monday() - 5 * WEEK, down_weeks=1)
    with pytest.raises(ValidationError, match="Quote"):
        asked(office, QUOTE_WON, quote="Q-0")
    with pytest.raises(ValidationError, match="Tool"):
        asked(office, TOOL_MOVES, tool="T-0", plant=first.plant)
    assert not PlanRun.objects.exists()


def test_without_won_work_there_is_nothing_to_balance(office):
    run = worked(asked(office))
    assert run.state == FAILED and "No won work" in run.reason
    assert run.ended_at > timezone.now() - timedelta(minutes=1)


def test_no_work_goes_to_a_machine_from_the_day_it_is_retired(office):
    first, mate, _ = two_of_one_plant()
    job("Q-2026-0001", first, 10.0, 1, [(mate, 10.0, 0)])
    mate.retired_on = next_monday()
    mate.save()

    run = down(office, first, weeks=26 - 1)

    assert run.state == IMPOSSIBLE
    assert run.blame["stuck"] or run.blame["shortages"]
