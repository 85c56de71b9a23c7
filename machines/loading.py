"""How much of a machine is booked, when a job would be through, and how many weeks the customer waits."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from machines.machine import Booking, Machine, Plant

HOUR_SLACK = 1e-9  # h, so that hours that just suffice do suffice; float rounding only


@dataclass(frozen=True)
class LeadTime:
    """Weeks from order to parts on the dock, and the parts they consist of."""

    ready: float  # sheet and tool: the later of the two
    queue: int  # weeks until the job is through the machine
    trim_and_pack: float

    @property
    def weeks(self) -> float:
        return self.ready + self.queue + self.trim_and_pack


def hours_available(plant: Plant, machine: Machine) -> float:
    """Clock hours a week: ``shifts * hours * days``.

    Efficiency is not in it: a job's hours are clock hours already, from good parts an hour at the machine's efficiency.

    Parameters
    ----------
    plant : Plant
        Shifts, hours and days [-].
    machine : Machine
        One that works the plant's hours [-].

    Returns
    -------
    hours : float
        [h] a week
    """
    return plant.shifts_per_day * plant.hours_per_shift * plant.days_per_week


def monday_on_or_after(day: date) -> date:
    """The first Monday that is not before ``day``: the first week that can still be planned whole.

    Parameters
    ----------
    day : date
        Any day [-].

    Returns
    -------
    monday : date
        [-]

    Examples
    --------
    >>> monday_on_or_after(date(2026, 3, 4))
    datetime.date(2026, 3, 9)
    """
    return day + timedelta(days=-day.weekday() % 7)


def free_hours_by_week(
    plant: Plant, machine: Machine, bookings: Iterable[Booking], monday: date, weeks: int
) -> tuple[float, ...]:
    """Hours still free in each week: available less firm bookings; what overflows a week is carried into the next.

    Firm bookings count whole. Quoted work does not block: it may never come.

    Parameters
    ----------
    plant : Plant
        Shifts, hours and days [-].
    machine : Machine
        The machine; only its own bookings count [-].
    bookings : iterable of Booking
        Hours promised, by the Monday of the week [h].
    monday : date
        Monday of the first week [-].
    weeks : int
        How many weeks [count], 0 or above.

    Returns
    -------
    free : tuple of float
        [h], none below 0
    """
    firm = [each for each in bookings if each.machine == machine.code and each.firm]
    available, overflow, free = hours_available(plant, machine), 0.0, []
    for number in range(weeks):
        start = monday + timedelta(weeks=number)
        booked = overflow + sum(each.hours for each in firm if start <= each.week < start + timedelta(weeks=1))
        free.append(max(0.0, available - booked))
        overflow = max(0.0, booked - available)
    return tuple(free)


def queue_weeks(free_hours: tuple[float, ...], job_hours: float) -> int:
    """The first week, counted from 1, by whose end the free hours so far reach the job's hours.

    The job's own running time is thereby in it.

    Parameters
    ----------
    free_hours : tuple of float
        Free hours of each week [h].
    job_hours : float
        Set-up and run [h], above 0.

    Returns
    -------
    weeks : int
        [count]

    Raises
    ------
    ValueError
        The weeks given do not hold the job.

    Examples
    --------
    >>> queue_weeks((8, 14, 22, 40), 20.95)
    2
    """
    reached = 0.0
    for number, free in enumerate(free_hours, start=1):
        reached += free
        if reached + HOUR_SLACK >= job_hours:
            return number
    raise ValueError(f"{len(free_hours)} weeks hold {reached} free hours; the job takes {job_hours}")


@dataclass(frozen=True)
class WorkAhead:
    """Free hours of a machine in each week until its bookings are worked off; after these every week is free."""

    free_hours: tuple[float, ...]  # h
    available: float  # h a week

    def weeks_until_through(self, job_hours: float) -> int:
        """Weeks until a job of so many hours [h] is through [count], looking as far ahead as needed."""
        return queue_weeks(self.free_hours + (self.available,) * ceil(job_hours / self.available), job_hours)


def work_ahead(plant: Plant, machine: Machine, bookings: tuple[Booking, ...], day: date) -> WorkAhead:
    """What a machine has to do before a new job.

    Parameters
    ----------
    plant : Plant
        Shifts, hours and days [-].
    machine : Machine
        The machine [-].
    bookings : tuple of Booking
        Hours promised [h].
    day : date
        Day of the answer; weeks are counted from the Monday on or after it [-].

    Returns
    -------
    ahead : WorkAhead
        [h]

    Raises
    ------
    ValueError
        The plant works no hours.
    """
    available = hours_available(plant, machine)
    if not available > 0:
        raise ValueError(f"plant {plant.code} works no hours on {machine.code}")
    own = tuple(each for each in bookings if each.machine == machine.code and each.firm)
    monday = monday_on_or_after(day)
    last = max((each.week for each in own), default=monday)
    booked = sum(each.hours for each in own if each.week >= monday)
    weeks = max(0, (last - monday).days // 7) + 2 + ceil(booked / available)
    return WorkAhead(free_hours_by_week(plant, machine, own, monday, weeks), available)


def weeks_until_through(
    plant: Plant, machine: Machine, bookings: tuple[Booking, ...], day: date, job_hours: float
) -> int:
    """Weeks until one job is through the machine; see ``work_ahead`` for many.

    Parameters
    ----------
    plant : Plant
        Shifts, hours and days [-].
    machine : Machine
        The machine [-].
    bookings : tuple of Booking
        Hours promised [h].
    day : date
        Day of the answer; weeks are counted from the Monday on or after it [-].
    job_hours : float
        Set-up and run [h], above 0.

    Returns
    -------
    weeks : int
        [count]

    Raises
    ------
    ValueError
        The plant works no hours.
    """
    return work_ahead(plant, machine, bookings, day).weeks_until_through(job_hours)


def lead_time(sheet_weeks: float, tool_weeks: float, queue: int, trim_and_pack_weeks: float) -> LeadTime:
    """Weeks from order to parts: ``max(sheet, tool) + queue + trim and pack``.

    The queue holds the run itself (see ``queue_weeks``), so that the run is not added twice.

    Parameters
    ----------
    sheet_weeks : float
        Lead time of the sheet [weeks].
    tool_weeks : float
        New tool and first article, or transfer [weeks].
    queue : int
        Weeks until the job is through the machine [weeks].
    trim_and_pack_weeks : float
        [weeks]

    Returns
    -------
    lead : LeadTime
        [weeks]

    Examples
    --------
    >>> lead_time(2.0, 9.0, 2, 0.6).weeks
    11.6
    """
    return LeadTime(max(sheet_weeks, tool_weeks), queue, trim_and_pack_weeks)
