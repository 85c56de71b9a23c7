"""Work on formers and beside them, read as columns as fast as the database gives it: a board has tens of thousands.

Joining machines, turning truth values and dates into objects and making an object of each row would take longer than
all else of a board. So machines are looked up by their key, won and quoted rows are asked for apart, and each week is
made a day once.
"""

from collections.abc import Collection, Mapping
from datetime import date, timedelta

from django.db.models import CharField
from django.db.models.functions import Cast

from machines.loads import Loads
from machines.models import Booking, Machine
from quoting.planning.models import DONE, WON, BenchHours, resource_code

FIRM = frozenset((WON, DONE))

COLUMNS = ("machine_id", "day", "hours", "label", "quote")
Columns = tuple[list[str], list[int], list[float], list[bool], list[str], list[str]]  # as of Loads, without the tools


def forming(monday: date, weeks: int, expired: Collection[str]) -> Columns:
    """Codes, days, hours, whether won, labels and quotes of the bookings of these weeks, won ones first; three queries.

    Quoted work of the quotes in ``expired`` is left out.
    """
    codes = dict(Machine.objects.order_by().values_list("pk", "code"))
    ordinal = _ordinals(monday, weeks)
    found: Columns = ([], [], [], [], [], [])
    within = Booking.objects.filter(week__gte=monday, week__lt=monday + timedelta(weeks=weeks)).order_by()
    for firm in (True, False):
        rows = within.filter(firm=firm).annotate(day=Cast("week", CharField())).values_list(*COLUMNS)
        kept = rows if firm or not expired else (row for row in rows if row[4] not in expired)
        machine, day, hours, label, quote = list(zip(*kept, strict=True)) or [()] * len(COLUMNS)
        columns = ([codes[one] for one in machine], [ordinal[one] for one in day], hours, [firm] * len(hours), label)
        for column, more in zip(found, (*columns, quote), strict=True):
            column.extend(more)
    return found


def beside(monday: date, weeks: int, expired: Collection[str]) -> Columns:
    """The same of what stands beside the formers; one query."""
    ordinal = _ordinals(monday, weeks)
    rows = BenchHours.objects.filter(week__gte=monday, week__lt=monday + timedelta(weeks=weeks)).order_by()
    rows = rows.annotate(day=Cast("week", CharField()))
    names = ("plant__code", "kind", "code", "day", "hours", "job__state", "job__quote", "job__part")
    kept = [row for row in rows.values_list(*names) if row[6] not in expired]
    return (
        [resource_code(*row[:3]) for row in kept], [ordinal[row[3]] for row in kept], [row[4] for row in kept],
        [row[5] in FIRM for row in kept], [f"{row[6]} {row[7]}".strip() for row in kept], [row[6] for row in kept],
    )  # fmt: skip


def together(forming: Columns, beside: Columns, tools: Mapping[str, str]) -> Loads:
    """One table of both; the tool of a quote stands at its hours on the former."""
    resource, day, hours, firm, label, quote = (one + other for one, other in zip(forming, beside, strict=True))
    tool = [tools.get(one, "") for one in forming[-1]] + [""] * len(beside[-1])
    return Loads.with_codes(resource, day, hours, firm, label, tool, quote)


def _ordinals(monday: date, weeks: int) -> dict[str, int]:
    """Ordinal of each Monday by its text, as the database writes it."""
    days = (monday + timedelta(weeks=number) for number in range(weeks))
    return {day.isoformat(): day.toordinal() for day in days}
