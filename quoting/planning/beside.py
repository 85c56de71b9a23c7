"""Hours beside the formers: won ones, as the catalog of an answer takes them, and free ones of a tool room."""

from collections.abc import Sequence
from datetime import date

import numpy as np
from django.db.models import Sum

from machines import machine
from machines.models import Plant
from machines.selectors import CALENDAR_ROWS
from quoting.planning.models import DONE, WON, BenchHours, resource_code
from quoting.planning.selectors import hours_of_days
from quoting.planning.weeks import DAYS_IN_WEEK, WEEK, monday

TOOL_ROOM = "tool_room"


def won_hours(since: date) -> tuple[machine.Booking, ...]:
    """Won hours of trimmers, benches and tool rooms in weeks from a Monday on, summed by place and week; one query."""
    rows = BenchHours.objects.filter(week__gte=since, job__state__in=(WON, DONE), hours__gt=0).order_by()
    summed = rows.values_list("plant__code", "kind", "code", "week").annotate(total=Sum("hours"))
    found = (machine.Booking(resource_code(plant, kind, code), week, total, True)
             for plant, kind, code, week, total in summed)  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.week, one.machine)))


def free_in_tool_room(plant: Plant, since: date, weeks: int, without: str) -> Sequence[float]:
    """Hours of each week, from that of ``since`` on, that one programme can have in the tool room; none before it.

    One of its people works on a programme: ``min(hours, places x hours - won hours of others)``. ``without`` is the
    quote whose own hours do not count.
    """
    first = monday(since)
    row = Plant.objects.prefetch_related(*CALENDAR_ROWS).get(pk=plant.pk)
    days = hours_of_days(row.to_calendar(), TOOL_ROOM, first, DAYS_IN_WEEK * weeks, None)
    whole = days.reshape(weeks, DAYS_IN_WEEK).sum(axis=1)
    own = np.where(np.arange(len(days)) < since.weekday(), 0.0, days).reshape(weeks, DAYS_IN_WEEK).sum(axis=1)
    taken = np.zeros(weeks)
    won = BenchHours.objects.filter(plant=plant, kind=TOOL_ROOM, job__state__in=(WON, DONE))
    won = won.filter(week__gte=first, week__lt=first + weeks * WEEK).exclude(job__quote=without).order_by()
    for week, hours in won.values_list("week").annotate(total=Sum("hours")):
        taken[(week - first) // WEEK] += hours
    return np.clip(row.tool_room_places * whole - taken, 0.0, own).tolist()
