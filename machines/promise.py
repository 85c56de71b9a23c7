"""When a release is at the customer's: tool and sheet side by side, the queue, forming, trim, assembly, the way there.

Work at a machine, a router or a bench takes the first free hours from when it can begin (first fit), so that gaps
between booked work are used and nobody's promised work is moved.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import ceil, inf, isfinite
from typing import NamedTuple, Protocol

import numpy as np

from machines.critical_path import Step, Task, stepped
from machines.weeks import HOUR_SLACK

ROUNDING = 1e-6  # days


class PromiseError(ValueError):
    """A promise that cannot be worked out: names the field, what was given and what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: got {given}; accepted is {accepted}")


class NoFreeHoursError(PromiseError):
    """A place that has not the hours that work needs: how many it needs, how many are free, within which time."""

    def __init__(self, hours: float, held: float, within: str, work: str = "", where: str = "") -> None:
        self.hours, self.held, self.within, self.work, self.where = hours, held, within, work, where
        field = f"{work} at {where}: hours" if where else "hours"
        super().__init__(field, hours, f"at most the {held:g} h that are free in {within}")

    def of(self, work: str, where: str) -> "NoFreeHoursError":
        """The same, naming the work and its place."""
        return NoFreeHoursError(self.hours, self.held, self.within, work, where)


@dataclass(frozen=True)
class Waits:
    """What passes by the calendar, in days from the order."""

    tool: float  # build or transfer, until our tool room takes it; 0 where the tool stands in the plant
    first_article: float
    sheet: float
    pack: float
    transit: float
    move: float = 0.0  # formed parts to the plant that trims
    finishing: float = 0.0  # least from the last part formed to the dock: cooling out, checks and packing

    @cached_property
    def wrong(self) -> tuple[str, float] | None:
        """The first of them that is no number of days, with its value; None where all are."""
        return next((one for one in vars(self).items() if not 0 <= one[1] < inf), None)


class Hours(Protocol):
    """Something that finds the first free hours, as ``first_fit`` does in an array."""

    def fit(self, ready: float, hours: float) -> tuple[float, float]: ...


class Work(NamedTuple):
    """Hours at one place, and the free hours there on each day from the day of the order on."""

    name: str  # forming, trim, assembly, packing, tool room
    where: str  # code of machine, router or bench
    hours: float
    free: np.ndarray | Hours


@dataclass(frozen=True)
class Placed:
    """Work in its place: how long it waits for free hours there, and how long it then takes, in days."""

    name: str
    where: str
    hours: float
    queue: float
    run: float


@dataclass(frozen=True)
class Timing:
    """All that makes a lead time: what passes by the calendar, and the work in its place.

    ``tool_room``: what is done to the tool in our own tool room; None where it comes finished.
    """

    waits: Waits
    placed: tuple[Placed, ...]
    tool_room: Placed | None = None

    @property
    def tool(self) -> float:
        """When the tool may make its first article, in days from the order."""
        return _tool_done(self.waits, self.tool_room)

    @property
    def ready(self) -> float:
        """When tool and sheet are there, the first article released, in days from the order."""
        return _all_there(self.waits, self.tool_room)

    @property
    def leaves(self) -> float:
        """When the parts are packed on our dock, in days from the order."""
        end = formed = self.ready
        for number, one in enumerate(self.placed):
            end += one.queue + one.run
            if number == 0:
                formed, end = end, end + self.waits.move
        return max(end + self.waits.pack, formed + self.waits.finishing)

    @property
    def arrives(self) -> float:
        """When they are at the customer's, in days from the order."""
        return self.leaves + self.waits.transit


def _tool_done(waits: Waits, tool_room: Placed | None) -> float:
    return waits.tool + (tool_room.queue + tool_room.run if tool_room else 0.0)


def _all_there(waits: Waits, tool_room: Placed | None) -> float:
    return max(_tool_done(waits, tool_room) + waits.first_article, waits.sheet)


@dataclass(frozen=True)
class Promise:
    """A release on one machine: its steps in days from the order, and the day on which it arrives."""

    machine: str
    order: date
    steps: tuple[Step, ...]
    arrives: date

    @property
    def critical(self) -> tuple[str, ...]:
        """The steps that set the date, in order; those that take no time are left out."""
        return tuple(one.name for one in self.steps if one.critical and one.finish - one.start > ROUNDING)

    def days_late(self, needed_by: date) -> int:
        """Days after the day on which it is needed; 0 where it is in time."""
        return max(0, (self.arrives - needed_by).days)


def first_fit(free: np.ndarray, ready: float, hours: float) -> tuple[float, float]:
    """When work begins and ends that takes the first free hours from ``ready`` on.

    Free hours of a day are taken as spread evenly over it, so that half a day has half of them.

    Parameters
    ----------
    free : array
        (days,) free hours of each day [h], none below 0.
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
    PromiseError
        The days given do not hold the hours, or an argument is out of range.

    Examples
    --------
    >>> first_fit(np.array([8.0, 0.0, 8.0, 8.0]), 0.5, 8.0)
    (0.5, 2.5)
    """
    if not (isfinite(hours) and hours > 0 and ready >= 0):
        raise PromiseError("hours, ready", (hours, ready), "hours above 0, days of 0 or more")
    if free.size and not free.min() >= 0:
        raise PromiseError("free", float(free.min()), "hours of 0 or more")
    left = np.array(free, dtype=float)
    day = int(ready)
    left[:day] = 0.0
    if day < len(left):
        left[day] *= 1 - (ready - day)
    reached = np.cumsum(left)
    if not len(reached) or reached[-1] + HOUR_SLACK < hours:
        held = float(reached[-1]) if len(reached) else 0.0
        raise NoFreeHoursError(hours, held, f"{len(free)} days")
    first, last = int(np.argmax(left > HOUR_SLACK)), int(np.argmax(reached + HOUR_SLACK >= hours))
    into = 1 - max(0.0, reached[last] - hours) / free[last]
    return max(ready, float(first)), float(last + into)


def placed(waits: Waits, works: tuple[Work, ...], tool_room: Placed | None = None) -> Timing:
    """Each work in the first free hours from when what it waits for is done.

    Parameters
    ----------
    waits : Waits
        [days], 0 or above.
    works : tuple of Work
        Forming first, then what follows, in order; work of 0 h is left out [h].
    tool_room : Placed, optional
        What is done to the tool once it has come, placed already [days].

    Returns
    -------
    timing : Timing
        [days]

    Raises
    ------
    NoFreeHoursError
        The days given do not hold the work; names it and its place.
    PromiseError
        A wait is negative, or there is no work.
    """
    if waits.wrong:
        raise PromiseError(*waits.wrong, "days of 0 or more")
    if not works:
        raise PromiseError("works", works, "at least forming")
    ready, found = _all_there(waits, tool_room), []
    for work in works:
        if work.hours == 0:
            continue
        start, finish = _fit(work, ready)
        found.append(Placed(work.name, work.where, work.hours, start - ready, finish - start))
        ready = finish + (waits.move if len(found) == 1 else 0.0)
    return Timing(waits, tuple(found), tool_room)


def _fit(work: Work, ready: float) -> tuple[float, float]:
    try:
        if isinstance(work.free, np.ndarray):
            return first_fit(work.free, ready, work.hours)
        return work.free.fit(ready, work.hours)
    except NoFreeHoursError as lacking:
        raise lacking.of(work.name, work.where) from lacking
    except PromiseError as error:
        raise PromiseError(f"{work.name} at {work.where}: {error.field}", error.given, error.accepted) from error


def in_tool_room(work: Work, begins: float, done: float) -> Placed:
    """What is done to a tool in our own tool room, in its first free hours from when the tool can come there.

    A tool is not said to be done before its kind usually is, however free the tool room.

    Parameters
    ----------
    work : Work
        Hours in the tool room [h], above 0.
    begins : float
        When the tool is there [days], 0 or above.
    done : float
        When it is usually done [days].

    Returns
    -------
    placed : Placed
        Waiting from ``begins``, and from the first hour until the tool is done [days].

    Raises
    ------
    NoFreeHoursError
        The tool room has not the hours.
    """
    start, finish = _fit(work, begins)
    return Placed(work.name, work.where, work.hours, start - begins, max(finish, done) - start)


def steps_of(timing: Timing) -> tuple[Step, ...]:
    """The steps of a lead time, each with its start, its end and how much it could slip.

    Waiting for free hours is a step of its own (queue), so that it shows what a less booked machine would save.

    Parameters
    ----------
    timing : Timing
        [days]

    Returns
    -------
    steps : tuple of Step
        The last ends at the customer's [days].
    """
    waits, room, tool = timing.waits, timing.tool_room, "tool"
    tasks = [Task("tool", waits.tool)]
    if room:
        tool = room.name
        tasks += [Task(f"queue for {tool}", room.queue, ("tool",)), Task(tool, room.run, (f"queue for {tool}",))]
    tasks += [
        Task("first article", waits.first_article, (tool,)),
        Task("sheet", waits.sheet),
    ]
    before: tuple[str, ...] = ("first article", "sheet")
    ends: tuple[str, ...] = ()
    for one in timing.placed:
        tasks.append(Task(f"queue for {one.name}", one.queue, before))
        tasks.append(Task(one.name, one.run, (f"queue for {one.name}",)))
        before = (one.name,)
        if one is timing.placed[0]:
            if waits.finishing:
                tasks.append(Task("finishing", waits.finishing, before))
                ends = ("finishing",)
            if waits.move:
                tasks.append(Task("move", waits.move, before))
                before = ("move",)
    tasks += [Task("pack", waits.pack, before), Task("transit", waits.transit, ("pack", *ends))]
    return stepped(tuple(tasks))


def promised(order: date, waits: Waits, works: tuple[Work, ...]) -> Promise:
    """The steps of a release and the day on which it arrives, with nothing begun before what it waits for is done.

    A release goes on from place to place as a whole. Days are rounded up to whole ones at the end alone.

    Parameters
    ----------
    order : date
        Day of the order, on the plant's clock [-].
    waits, works
        As in ``placed`` [days, h].

    Returns
    -------
    promise : Promise
        [days]

    Raises
    ------
    PromiseError
        As in ``placed``.
    """
    steps = steps_of(placed(waits, works))
    return Promise(works[0].where, order, steps, day_of(order, steps[-1].finish))


def day_of(order: date, days: float) -> date:
    """The day by whose end something is there that takes so many days.

    Parameters
    ----------
    order : date
        [-]
    days : float
        [days], 0 or above.

    Returns
    -------
    day : date
        [-]

    Examples
    --------
    >>> day_of(date(2026, 6, 1), 6.2)
    datetime.date(2026, 6, 8)
    """
    return order + timedelta(days=ceil(days - ROUNDING))


def in_order(promises: tuple[Promise, ...], needed_by: date | None) -> tuple[Promise, ...]:
    """Promises by machine, those in time first and among each other by machine, then the others from the earliest on.

    Parameters
    ----------
    promises : tuple of Promise
        Of several machines [-].
    needed_by : date or None
        Without it, the earliest comes first [-].

    Returns
    -------
    promises : tuple of Promise
        [-]
    """
    if needed_by is None:
        return tuple(sorted(promises, key=lambda one: (one.arrives, one.machine)))
    return tuple(sorted(promises, key=lambda one: (one.days_late(needed_by), one.machine)))
