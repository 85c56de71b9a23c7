"""Free hours of one place from a day on, looked up quickly: what its calendar has, less the work that is booked."""

from bisect import bisect_left, bisect_right
from datetime import date

import numpy as np

from machines.calendar import WorkCalendar, hours_by_day
from machines.machine import Booking
from machines.promise import NoFreeHoursError
from machines.weeks import DAYS_IN_WEEK, HOUR_SLACK
from machines.weeks import monday as monday_of

FIRST_WEEKS = 40  # looked at first: most work is done by then; moves no result
MOST_WEEKS = 1040  # twenty years: work that finds no free hours by then finds none; our choice


def free_by_day(
    calendar: WorkCalendar,
    resource: str,
    bookings: tuple[Booking, ...],
    first: date,
    weeks: int,
    places: int = 1,
    booked_as: str = "",
) -> np.ndarray:
    """Hours of each day that one job can have beside firm work; booked hours of a week lie evenly on its hours.

    What a week cannot hold is carried into the next. Quoted work does not block: it may never come. Where several
    work at once, booked work is spread over all of them and the job has one: ``min(hours, places x hours - booked)``.

    Parameters
    ----------
    calendar : WorkCalendar
        Of the plant [-].
    resource : str
        Code of the machine or router; only its own bookings count [-].
    bookings : tuple of Booking
        Hours promised, by the Monday of the week [h].
    first : date
        First day, on the plant's clock; the Monday before it begins the first week [-].
    weeks : int
        How many [count], 1 or above.
    places : int
        How many people or benches work at once; bookings are hours of all of them [count], 1 or above.
    booked_as : str
        How bookings name it, where they name it otherwise than the calendar [-].

    Returns
    -------
    free : array
        (days,) from ``first`` on, none below 0 [h].

    Examples
    --------
    >>> from machines.calendar import calendar_of_hours
    >>> half = (Booking("F1", date(2026, 3, 2), 20.0, True),)
    >>> free_by_day(calendar_of_hours(8.0, 5), "F1", half, date(2026, 3, 5), 2).tolist()[:5]
    [4.0, 4.0, 0.0, 0.0, 8.0]
    """
    monday = monday_of(first)
    hours = hours_by_day(calendar, resource, monday, DAYS_IN_WEEK * weeks)
    booked = np.zeros(weeks)
    for each in bookings:
        week = (each.week - monday).days // DAYS_IN_WEEK
        if each.firm and each.machine == (booked_as or resource) and 0 <= week < weeks:
            booked[week] += each.hours
    if booked.any():
        left = _less(places * hours.reshape(weeks, DAYS_IN_WEEK), booked).ravel()
        hours = np.minimum(hours, left)
    return hours[first.weekday() :]


def _less(hours: np.ndarray, booked: np.ndarray) -> np.ndarray:
    kept, carried = np.ones(len(booked)), 0.0
    for week, available in enumerate(hours.sum(axis=1)):
        carried += booked[week]
        if carried > 0:
            taken = min(carried, available)
            kept[week] = 1 - taken / available if available > 0 else 0.0
            carried -= taken
    return hours * kept[:, None]


class FreeTime:
    """The free hours of one place as a rising line over the days, so that one look-up answers one job.

    Only as much of the future is worked out as is asked for.
    """

    def __init__(
        self,
        calendar: WorkCalendar,
        resource: str,
        bookings: tuple[Booking, ...],
        first: date,
        places: int = 1,
        booked_as: str = "",
    ) -> None:
        self._of, self._many = (calendar, resource, bookings, first), (places, booked_as)
        self._weeks = 0
        self.free, self._reached = np.zeros(0), [0.0]

    def _look_further(self) -> bool:
        if self._weeks >= MOST_WEEKS:
            return False
        self._weeks = min(MOST_WEEKS, 2 * self._weeks or FIRST_WEEKS)
        self.free = free_by_day(*self._of, self._weeks, *self._many)
        self._reached = [0.0, *np.cumsum(self.free).tolist()]
        return True

    def fit(self, ready: float, hours: float) -> tuple[float, float]:
        """The same as ``promise.first_fit`` over as many days as it takes.

        Parameters
        ----------
        ready : float
            When it can begin [days], 0 or above.
        hours : float
            [h], above 0.

        Returns
        -------
        start, finish : float
            [days]

        Raises
        ------
        NoFreeHoursError
            Twenty years do not hold the hours.
        """
        before = self._until(ready, hours)
        wanted = before + hours
        while self._reached[-1] + HOUR_SLACK < wanted:
            if not self._look_further():
                raise NoFreeHoursError(hours, self._reached[-1] - before, f"{MOST_WEEKS} weeks")
        reached = self._reached
        last = bisect_left(reached, wanted - HOUR_SLACK) - 1  # the day in whose course the hours are reached
        first = bisect_right(reached, before + HOUR_SLACK) - 1  # the first day with something left
        into = (wanted - reached[last]) / (reached[last + 1] - reached[last])
        return max(ready, float(first)), last + min(1.0, into)

    def latest_start(self, done: float, hours: float) -> float:
        """The last moment from which hours can begin and be done by a day; 0 where all hours until then do not do.

        Parameters
        ----------
        done : float
            [days], 0 or above.
        hours : float
            [h], above 0.

        Returns
        -------
        start : float
            [days]

        Raises
        ------
        NoFreeHoursError
            The day lies beyond twenty years.
        """
        spare = self._until(done, hours) - hours
        if spare <= 0:
            return 0.0
        day = bisect_right(self._reached, spare) - 1
        return day + (spare - self._reached[day]) / (self._reached[day + 1] - self._reached[day])

    def _until(self, moment: float, hours: float) -> float:
        """Free hours from the first day to a moment [h]; ``hours`` is what is asked for, to be told."""
        day = int(moment)
        while day + 1 >= len(self._reached):
            if not self._look_further():
                raise NoFreeHoursError(hours, 0.0, f"{MOST_WEEKS} weeks")
        return self._reached[day] + (moment - day) * (self._reached[day + 1] - self._reached[day])
