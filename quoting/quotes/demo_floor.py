"""The shop floor of the demo: shifts, holidays, maintenance, and what the plants work on beside its quotes."""

import json
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db import models, transaction

from machines import wall_clock
from machines.models import Booking, Machine, Plant, Shift, TimeWindow
from quoting.planning.jobs import job_write
from quoting.planning.models import Job
from quoting.planning.occupying import Occupied, Option
from quoting.planning.weeks import DAYS_IN_WEEK, WEEK, monday
from quoting.quotes.closed_days import closed_days_keep
from quoting.quotes.records import audit
from quoting.quotes.stock import DEMO

STANDING_LABEL = "standing work"  # of bookings that an earlier demo made


@transaction.atomic
def floor_ensure(*, on: date) -> bool:
    """Fill calendars and machines, so that boards and lead times show something. False where work stands already.

    Plants and machines that are not there are passed over: the demo may be set up upon other ones.
    """
    if Job.objects.exists() or Booking.objects.filter(label=STANDING_LABEL).exists():
        return False
    floor = json.loads((DEMO / "floor.json").read_text(encoding="utf-8"))
    plants = {plant.code: plant for plant in Plant.objects.all()}
    machines = {machine.code: machine for machine in Machine.objects.all()}
    for given in floor["plants"]:
        if given["code"] in plants:
            _open(plants[given["code"]], given, on)
    jobs = [one for one in floor["jobs"] if one["machine"] in machines]
    for given in sorted(jobs, key=lambda one: (one["due_in_weeks"], one["code"])):
        _book(given, machines, on)
    for given in floor["maintenance"]:  # last, so that a machine stands in a week that was promised before
        if given["machine"] in machines:
            _stand(given, machines[given["machine"]], plants[given["plant"]], on)
    audit("demo_floor", by=None, jobs=len(jobs))
    return True


def _kept(row: models.Model) -> None:
    row.full_clean()
    row.save()


def _open(plant: Plant, given: dict[str, Any], on: date) -> None:
    plant.assembly_places = given["assembly_places"]
    _kept(plant)
    for shift in given["shifts"]:
        start = time.fromisoformat(shift["start"])
        _kept(Shift(plant=plant, first_day=date(on.year, 1, 1), **shift | {"start": start}))
    closed_days_keep(plant=plant, years=(on.year, on.year + 1), by=None)


def _book(given: dict[str, Any], machines: dict[str, Machine], on: date) -> None:
    since = monday(on)
    ready, due = given["ready_in_weeks"] * WEEK, given["due_in_weeks"] * WEEK + timedelta(days=4)
    elsewhere = (Option(one["machine"], one["hours"], Decimal(one["cost"])) for one in given["options"])
    options = (
        Option(given["machine"], given["hours"], Decimal(0)),
        *(one for one in elsewhere if one.machine in machines),
    )
    work = Occupied(
        **{name: given[name] for name in (
            "machine", "plant", "process", "polymer", "quantity", "hours", "trimmer", "trim_hours", "assembly_hours",
            "margin",
        )},
        trim_plant=given["plant"], ready_weeks=ready.days / DAYS_IN_WEEK, lead_weeks=due.days / DAYS_IN_WEEK,
        needed_by=None, value=Decimal(given["value"]), options=options,
        tool_room_hours=given.get("tool_room_hours", 0.0), tool_weeks=given.get("tool_in_weeks", 0.0),
    )  # fmt: skip
    job_write(quote=given["code"], part=given["part"], customer=given["customer"], occupied=work, since=since, won=True)


def _stand(given: dict[str, Any], machine: Machine, plant: Plant, on: date) -> None:
    day = monday(on) + given["week"] * WEEK + timedelta(days=given["day"])
    start = wall_clock.moment("start", f"{day} {given['start']}", ZoneInfo(plant.time_zone))
    end = start + timedelta(hours=given["hours"])
    _kept(TimeWindow(plant=plant, machine=machine, kind="maintenance", start=start, end=end, reason=given["reason"]))
