"""Plants, machines and booked work as values, each in a fixed number of queries."""

from datetime import date

from machines import machine, models
from machines.calendar import WorkCalendar


def plants() -> tuple[machine.Plant, ...]:
    """Every plant with its trimmers, by code; two queries."""
    return tuple(row.to_domain() for row in models.Plant.objects.order_by("code").prefetch_related("trimmers"))


def machines() -> tuple[machine.Machine, ...]:
    """Every machine that has stations, by code; two queries."""
    rows = models.Machine.objects.order_by("code").select_related("plant").prefetch_related("stations")
    return tuple(row.to_domain() for row in rows if row.stations.all())


CALENDAR_ROWS = ("shifts", "closed_days", "windows__machine", "windows__trimmer")  # prefetched for ``to_calendar``


def calendars() -> dict[str, WorkCalendar]:
    """The calendar of every plant by its code; at most six queries."""
    rows = models.Plant.objects.order_by("code").prefetch_related(*CALENDAR_ROWS)
    return {row.code: row.to_calendar() for row in rows}


def bookings(since: date) -> tuple[machine.Booking, ...]:
    """Hours booked in weeks that begin on or after that day, firm and quoted; one query."""
    rows = models.Booking.objects.filter(week__gte=since).select_related("machine")
    return tuple(row.to_domain() for row in rows.order_by("week", "machine__code", "firm", "label", "pk"))
