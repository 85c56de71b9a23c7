"""Plants, machines and booked work as values, each in a fixed number of queries."""

from datetime import date

from machines import machine, models


def plants() -> tuple[machine.Plant, ...]:
    """Every plant with its trimmers, by code; two queries."""
    return tuple(row.to_domain() for row in models.Plant.objects.order_by("code").prefetch_related("trimmers"))


def machines() -> tuple[machine.Machine, ...]:
    """Every machine that has stations, by code; two queries."""
    rows = models.Machine.objects.order_by("code").select_related("plant").prefetch_related("stations")
    return tuple(row.to_domain() for row in rows if row.stations.all())


def bookings(since: date) -> tuple[machine.Booking, ...]:
    """Hours booked in weeks that begin on or after that day, firm and quoted; one query."""
    rows = models.Booking.objects.filter(week__gte=since).select_related("machine")
    return tuple(row.to_domain() for row in rows.order_by("week", "machine__code", "firm", "label", "pk"))
