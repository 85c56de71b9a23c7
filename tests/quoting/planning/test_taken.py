"""Work read as columns, against the same rows taken one by one as objects and added up plainly."""

from collections import defaultdict
from datetime import date, timedelta

import numpy as np
import pytest

from machines.board import board
from machines.clashes import clashes
from machines.loads import Load
from machines.models import Booking, Machine, Trimmer
from machines.weeks import WEEK
from quoting.planning import selectors
from quoting.planning.models import DONE, GONE, QUOTED, WON, BenchHours, Job

MONDAY, WEEKS, QUOTES = date(2026, 11, 23), 6, 25


@pytest.fixture
def floor(office):
    """Three machines, one of them retired, a router and a bench; ``filled`` puts random work there."""
    home = office.machine
    office.plant = home.plant
    office.plant.assembly = ["insert"]
    office.plant.save()
    for code, retired in (("M-2", None), ("M-3", date(2020, 1, 1))):
        Machine.objects.create(**{
            field.attname: getattr(home, field.attname) for field in Machine._meta.concrete_fields if field.name != "id"
        } | {"code": code, "retired_on": retired})  # fmt: skip
    Trimmer.objects.create(plant=office.plant, code="R-9", kind="five_axis", table_length=2, table_width=2,
                           table_height=1, hour_rate=80, feed=0.1, crew=1, setup_hours=1, efficiency=0.5)  # fmt: skip
    return office


def filled(floor, seed):
    random, machines = np.random.default_rng(seed), list(Machine.objects.order_by("pk"))

    def one_of(options):
        return options[random.integers(len(options))]

    def week():
        return MONDAY + int(random.integers(-1, WEEKS + 1)) * WEEK

    for number in range(QUOTES):
        state, valid = one_of((QUOTED, WON, DONE, GONE)), one_of((None, date(2020, 1, 1), date(2120, 1, 1)))
        job = Job.objects.create(
            quote=f"Q-{number}", part=one_of(("", "cover")), machine=one_of(machines), state=state, valid_until=valid,
            process="vacuum", polymer="ABS", quantity=9, hours=9, since=MONDAY, ready=MONDAY, due=MONDAY, value=1,
            margin=0.1, tool=one_of(("", "T-1", "T-2", "T-3")),
        )  # fmt: skip
        for _ in range(random.integers(0, 3)):
            kind, code = one_of((("router", "R-9"), ("assembly", ""), ("tool_room", "")))
            BenchHours.objects.create(job=job, plant=floor.plant, kind=kind, code=code, week=week(),
                                      hours=random.uniform(0, 30))  # fmt: skip
    for number in range(3 * QUOTES):
        quote = one_of(["", *(f"Q-{one}" for one in range(QUOTES + 5))])  # some numbers belong to no job
        Booking.objects.create(machine=one_of(machines), week=week(), hours=random.uniform(0, 20), quote=quote,
                               firm=bool(random.integers(2)), label=f"{quote} work {number}")  # fmt: skip


def row_by_row() -> list[Load]:
    """Each row as an object, as the pages would be told it by hand."""
    end = MONDAY + WEEKS * WEEK
    jobs = {job.quote: job for job in Job.objects.all()}
    over = {job.quote for job in jobs.values()
            if job.state == QUOTED and job.valid_until and job.valid_until < date(2026, 1, 1)}  # fmt: skip
    found = [
        Load(one.machine.code, one.week, one.hours, one.firm, one.label, jobs[one.quote].tool if one.quote in jobs
             else "", one.quote)
        for one in Booking.objects.select_related("machine")
        if MONDAY <= one.week < end and (one.firm or one.quote not in over)
    ]  # fmt: skip
    return found + [
        Load(one.resource, one.week, one.hours, one.job.state in (WON, DONE), str(one.job), "", one.job.quote)
        for one in BenchHours.objects.select_related("job", "plant")
        if MONDAY <= one.week < end and one.job.quote not in over
    ]


@pytest.mark.parametrize("seed", range(5))
def test_the_columns_hold_what_the_rows_hold_and_the_board_adds_them_up_alike(floor, seed):
    filled(floor, seed)
    plain, chances = row_by_row(), {f"Q-{number}": number / 50 for number in range(0, QUOTES, 2)}
    sums = {kind: defaultdict(float) for kind in ("booked", "quoted", "weighted")}
    for load in plain:
        cell = load.resource, load.week
        sums["booked" if load.firm else "quoted"][cell] += load.hours
        if not load.firm:
            sums["weighted"][cell] += load.hours * chances.get(load.quote, 1.0)

    loads, rows = selectors.loads(MONDAY + timedelta(days=2), WEEKS), selectors.resources()
    found = board(rows, np.full((len(rows), WEEKS), 15.0), loads, chances, MONDAY)

    assert plain and sorted(loads) == sorted(plain)
    for kind, expected in sums.items():
        held = [[expected[row.code, MONDAY + week * WEEK] for week in range(WEEKS)] for row in rows]
        assert getattr(found, kind) == pytest.approx(np.array(held))
    codes = {row.code for row in rows}
    assert sorted(found.stranded) == sorted(load for load in plain if load.resource not in codes)
    assert "M-3" in {load.resource for load in found.stranded}
    told = {(one.where, one.week): set(one.labels) for one in clashes(found, loads) if one.kind == "overbooked"}
    assert told and told == {
        cell: {load.label for load in plain if load.firm and (load.resource, load.week) == cell}
        for cell, hours in sums["booked"].items()
        if hours > 15 and cell[0] in codes
    }
