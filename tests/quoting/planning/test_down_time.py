"""A machine that a plan takes as down becomes maintenance: once, never twice, and answers, board and plan see it."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from machines import selectors as machine_selectors
from machines.calendar import Shift, Window, WorkCalendar, hours_by_week
from machines.down_time import days_down
from machines.models import Booking, TimeWindow
from quoting.planning.models import Job
from quoting.planning.plan_models import MACHINE_DOWN
from quoting.planning.shop import WEEK, monday, shop
from quoting.quotes import down_time, policies, selectors, services
from quoting.quotes.boards import seen_board
from quoting.quotes.models import AuditEntry
from quoting.quotes.records import today
from quoting.quotes.steps import ConflictError, StateError
from tests.quoting.desk.world import person
from tests.quoting.planning.test_plans import accepted, asked, down, worked
from tests.quoting.planning.won_work import job, next_monday, two_of_one_plant


@pytest.fixture
def office(db, settings):
    settings.BACKGROUND = "workers"
    services.catalog_ensure()
    services.ensure_groups()
    Booking.objects.all().delete()
    return person("mia", policies.MANAGER)


def written(run, by):
    run.refresh_from_db()
    return down_time.plan_down_write(run=run, by=by, version=str(run.version))


def hours(machine, weeks=4):
    calendar = machine_selectors.calendars()[machine.plant.code]
    return hours_by_week(calendar, machine.code, next_monday(), weeks)


@pytest.mark.parametrize("shift", [Shift((0, 1, 2, 3, 4), time(6), 8.0), Shift(tuple(range(7)), time(22), 9.5, 0.5)])
@pytest.mark.parametrize("zone", ["America/Chicago", "UTC"])
def test_down_days_take_all_hours_of_their_shifts_and_none_of_the_days_beside_them(shift, zone):
    from zoneinfo import ZoneInfo

    # 2026-11-01 is the Sunday on which clocks in the United States are set back.
    first = date(2026, 10, 26)
    calendar = WorkCalendar(ZoneInfo(zone), (shift,))
    before = hours_by_week(calendar, "F1", first - WEEK, 4)

    start, end = days_down(calendar, first, 14)
    stands = WorkCalendar(ZoneInfo(zone), (shift,), maintenance=(Window("F1", start, end),))
    after = hours_by_week(stands, "F1", first - WEEK, 4)

    assert after.tolist() == [pytest.approx(before[0]), 0, 0, pytest.approx(before[3])]


def test_down_time_is_written_once_with_its_record_and_the_hours_are_gone_everywhere(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    before = hours(first)
    run = down(office, first)

    written(run, office)
    again = written(run, office)

    window = TimeWindow.objects.get(machine=first, reason=f"down, plan {run.pk}")
    assert window.kind == "maintenance" and again.window_by == office
    assert hours(first).tolist() == [0, 0, *before[2:]]
    entry = AuditEntry.objects.get(action="plan_down_write")
    assert entry.by == office and entry.detail["machine"] == first.code
    assert entry.detail["stretches"] == [[window.start.isoformat(), window.end.isoformat()]]
    seen = seen_board(next_monday(), 2, today())
    row = next(n for n, one in enumerate(seen.board.resources) if one.code == first.code)
    assert seen.board.available[row].tolist() == [0, 0]
    calendars = {one.plant: one.calendar for one in selectors.catalog(today()).calendars}
    assert any(one.resource == first.code and one.end == window.end for one in calendars[first.plant.code].maintenance)


def test_maintenance_that_stands_already_is_not_doubled(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = down(office, first)
    ((start, end),) = down_time.to_write(run)
    inner = start + timedelta(days=3), start + timedelta(days=4)
    TimeWindow.objects.create(plant=first.plant, machine=first, kind="maintenance", start=inner[0], end=inner[1])
    TimeWindow.objects.create(plant=first.plant, kind="maintenance", start=start - timedelta(days=9), end=start)
    TimeWindow.objects.create(plant=mate.plant, machine=mate, kind="maintenance", start=start, end=end)
    TimeWindow.objects.create(plant=first.plant, machine=first, kind="overtime", start=start, end=inner[0])

    written(run, office)

    rows = TimeWindow.objects.filter(reason=f"down, plan {run.pk}").values_list("start", "end")
    assert set(rows) == {(start, inner[0]), (inner[1], end)}
    assert hours(first)[:2].tolist() == [0, 0]


def test_where_the_calendar_has_all_of_it_nothing_is_written_and_that_is_said(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = down(office, first)
    written(run, office)
    second = down(office, first)

    with pytest.raises(StateError, match="already"):
        written(second, office)
    assert AuditEntry.objects.filter(action="plan_down_write").count() == 1


def test_moves_can_be_accepted_after_the_down_time_is_written_and_the_other_way_round(office):
    first, mate, away = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 20, 300)])
    job("Q-2", first, 15, 0, [(away, 15, 300)])
    run = down(office, first)

    accepted(run, office, 1)
    written(run, office)
    accepted(run, office, 2)

    assert set(Job.objects.values_list("machine__code", flat=True)) == {mate.code, away.code}


def test_down_time_of_a_plan_whose_data_changed_is_written_and_its_moves_stay_refused(office):
    first, mate, _ = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    run = down(office, first)
    job("Q-7", mate, 10, 0)

    written(run, office)

    with pytest.raises(ConflictError, match="job Q-7 is new"):
        accepted(run, office)


def test_only_a_manager_of_the_plant_with_the_version_seen_and_a_plan_that_is_there_may_write_it(office):
    first, mate, away = two_of_one_plant()
    job("Q-1", first, 20, 0, [(mate, 22, 300)])
    going = asked(office, MACHINE_DOWN, machine=first, down_from=next_monday(), down_weeks=2)
    with pytest.raises(StateError, match="under way"):
        written(going, office)
    run = worked(going)
    elsewhere = person("eva", policies.MANAGER)
    elsewhere.plant_ties.create(plant=away.plant)
    with pytest.raises(ConflictError):
        down_time.plan_down_write(run=run, by=office, version="0")
    with pytest.raises(PermissionDenied):
        written(run, person("ella", policies.ESTIMATOR))
    with pytest.raises(PermissionDenied, match="of its plant"):
        written(run, elsewhere)
    with pytest.raises(StateError, match="no machine as down"):
        written(worked(asked(office)), office)
    assert not TimeWindow.objects.filter(reason__startswith="down").exists()


def test_a_machine_that_breaks_down_in_the_week_keeps_what_it_has_not_worked(office):
    first, *_ = two_of_one_plant()
    week = monday(today()) + WEEK
    job("Q-1", first, 40, 0)
    wednesday, freight = week + timedelta(days=2), selectors.rates(today()).freight
    before = shop(wednesday, 4, 0.0, freight)
    start = datetime.combine(wednesday, time(), UTC)
    TimeWindow.objects.create(
        plant=first.plant, machine=first, kind="maintenance", start=start, end=start + timedelta(days=19)
    )

    after = shop(wednesday, 4, 0.0, freight)

    left = {one.problem.jobs[0].options[0].hours for one in (before, after)}
    assert len({round(one) for one in left}) == 1 and 0 < min(left) < 40
    assert after.problem.capacity[after.problem.row(first.code), 0] < before.problem.capacity[
        before.problem.row(first.code), 0]  # fmt: skip
