"""Plants, machines and booked work as values, each in a fixed number of queries."""

from datetime import date

from machines import hour_rates, machine, models
from machines.calendar import WorkCalendar


def plants(on: date) -> tuple[machine.Plant, ...]:
    """Every plant with its trimmers and the hour rates of that day, by code; three queries."""
    now = hour_rates.in_force(dated_hour_rates(), on)
    rows = models.Plant.objects.order_by("code").prefetch_related("trimmers")
    return tuple(hour_rates.with_rates(row.to_domain(), now) for row in rows)


def machines(on: date) -> tuple[machine.Machine, ...]:
    """Every machine that has stations and is not retired, with the hour rate of that day, by code; three queries."""
    now = hour_rates.in_force(dated_hour_rates(), on)
    rows = models.Machine.objects.order_by("code").select_related("plant").prefetch_related("stations")
    works = (row for row in rows if row.stations.all() and (row.retired_on is None or row.retired_on > on))
    return tuple(hour_rates.machine_with_rate(row.to_domain(), now) for row in works)


def dated_hour_rates() -> tuple[hour_rates.HourRate, ...]:
    """Every dated hour rate, past and to come; one query."""
    rows = models.HourRate.objects.select_related("plant").order_by("plant__code", "kind", "code", "valid_from")
    return tuple(row.to_domain() for row in rows)


CALENDAR_ROWS = ("shifts", "closed_days", "windows__machine", "windows__trimmer")  # prefetched for ``to_calendar``


def calendars() -> dict[str, WorkCalendar]:
    """The calendar of every plant by its code; at most six queries."""
    rows = models.Plant.objects.order_by("code").prefetch_related(*CALENDAR_ROWS)
    return {row.code: row.to_calendar() for row in rows}


def bookings(since: date) -> tuple[machine.Booking, ...]:
    """Hours booked in weeks that begin on or after that day, firm and quoted; one query."""
    rows = models.Booking.objects.filter(week__gte=since).select_related("machine")
    return tuple(row.to_domain() for row in rows.order_by("week", "machine__code", "firm", "label", "pk"))
