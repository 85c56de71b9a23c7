"""Bookings of formers as plain rows, read as fast as the database gives them: a board has tens of thousands.

Joining machines, turning truth values and dates into objects, row by row, would take longer than all else of a board.
So machines are looked up by their key, won and quoted rows are asked for apart, and each week is made a date once.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from django.db.models import CharField
from django.db.models.functions import Cast

from machines.models import Booking, Machine

Row = tuple[str, date, float, bool, str, str]  # machine, week, hours, won, label, quote


def bookings(monday: date, weeks: int) -> Iterator[Row]:
    """Every booking of these weeks, won ones first; three queries."""
    codes = dict(Machine.objects.order_by().values_list("pk", "code"))
    days = {monday + timedelta(weeks=number) for number in range(weeks)}
    week_of = {day.isoformat(): day for day in days}
    within = Booking.objects.filter(week__gte=monday, week__lt=monday + timedelta(weeks=weeks)).order_by()
    for firm in (True, False):
        rows = within.filter(firm=firm).annotate(day=Cast("week", CharField()))
        for machine, day, hours, label, quote in rows.values_list("machine_id", "day", "hours", "label", "quote"):
            yield codes[machine], week_of[day], hours, firm, label, quote
