"""When a plant works: shifts, closed days, maintenance and overtime, as real hours by local day and by week."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from itertools import permutations

import numpy as np

from machines.machine import Plant
from machines.weeks import DAYS_IN_WEEK

DAY, HOUR = timedelta(days=1), 3600.0
FIRST_SHIFT = time(6)  # start of a day of which only its hours are known; moves no total; common practice, no source
EVERYTHING = "*"  # a window that holds for the whole plant


class CalendarError(ValueError):
    """A calendar that cannot be: names the field, what was given and what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: got {given}; accepted is {accepted}")


@dataclass(frozen=True)
class Shift:
    """A shift of the plant: it belongs to the day on which it starts, also where it ends on the next."""

    days: tuple[int, ...]  # of the week, Monday 0 to Sunday 6
    start: time  # on the clock of the plant
    length: float  # h on that clock, so that a change of the clock makes it longer or shorter
    breaks: float = 0.0  # h of it in which the machines stand
    first: date = date.min  # first and last day on which it may start
    last: date = date.max

    def on(self, day: date) -> bool:
        """Whether one starts on that day."""
        return day.weekday() in self.days and self.first <= day <= self.last

    def __post_init__(self) -> None:
        if not self.days or not set(self.days) <= set(range(DAYS_IN_WEEK)):
            raise CalendarError("days", self.days, "days of the week, Monday 0 to Sunday 6, at least one")
        if not 0 < self.length <= 24:
            raise CalendarError("length", self.length, "above 0 and at most 24 h")
        if not 0 <= self.breaks < self.length:
            raise CalendarError("breaks", self.breaks, f"0 h or more and less than the shift's {self.length:g} h")
        if self.last < self.first:
            raise CalendarError("last", self.last, f"a day not before the first, {self.first}")


@dataclass(frozen=True)
class Window:
    """A stretch of time in which one machine or router stands (maintenance) or works besides its shifts (overtime)."""

    resource: str  # code, or EVERYTHING
    start: datetime  # with time zone
    end: datetime
    reason: str = ""

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None:
            raise CalendarError("window", f"{self.start} to {self.end}", "times with a time zone")
        if not self.end.timestamp() > self.start.timestamp():
            raise CalendarError("window", f"{self.start} to {self.end}", "an end after its start")


@dataclass(frozen=True)
class WorkCalendar:
    """All that says when a plant works. The dates are found at the edge and handed in."""

    zone: tzinfo
    shifts: tuple[Shift, ...]
    closed: tuple[date, ...] = ()  # holidays and shutdowns, on the plant's clock
    maintenance: tuple[Window, ...] = ()
    overtime: tuple[Window, ...] = ()

    def __post_init__(self) -> None:
        _refuse_overlap(self.shifts)


@dataclass(frozen=True)
class _Stretch:
    """Time without a gap, in seconds since 1970, of which a share is worked."""

    start: float
    end: float
    share: float
    day: int  # counted from the first day asked for


def default_calendar(plant: Plant) -> WorkCalendar:
    """The calendar of a plant of which only hours a week are known: one block a day from Monday on, no day closed.

    It stands on a clock that never changes, since without a start of shifts nobody can say which hour a change takes.

    Parameters
    ----------
    plant : Plant
        Shifts a day, hours a shift [h] and days a week [-]; at most 24 h a day.

    Returns
    -------
    calendar : WorkCalendar
        Its weeks have ``shifts_per_day * hours_per_shift * days_per_week`` [h].

    Raises
    ------
    CalendarError
        The shifts of a day take more than 24 h.
    """
    return calendar_of_hours(plant.shifts_per_day * plant.hours_per_shift, plant.days_per_week)


def calendar_of_hours(daily: float, days_per_week: int) -> WorkCalendar:
    """The same from hours a day and days a week.

    Parameters
    ----------
    daily : float
        [h], 0 to 24.
    days_per_week : int
        From Monday on [count], 0 to 7.

    Returns
    -------
    calendar : WorkCalendar
        [h]

    Raises
    ------
    CalendarError
        More than 24 h a day.
    """
    if daily > 24:
        raise CalendarError("shifts_per_day x hours_per_shift", daily, "at most 24 h a day")
    days = tuple(range(days_per_week))
    return WorkCalendar(UTC, (Shift(days, FIRST_SHIFT, daily),) if daily > 0 and days else ())


def hours_by_day(calendar: WorkCalendar, resource: str, first: date, days: int) -> np.ndarray:
    """Clock hours that a machine or router can work, by the local day on which its shift starts.

    A shift over a change of the clock has its real hours: a night shift of 8 has 7 in spring and 9 in autumn.
    Maintenance takes what it overlaps, breaks of the shift spread evenly; overtime adds what no shift holds already.
    Efficiency is not in it: hours needed already hold it.

    Parameters
    ----------
    calendar : WorkCalendar
        Of the plant [-].
    resource : str
        Code of the machine or router [-].
    first : date
        First day on the plant's clock [-].
    days : int
        How many [count], 0 or above.

    Returns
    -------
    hours : array
        (days,), none below 0 [h].

    Raises
    ------
    CalendarError
        ``days`` is below 0.

    Examples
    --------
    >>> early = WorkCalendar(UTC, (Shift((0, 1, 2, 3, 4), time(6), 8.5, 0.5),))
    >>> hours_by_day(early, "F1", date(2026, 3, 5), 3).tolist()
    [8.0, 8.0, 0.0]
    """
    if days < 0:
        raise CalendarError("days", days, "0 or more")
    shifts, hours = _shift_hours(calendar, first, days)
    hours = hours.copy()
    worked = shifts
    added = _of(calendar.overtime, resource)
    if added:
        extra = _outside(added, shifts, calendar.zone, first, days)
        for each in extra:
            hours[each.day] += (each.end - each.start) / HOUR
        worked = tuple(sorted((*shifts, *extra), key=lambda each: each.start))
    starts = [each.start for each in worked]
    for start, end in _of(calendar.maintenance, resource):
        for each in worked[max(0, bisect_right(starts, start) - 1) : bisect_right(starts, end)]:
            lost = min(end, each.end) - max(start, each.start)
            hours[each.day] -= max(0.0, lost) * each.share / HOUR
    return np.maximum(hours, 0.0)


def hours_by_week(calendar: WorkCalendar, resource: str, monday: date, weeks: int) -> np.ndarray:
    """Clock hours that a machine or router can work in each week from Monday to Sunday.

    Parameters
    ----------
    calendar : WorkCalendar
        Of the plant [-].
    resource : str
        Code of the machine or router [-].
    monday : date
        Of the first week [-].
    weeks : int
        How many [count], 0 or above.

    Returns
    -------
    hours : array
        (weeks,), none below 0 [h].

    Raises
    ------
    CalendarError
        The first day is no Monday.
    """
    if monday.weekday() != 0:
        raise CalendarError("monday", f"{monday:%A %Y-%m-%d}", "a Monday")
    return hours_by_day(calendar, resource, monday, DAYS_IN_WEEK * weeks).reshape(weeks, DAYS_IN_WEEK).sum(axis=1)


def _stretch_start(zone: tzinfo, day: date, at: time, later: float = 0.0) -> float:
    # Wall time plus hours is wall time again: so a shift ends when its clock says so, whatever it went through.
    wall = datetime.combine(day, at) + timedelta(hours=later)
    return wall.replace(tzinfo=zone).timestamp()


@lru_cache(maxsize=64)
def _shift_hours(calendar: WorkCalendar, first: date, days: int) -> tuple[tuple[_Stretch, ...], np.ndarray]:
    """Every shift that starts in these days, by its start, and the hours of each day: the same for all machines.

    The night shift of the day before is in the list too (as day -1 it counts for nobody, but overtime may not run
    through it twice).
    """
    closed, hours, found = frozenset(calendar.closed), np.zeros(days), []
    for number in range(-1, days):
        day = first + number * DAY
        if day in closed:
            continue
        for shift in calendar.shifts:
            if shift.on(day):
                start = _stretch_start(calendar.zone, day, shift.start)
                end = _stretch_start(calendar.zone, day, shift.start, shift.length)
                if not end > start:
                    continue  # a shift that the change of the clock leaps over whole
                share = max(0.0, 1 - shift.breaks * HOUR / (end - start))
                found.append(_Stretch(start, end, share if number >= 0 else 0.0, max(number, 0)))
                if number >= 0:
                    hours[number] += (end - start) / HOUR * share
    hours.setflags(write=False)
    return tuple(sorted(found, key=lambda each: each.start)), hours


def _of(windows: tuple[Window, ...], resource: str) -> list[tuple[float, float]]:
    """The windows of one resource in seconds since 1970, those that overlap made one, so that no hour counts twice."""
    own = sorted(
        (each.start.timestamp(), each.end.timestamp()) for each in windows if each.resource in (resource, EVERYTHING)
    )
    merged: list[tuple[float, float]] = []
    for start, end in own:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return merged


def _outside(
    windows: list[tuple[float, float]], shifts: tuple[_Stretch, ...], zone: tzinfo, first: date, days: int
) -> list[_Stretch]:
    """What of the windows lies in no shift, cut at local midnight, as whole hours of work."""
    midnights = [_stretch_start(zone, first + number * DAY, time()) for number in range(days + 1)]
    pieces = []
    for start, end in windows:
        inside = [each for each in shifts if each.end > start and each.start < end]
        edges = [start, *(edge for each in inside for edge in (each.start, each.end)), end]
        for begin, finish in zip(edges[::2], edges[1::2], strict=True):
            pieces += _cut_at_midnight(begin, finish, midnights)
    return pieces


def _cut_at_midnight(start: float, end: float, midnights: list[float]) -> list[_Stretch]:
    start, end, found = max(start, midnights[0]), min(end, midnights[-1]), []
    while start < end:
        day = bisect_right(midnights, start) - 1
        found.append(_Stretch(start, min(end, midnights[day + 1]), 1.0, day))
        start = midnights[day + 1]
    return found


def _refuse_overlap(shifts: tuple[Shift, ...]) -> None:
    """Two shifts at the same time would count a machine twice. Judged on the week's clock, which runs in a circle."""
    week = DAYS_IN_WEEK * 24.0
    starts = [
        (each, 24 * day + each.start.hour + each.start.minute / 60) for each in shifts for day in sorted(each.days)
    ]
    for (one, start), (other, following) in permutations(starts, 2):
        if (following - start) % week < one.length - 1e-9 and one.first <= other.last and other.first <= one.last:
            given = f"one of {one.length:g} h from {one.start:%H:%M} that runs into one from {other.start:%H:%M}"
            raise CalendarError("shifts", given, "shifts of which no two overlap")
