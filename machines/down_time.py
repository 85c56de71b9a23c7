"""When a machine that is down for whole days stands, and what of that time is on the calendar already."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta

from machines.calendar import WorkCalendar

DAY = timedelta(days=1)
Stretch = tuple[datetime, datetime]


def turn_of_day(calendar: WorkCalendar, day: date) -> datetime:
    """When the work of a day can begin: at midnight, or once a shift that began the day before has ended.

    Parameters
    ----------
    calendar : WorkCalendar
        Of the plant [-].
    day : date
        On its clock [-].

    Returns
    -------
    moment : datetime
        In UTC [-].

    Examples
    --------
    >>> from machines.calendar import Shift
    >>> nights = WorkCalendar(UTC, (Shift((6,), time(22), 8.0),))
    >>> [turn_of_day(nights, date(2026, 12, day)).hour for day in (6, 7)]
    [0, 6]
    """
    before = day - DAY
    ends = [
        datetime.combine(before, each.start) + timedelta(hours=each.length)
        for each in calendar.shifts
        if each.on(before) and before not in calendar.closed
    ]
    wall = max([datetime.combine(day, time()), *ends])
    return wall.replace(tzinfo=calendar.zone).astimezone(UTC)


def days_down(calendar: WorkCalendar, first: date, days: int) -> Stretch:
    """The stretch that takes every shift that starts on these days, and no other.

    Parameters
    ----------
    calendar : WorkCalendar
        Of the plant [-].
    first : date
        On its clock [-].
    days : int
        How many [count], 1 or above.

    Returns
    -------
    stretch : tuple of datetime
        Start and end, in UTC [-].
    """
    return turn_of_day(calendar, first), turn_of_day(calendar, first + days * DAY)


def uncovered(stretch: Stretch, known: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """What of a stretch lies in none of those that are known.

    Parameters
    ----------
    stretch : tuple of datetime
        Start and end [-].
    known : iterable of tuple of datetime
        In any order; they may overlap [-].

    Returns
    -------
    left : tuple of tuple of datetime
        In order; empty where all is covered [-].

    Examples
    --------
    >>> at = [datetime(2026, 12, 7, hour, tzinfo=UTC) for hour in range(10)]
    >>> found = uncovered((at[1], at[8]), [(at[0], at[2]), (at[4], at[6]), (at[5], at[7])])
    >>> [(start.hour, end.hour) for start, end in found]
    [(2, 4), (7, 8)]
    """
    start, end = stretch
    left = []
    for begins, ends in sorted(known):
        if begins > start:
            left.append((start, min(begins, end)))
        start = max(start, ends)
        if start >= end:
            break
    if start < end:
        left.append((start, end))
    return tuple(one for one in left if one[0] < one[1])
