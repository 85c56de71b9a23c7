"""What the board is made of: hours taken, what has hours of its own, and how many; in a fixed number of queries."""

from collections.abc import Iterable
from datetime import date, timedelta

import numpy as np

from machines import models as tables
from machines import selectors as machines
from machines.board import Load, Resource
from machines.calendar import EVERYTHING, hours_by_week
from quoting.planning.models import DONE, QUOTED, WON, BenchHours, Job, resource_code
from quoting.planning.taken import bookings


def loads(first: date, weeks: int) -> tuple[Load, ...]:
    """Hours taken in the weeks from that of ``first`` on: bookings of formers, and hours beside them; five queries."""
    monday = first - timedelta(days=first.weekday())
    within = {"week__gte": monday, "week__lt": monday + timedelta(weeks=weeks)}
    tools = dict(Job.objects.exclude(tool="").order_by().values_list("quote", "tool"))
    found = [
        Load(code, week, hours, firm, label, tools.get(quote, ""), quote)
        for code, week, hours, firm, label, quote in bookings(monday, weeks)
    ]
    return (*found, *_beside_forming(within))


def _beside_forming(within: dict) -> Iterable[Load]:
    rows = BenchHours.objects.filter(job__state__in=(QUOTED, WON, DONE), **within)
    rows = rows.order_by()
    for plant, kind, code, week, hours, quote, part, state in rows.values_list(
        "plant__code", "kind", "code", "week", "hours", "job__quote", "job__part", "job__state"
    ):
        label = f"{quote} {part}".strip()
        yield Load(resource_code(plant, kind, code), week, hours, state != QUOTED, label, "", quote)


def resources() -> tuple[Resource, ...]:
    """Machines, routers, an assembly bench and a tool room of each plant; three queries."""
    formers = tables.Machine.objects.order_by("plant__code", "code").values_list("code", "plant__code")
    routers = tables.Trimmer.objects.order_by("plant__code", "code").values_list("code", "plant__code")
    plants = tables.Plant.objects.order_by("code").values_list("code", flat=True)
    return (
        *(Resource(code, "forming", plant) for code, plant in formers),
        *(Resource(resource_code(plant, "router", code), "router", plant) for code, plant in routers),
        *(Resource(resource_code(plant, kind), kind, plant) for plant in plants for kind in ("assembly", "tool_room")),
    )


def available(resources: tuple[Resource, ...], monday: date, weeks: int) -> np.ndarray:
    """Clock hours of each resource in each week by the calendar of its plant; at most six queries."""
    calendars = machines.calendars()
    hours = [hours_by_week(calendars[row.plant], _own_code(row), monday, weeks) for row in resources]
    return np.array(hours, dtype=float).reshape(len(resources), weeks)


def _own_code(row: Resource) -> str:
    """The code by which windows name it; a bench and a tool room know the windows of the whole plant alone."""
    if row.kind in ("assembly", "tool_room"):
        return EVERYTHING
    return row.code.removeprefix(f"{row.plant}/") if row.kind == "router" else row.code
