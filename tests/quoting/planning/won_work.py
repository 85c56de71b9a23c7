"""Won and quoted work made by a small factory, on the machines of the demo."""

from datetime import timedelta
from decimal import Decimal

from machines.models import Booking, Machine
from quoting.planning.models import WON, Job
from quoting.planning.shop import WEEK, monday
from quoting.quotes.records import today


def next_monday():
    return monday(today()) + WEEK


def machine(code):
    return Machine.objects.select_related("plant").get(code=code)


def two_of_one_plant():
    """Two machines of one plant, and one of another."""
    rows = list(Machine.objects.select_related("plant").order_by("code"))
    for first in rows:
        mates = [one for one in rows if one.plant_id == first.plant_id and one != first]
        away = [one for one in rows if one.plant_id != first.plant_id]
        if mates and away:
            return first, mates[0], away[0]
    raise AssertionError("the demo has no plant with two machines")


def job(quote, on, hours, due_week, options=(), *, booked=None, ready_week=0, state=WON, **more):
    """A job whose hours are booked on its machine in the weeks given, counted from the next Monday.

    ``options`` are (machine, hours, cost); ``booked`` is {week: hours} and by default all in the due week.
    """
    listed = [{"machine": on.code, "hours": hours, "cost": "0"}]
    listed += [{"machine": one.code, "hours": took, "cost": str(cost)} for one, took, cost in options]
    row = Job(
        quote=quote, part=f"part of {quote}", state=state, machine=on, process="vacuum", polymer="ABS", quantity=100,
        hours=hours, options=listed, since=today(), ready=next_monday() + ready_week * WEEK,
        due=next_monday() + due_week * WEEK + timedelta(days=4), value=Decimal(1000), margin=0.2, **more,
    )  # fmt: skip
    row.full_clean()
    row.save()
    for week, taken in ({due_week: hours} if booked is None else booked).items():
        Booking.objects.create(
            machine=on, week=next_monday() + week * WEEK, hours=taken, firm=state == WON, label=str(row), quote=quote
        )
    return row
