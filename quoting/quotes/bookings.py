"""Which weeks of which machine a release would take: hours laid out backwards from the promised week."""

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain, count

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Hours:
    week: date  # its Monday
    hours: float


def monday(day: date) -> date:
    """
    >>> monday(date(2026, 11, 25))
    datetime.date(2026, 11, 23)
    """
    return day - timedelta(days=day.weekday())


def laid_out(hours: float, on: date, lead_time_weeks: float, weekly_hours: float) -> tuple[Hours, ...]:
    """Press hours by week: the promised week is filled first, then the weeks before it back to that of ``on``.

    What does not fit before the promise goes on after it, so that no hour is lost from sight.

    >>> [(str(one.week), one.hours) for one in laid_out(100.0, date(2026, 11, 25), 3, 80.0)]
    [('2026-12-07', 20.0), ('2026-12-14', 80.0)]
    >>> [(str(one.week), one.hours) for one in laid_out(100.0, date(2026, 11, 25), 0, 80.0)]
    [('2026-11-23', 80.0), ('2026-11-30', 20.0)]
    """
    first, promised = monday(on), monday(on + timedelta(days=round(7 * lead_time_weeks)))
    back = (promised - number * WEEK for number in range((promised - first) // WEEK + 1))
    taken: list[Hours] = []
    for week in chain(back, (promised + number * WEEK for number in count(1))):
        if hours <= 0:
            break
        taken.append(Hours(week, min(hours, weekly_hours)))
        hours -= weekly_hours
    return tuple(sorted(taken, key=lambda one: one.week))
