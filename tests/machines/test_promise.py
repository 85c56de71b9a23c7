"""Lead time by steps: the critical path against a graph library, the queue against a discrete-event simulation."""

from datetime import date, timedelta

import networkx
import numpy as np
import pytest
import simpy
from hypothesis import given
from hypothesis import strategies as st

from machines.calendar import calendar_of_hours
from machines.critical_path import ChainError, Task, stepped
from machines.free_time import FreeTime
from machines.machine import Booking
from machines.promise import (
    NoFreeHoursError,
    PromiseError,
    Timing,
    Waits,
    Work,
    first_fit,
    in_order,
    in_tool_room,
    placed,
    promised,
    steps_of,
)

ORDER = date(2026, 6, 1)
NO_WAIT = Waits(0, 0, 0, 0, 0)


def work(hours: float, free: object = 8.0, name: str = "forming", where: str = "F1") -> Work:
    return Work(name, where, hours, np.full(200, free) if isinstance(free, float) else np.array(free, dtype=float))


def span(promise: object, name: str) -> tuple[float, float]:
    step = next(one for one in promise.steps if one.name == name)
    return step.start, step.finish


chains = st.lists(st.tuples(st.floats(0, 50), st.sets(st.integers(0, 7), max_size=3)), min_size=1, max_size=8)


@given(chains)
def test_the_end_and_the_critical_path_are_those_of_a_graph_library(drawn):
    # networkx: longest path through the graph in which each task is an edge as long as it lasts
    tasks = tuple(
        Task(str(n), duration, tuple(str(each) for each in sorted(after) if each < n))
        for n, (duration, after) in enumerate(drawn)
    )
    graph = networkx.DiGraph()
    for task in tasks:
        graph.add_edge(("begin", task.name), ("end", task.name), weight=task.duration)
        for name in task.after:
            graph.add_edge(("end", name), ("begin", task.name), weight=0)
    longest = networkx.dag_longest_path(graph, weight="weight")

    steps = {one.name: one for one in stepped(tasks)}

    assert max(one.finish for one in steps.values()) == pytest.approx(networkx.dag_longest_path_length(graph))
    for _, name in longest:
        assert steps[name].slack == pytest.approx(0, abs=1e-9)


def test_a_task_that_waits_for_nothing_known_or_stands_twice_or_takes_less_than_no_time_is_refused():
    for tasks, words in (
        ((Task("a", 1, ("b",)), Task("b", 1)), "waits for b"),
        ((Task("a", 1), Task("a", 1)), "twice"),
        ((Task("a", -1),), "duration"),
        ((Task("a", float("nan")),), "duration"),
    ):
        with pytest.raises(ChainError, match=words):
            stepped(tasks)


def simulated(jobs: list[tuple[float, float]], open_hours: list[float]) -> list[float]:
    """When each job is done on one machine that takes them first come first served, in days, by simpy.

    The machine works at the pace of its day: a day of 8 h gives a third of an hour for each hour of the clock.
    """
    world = simpy.Environment()
    machine, done = simpy.Resource(world, capacity=1), [0.0] * len(jobs)

    def job(number: int, arrives: float, hours: float):
        yield world.timeout(arrives)
        with machine.request() as turn:
            yield turn
            left = hours
            while left > 1e-12:
                pace = open_hours[int(world.now + 1e-9)]
                midnight = int(world.now + 1e-9) + 1 - world.now
                step = min(midnight, left / pace) if pace else midnight
                yield world.timeout(step)
                left -= step * pace
        done[number] = world.now

    for number, (arrives, hours) in enumerate(jobs):
        world.process(job(number, arrives, hours))
    world.run()
    return done


@pytest.mark.parametrize("seed", range(6))
def test_work_laid_into_the_queue_one_after_another_ends_when_the_simulated_machine_ends_it(seed):
    generator = np.random.default_rng(seed)
    days = [float(generator.choice([16.0, 8.0, 24.0])) if day % 7 < 5 else 0.0 for day in range(140)]
    arrives = np.sort(generator.integers(0, 96 * 30, 12)) / 96
    jobs = [(float(at), float(np.round(generator.uniform(2, 40), 2))) for at in arrives]

    free_from, found = 0.0, []
    for at, hours in jobs:  # the book of a machine that is worked in order of arrival
        start, finish = first_fit(np.array(days), max(at, free_from), hours)
        assert start >= max(at, free_from)
        free_from = finish
        found.append(finish)

    assert found == pytest.approx(simulated(jobs, days), abs=1e-6)


def test_free_hours_behind_booked_work_are_what_a_simulated_low_priority_job_gets():
    # simpy's PreemptiveResource: booked work takes the machine from ours at the start of each day and gives it back
    booked, open_hours, ours = [6.0, 24.0, 10.0, 0.0, 24.0, 12.0, 3.0], 24.0, 40.0
    world = simpy.Environment()
    machine, ended = simpy.PreemptiveResource(world, capacity=1), []

    def promised_work():
        for day, hours in enumerate(booked):
            yield world.timeout(24.0 * day - world.now)
            with machine.request(priority=0) as turn:
                yield turn
                yield world.timeout(hours)

    def our_work():
        left = ours
        while left > 1e-9:
            with machine.request(priority=1) as turn:
                since = None  # until it has the machine; it may lose it in the same moment
                try:
                    yield turn
                    since = world.now
                    yield world.timeout(left)
                    left = 0.0
                except simpy.Interrupt:
                    left -= 0.0 if since is None else world.now - since
        ended.append(world.now / 24)

    world.process(promised_work())
    world.process(our_work())
    world.run()

    _, finish = first_fit(open_hours - np.array(booked), 0.0, ours)

    assert int(finish) == int(ended[0])  # the same day; within a day free hours are taken as spread evenly


def test_tool_and_sheet_run_side_by_side_and_the_later_is_critical():
    found = promised(ORDER, Waits(56, 7, 21, 3, 4), (work(80.0),))

    assert span(found, "sheet") == (0, 21)
    assert span(found, "forming") == (63, 73)
    assert found.critical == ("tool", "first article", "forming", "pack", "transit")
    assert found.arrives == ORDER + timedelta(days=80)
    assert next(one for one in found.steps if one.name == "sheet").slack == 63 - 21


def test_sheet_that_comes_last_is_critical_and_the_tool_has_slack():
    found = promised(ORDER, Waits(14, 7, 40, 0, 0), (work(8.0),))

    assert found.critical == ("sheet", "forming")


def test_the_queue_is_a_step_of_its_own():
    free = [0.0] * 10 + [8.0] * 20
    found = promised(ORDER, NO_WAIT, (work(16.0, free),))

    assert span(found, "queue for forming") == (0, 10)
    assert found.critical == ("queue for forming", "forming")
    assert found.arrives == ORDER + timedelta(days=12)


def test_a_gap_between_booked_work_is_used():
    assert first_fit(np.array([0, 8, 0, 0, 8, 8], dtype=float), 0, 12) == (1, 4.5)


def test_a_full_queue_is_free_while_the_tool_is_built():
    found = promised(ORDER, Waits(20, 0, 0, 0, 0), (work(8.0, [0.0] * 15 + [8.0] * 20),))

    assert span(found, "queue for forming") == (20, 20)


def test_trim_and_assembly_follow_on_their_own_free_hours():
    works = (work(16.0), work(8.0, [0.0] * 6 + [8.0] * 20, "trim", "R1"), work(4.0, 8.0, "assembly", "bench"))
    found = promised(ORDER, NO_WAIT, works)

    assert span(found, "trim") == (6, 7)
    assert span(found, "assembly") == (7, 7.5)
    assert found.arrives == ORDER + timedelta(days=8)
    assert found.machine == "F1"


def test_work_of_no_hours_is_left_out():
    found = promised(ORDER, NO_WAIT, (work(8.0), work(0.0, name="assembly")))

    assert "assembly" not in {one.name for one in found.steps}


def test_the_day_on_which_it_is_needed_decides_between_machines():
    here = promised(ORDER, Waits(0, 0, 0, 0, 2), (work(80.0, where="A1"),))
    there = promised(ORDER, Waits(0, 0, 0, 0, 6), (work(40.0, where="B1"),))

    assert (here.arrives, there.arrives) == (ORDER + timedelta(days=12), ORDER + timedelta(days=11))
    assert [one.machine for one in in_order((here, there), None)] == ["B1", "A1"]
    assert [one.machine for one in in_order((there, here), ORDER + timedelta(days=30))] == ["A1", "B1"]
    assert [one.machine for one in in_order((here, there), ORDER + timedelta(days=11))] == ["B1", "A1"]
    assert here.days_late(ORDER + timedelta(days=11)) == 1


@given(st.floats(0, 20), st.floats(0.1, 60), st.floats(0.1, 60))
def test_more_work_or_a_later_start_never_ends_earlier(ready, hours, more):
    free = np.array([8, 8, 0, 4, 8, 0, 0] * 40, dtype=float)

    start, finish = first_fit(free, ready, hours)

    assert ready <= start <= finish
    assert first_fit(free, ready, hours + more)[1] >= finish
    assert first_fit(free, ready + 1, hours)[1] >= finish - 1e-9


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: promised(ORDER, Waits(-1, 0, 0, 0, 0), (work(1.0),)), "tool"),
        (lambda: promised(ORDER, Waits(0, 0, float("nan"), 0, 0), (work(1.0),)), "sheet"),
        (lambda: promised(ORDER, NO_WAIT, ()), "works"),
        (lambda: promised(ORDER, NO_WAIT, (work(5000.0),)), "forming at F1: hours"),
        (lambda: promised(ORDER, NO_WAIT, (work(-1.0),)), "forming at F1: hours, ready"),
        (lambda: first_fit(np.array([8.0, -1.0]), 0, 4), "free"),
        (lambda: first_fit(np.array([]), 0, 4), "hours"),
    ],
)
def test_a_promise_that_cannot_be_is_refused_by_field(make, field):
    with pytest.raises(PromiseError) as refused:
        make()
    assert refused.value.field == field


def simulated_chain(stages: list[tuple[int, dict[int, int], float]]) -> list[float]:
    """When a job of low priority is done at each of several places in turn, in days, by simpy.

    Each place: how many work there at once, how many of them are booked in which week, and our hours. All work day and
    night; booked work takes its place from ours and gives it back at the end of its week.
    """
    world, ends = simpy.Environment(), []
    places = [simpy.PreemptiveResource(world, capacity=many) for many, _, _ in stages]

    def booked(place: object, week: int):
        yield world.timeout(168.0 * week)
        with place.request(priority=0) as turn:
            yield turn
            yield world.timeout(168.0)

    def ours():
        for place, (_, _, hours) in zip(places, stages, strict=True):
            left = hours
            while left > 1e-9:
                with place.request(priority=1) as turn:
                    since = None
                    try:
                        yield turn
                        since = world.now
                        yield world.timeout(left)
                        left = 0.0
                    except simpy.Interrupt:
                        left -= 0.0 if since is None else world.now - since
            ends.append(world.now / 24)

    for place, (_, weeks, _) in zip(places, stages, strict=True):
        for week, many in weeks.items():
            for _ in range(many):
                world.process(booked(place, week))
    world.process(ours())
    world.run()
    return ends


@pytest.mark.parametrize("seed", range(12))
def test_a_job_through_tool_room_former_trimmer_and_bench_is_done_when_the_simulated_places_are_done_with_it(seed):
    # simpy's PreemptiveResource: one resource for each place, as many as work there at once
    generator, monday = np.random.default_rng(seed), date(2026, 6, 1)
    day_and_night, stages, free = calendar_of_hours(24.0, 7), [], []
    for place, many in enumerate((2, 1, 1, 3)):
        weeks = {week: int(generator.integers(0, many + 1)) for week in range(12)}
        stages.append((many, weeks, float(np.round(generator.uniform(20, 300), 2))))
        taken = tuple(Booking(str(place), monday + timedelta(weeks=week), 168.0 * n, True) for week, n in weeks.items())
        free.append(FreeTime(day_and_night, "", taken, monday, places=many, booked_as=str(place)))

    works = tuple(Work(str(place), str(place), stages[place][2], free[place]) for place in range(4))
    room = in_tool_room(works[0], 0.0, 0.0)
    timing = placed(NO_WAIT, works[1:], room)

    ends = np.cumsum([one.queue + one.run for one in (room, *timing.placed)])
    assert ends.tolist() == pytest.approx(simulated_chain(stages), abs=1e-6)
    assert timing.leaves == pytest.approx(ends[-1])


def test_a_tool_is_not_done_before_its_usual_time_and_waits_for_a_booked_tool_room():
    idle = in_tool_room(work(16.0, name="tool room"), 10.0, 14.0)
    busy = in_tool_room(work(16.0, [0.0] * 15 + [8.0] * 9, "tool room"), 10.0, 14.0)

    assert (idle.queue, idle.run) == (0.0, 4.0)  # 16 h take two days; the tool is said to be there after 14
    assert (busy.queue, busy.run) == (5.0, 2.0)
    steps = {one.name: one for one in steps_of(Timing(NO_WAIT, (), busy))}
    assert (steps["queue for tool room"].start, steps["tool room"].finish) == (0.0, 7.0)


def test_a_place_without_the_hours_is_named_with_what_it_has():
    with pytest.raises(NoFreeHoursError) as refused:
        placed(NO_WAIT, (work(5.0), work(9.0, [0.0, 8.0], "trim", "R1")))

    lacking = refused.value
    assert (lacking.work, lacking.where, lacking.hours, lacking.held) == ("trim", "R1", 9.0, 8.0)
