"""The floor of the demo: one machine with more work than hours, others with room, and some work late."""

from datetime import date

import pytest

from machines.board import board
from machines.clashes import clashes
from machines.models import Booking, ClosedDay, Machine, Plant, TimeWindow
from materials.models import Polymer
from quoting.planning import selectors
from quoting.planning.models import Job
from quoting.quotes import stock
from quoting.quotes.demo_floor import floor_ensure

ON = date(2026, 11, 28)
MONDAY = date(2026, 11, 23)
WEEKS = 12


@pytest.fixture
def floor(db):
    stock.catalog_ensure()
    assert floor_ensure(on=ON)


def test_one_machine_is_overloaded_and_late_while_others_that_can_take_its_work_have_room(floor):
    rows = selectors.resources(ON)
    hours, loads = selectors.available(rows, MONDAY, WEEKS), selectors.loads(MONDAY, WEEKS)
    found = board(rows, hours, loads, {}, MONDAY)

    formers = {row.code for row in rows if row.kind == "forming"}
    full = {one.where for one in clashes(found, loads) if one.kind == "overbooked" and one.where in formers}
    assert full == {"RIVERS-T1"}
    last = {
        job: max(Booking.objects.filter(quote=job.quote).values_list("week", flat=True)) for job in Job.objects.all()
    }
    late = [job for job, week in last.items() if week > job.due]
    assert late and {job.machine.code for job in late} == {"RIVERS-T1"}
    free = dict(zip((row.code for row in rows), found.free.sum(axis=1), strict=True))
    for job in late:
        assert any(free[one["machine"]] > one["hours"] for one in job.options if one["machine"] != "RIVERS-T1")


def test_jobs_name_machines_and_polymers_of_the_catalog_and_have_hours_beside_the_former(floor):
    machines, polymers = (
        set(Machine.objects.values_list("code", flat=True)),
        set(Polymer.objects.values_list("name", flat=True)),
    )
    for job in Job.objects.all():
        assert {one["machine"] for one in job.options} <= machines and job.polymer in polymers
        assert job.options[0] == {"machine": job.machine.code, "hours": job.hours, "cost": "0"}
        assert job.bench_hours.filter(kind="router").exists()
        assert sum(Booking.objects.filter(quote=job.quote).values_list("hours", flat=True)) == pytest.approx(job.hours)


def test_each_plant_has_shifts_closed_days_and_maintenance_and_a_second_run_adds_nothing(floor):
    for plant in Plant.objects.all():
        assert plant.shifts.exists() and plant.windows.filter(kind="maintenance").count() == 1
    before = [model.objects.count() for model in (Job, Booking, ClosedDay, TimeWindow)]

    assert not floor_ensure(on=ON)

    assert [model.objects.count() for model in (Job, Booking, ClosedDay, TimeWindow)] == before
