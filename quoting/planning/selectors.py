"""What occupies the plants, what there is to occupy, and how many hours it has: rows as values for the board."""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
from django.db.models import Exists, OuterRef, Q, Sum
from django.utils import timezone

from machines import selectors as machines
from machines.board import KINDS, Resource
from machines.calendar import EVERYTHING, WorkCalendar, hours_by_day
from machines.loads import Loads
from machines.models import Booking, Machine, Plant, Trimmer
from machines.runs import Factor
from quoting.catalog import CORRECTED, Corrections, MeasureCorrection
from quoting.planning.factor_models import ACCEPTED, FactorVersion
from quoting.planning.models import QUOTED, Job, resource_code
from quoting.planning.taken import beside, forming, together
from quoting.planning.weeks import DAYS_IN_WEEK, WEEK, monday


def factors_in_force(on: date) -> FactorVersion | None:
    """The accepted correction factors of a day; one query."""
    begun = FactorVersion.objects.filter(state=ACCEPTED, valid_from__lte=on)
    return begun.order_by("-valid_from", "-number").first()


def corrections_of(version: FactorVersion | None) -> Corrections | None:
    """What answers take of a version: of the measures that are applied, factors and range; None where it has none."""
    if version is None:
        return None
    kept = {one["measure"]: one for one in version.measures}
    measures = tuple(_correction(kept[name]) for name in CORRECTED if name in kept)
    return Corrections(version.number, measures) if measures else None


def _correction(kept: dict) -> MeasureCorrection:
    factors = tuple(Factor(**each) for each in kept["factors"])
    return MeasureCorrection(kept["measure"], kept["runs"], factors, kept["least"], kept["most"])


def loads(first: date, weeks: int) -> Loads:
    """Forming hours and hours beside the former in these weeks, in no order; six queries.

    Quoted work whose quote is no longer valid is left out.
    """
    start, expired = monday(first), _expired()
    tools = _tools(week__gte=start, week__lt=start + weeks * WEEK)
    return together(forming(start, weeks, expired), beside(start, weeks, expired), tools)


def _tools(**within: date) -> dict[str, str]:
    """The tool of each quote that has hours on a former in these weeks."""
    # "Exists" goes through jobs, of which there are fewer; "in" would have SQLite sort the numbers of all bookings.
    booked = Exists(Booking.objects.filter(quote=OuterRef("quote"), **within))
    return dict(Job.objects.filter(booked).order_by().values_list("quote", "tool"))


def _expired() -> frozenset[str]:
    """The quotes of which quoted work no longer counts."""
    over = Job.objects.filter(state=QUOTED, valid_until__lt=timezone.localdate())
    return frozenset(over.order_by().values_list("quote", flat=True))


def resources(on: date | None = None) -> tuple[Resource, ...]:
    """What has hours of its own: machines that are not retired, trimmers, benches and tool rooms of plants with one."""
    today = on or timezone.localdate()
    formers = Machine.objects.filter(Q(retired_on__isnull=True) | Q(retired_on__gt=today))
    found = [Resource(code, "forming", plant) for code, plant in formers.values_list("code", "plant__code")]
    found += [
        Resource(resource_code(plant, "router", code), "router", plant)
        for code, plant in Trimmer.objects.values_list("code", "plant__code")
    ]
    for plant in Plant.objects.all():
        kinds = [("assembly", plant.assembly), ("tool_room", plant.tool_room_places)]
        found += [Resource(resource_code(plant.code, kind), kind, plant.code) for kind, has in kinds if has]
    return tuple(sorted(found, key=lambda one: (one.plant, KINDS.index(one.kind), one.code)))


def available(resources: tuple[Resource, ...], monday: date, weeks: int) -> np.ndarray:
    """(resources, weeks) clock hours [h]; at a bench and in a tool room, those of all who can work there at once.

    Efficiency counts in the hours that work needs, for machines and trimmers alike, so none is taken here.
    """
    calendars, retired = machines.calendars(), dict(Machine.objects.values_list("code", "retired_on"))
    places = {}
    for plant, assembly, tool_room in Plant.objects.values_list("code", "assembly_places", "tool_room_places"):
        places |= {(plant, "assembly"): assembly, (plant, "tool_room"): tool_room}
    found = np.zeros((len(resources), weeks))
    for row, one in zip(found, resources, strict=True):
        code = {"forming": one.code, "router": one.code.removeprefix(f"{one.plant}/")}.get(one.kind, EVERYTHING)
        days = hours_of_days(calendars[one.plant], code, monday, DAYS_IN_WEEK * weeks, retired.get(one.code))
        row[:] = days.reshape(weeks, DAYS_IN_WEEK).sum(axis=1) * places.get((one.plant, one.kind), 1)
    return found


def hours_of_days(calendar: WorkCalendar, code: str, first: date, days: int, retired_on: date | None) -> np.ndarray:
    """(days,) clock hours [h] of a resource from ``first`` on; none from the day on which it is retired."""
    hours = hours_by_day(calendar, code, first, days)
    if retired_on is None or retired_on >= first + timedelta(days=days):
        return hours
    return np.where(np.arange(days) < (retired_on - first).days, hours, 0.0)


def free_hours(machine: Machine, ready: date, weeks: int, without: str) -> Sequence[float]:
    """Hours of each week, from that of ``ready`` on, that firm work leaves; nothing before that day.

    ``without`` is the quote whose own hours do not count.
    """
    first = monday(ready)
    plant = Plant.objects.prefetch_related(*machines.CALENDAR_ROWS).get(pk=machine.plant_id)
    days = hours_of_days(plant.to_calendar(), machine.code, first, DAYS_IN_WEEK * weeks, machine.retired_on)
    days = np.where(np.arange(len(days)) < ready.weekday(), 0.0, days)
    taken = np.zeros(weeks)
    firm = Booking.objects.filter(machine=machine, firm=True, week__gte=first, week__lt=first + weeks * WEEK)
    for week, hours in firm.exclude(quote=without).order_by().values_list("week").annotate(total=Sum("hours")):
        taken[(week - first) // WEEK] += hours
    whole = days.reshape(weeks, DAYS_IN_WEEK).sum(axis=1)
    return np.maximum(whole - taken, 0.0).tolist()


def work_after(machine: Machine, day: date) -> tuple[Booking, ...]:
    """Firm hours of a machine in weeks that reach beyond a day, which keep it from being retired then; one query."""
    rows = Booking.objects.filter(machine=machine, firm=True, week__gt=day - WEEK, hours__gt=0)
    return tuple(rows.order_by("week", "label", "pk"))
