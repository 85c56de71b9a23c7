"""When a release is at the customer's: tool and sheet side by side, the queue, forming, trim, assembly, the way there.

Work at a machine, a router or a bench takes the first free hours from when it can begin (first fit), so that gaps
between booked work are used and nobody's promised work is moved.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, isfinite

import numpy as np

from machines.critical_path import Step, Task, stepped

HOUR_SLACK = 1e-9  # h, float rounding only
ROUNDING = 1e-6  # days


class PromiseError(ValueError):
    """A promise that cannot be worked out: names the field, what was given and what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: got {given}; accepted is {accepted}")


@dataclass(frozen=True)
class Waits:
    """What passes by the calendar, in days from the order."""

    tool: float  # build or transfer; 0 where the tool stands in the plant
    first_article: float
    sheet: float
    pack: float
    transit: float


@dataclass(frozen=True, eq=False)
class Work:
    """Hours at one place, and the free hours there on each day from the day of the order on."""

    name: str  # forming, trim, assembly
    where: str  # code of machine, router or bench
    hours: float
    free: np.ndarray


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
        raise PromiseError("hours", hours, f"at most the {held:g} h that are free in {len(free)} days")
    first, last = int(np.argmax(left > HOUR_SLACK)), int(np.argmax(reached + HOUR_SLACK >= hours))
    into = 1 - max(0.0, reached[last] - hours) / free[last]
    return max(ready, float(first)), float(last + into)


def promised(order: date, waits: Waits, works: tuple[Work, ...]) -> Promise:
    """The steps of a release and the day on which it arrives, with nothing begun before what it waits for is done.

    A release goes on from place to place as a whole. Waiting for free hours is a step of its own (queue), so that it
    shows what a less booked machine would save. Days are rounded up to whole ones at the end alone.

    Parameters
    ----------
    order : date
        Day of the order, on the plant's clock [-].
    waits : Waits
        [days], 0 or above.
    works : tuple of Work
        Forming first, then what follows, in order; work of 0 h is left out [h].

    Returns
    -------
    promise : Promise
        [days]

    Raises
    ------
    PromiseError
        A wait is negative, there is no work, or the days given do not hold it.
    """
    for field in ("tool", "first_article", "sheet", "pack", "transit"):
        value = getattr(waits, field)
        if not (isfinite(value) and value >= 0):
            raise PromiseError(field, value, "days of 0 or more")
    if not works:
        raise PromiseError("works", works, "at least forming")
    tasks = [
        Task("tool", waits.tool),
        Task("first article", waits.first_article, ("tool",)),
        Task("sheet", waits.sheet),
    ]
    before: tuple[str, ...] = ("first article", "sheet")
    ready = max(waits.tool + waits.first_article, waits.sheet)
    for work in works:
        if work.hours == 0:
            continue
        try:
            start, finish = first_fit(work.free, ready, work.hours)
        except PromiseError as error:
            raise PromiseError(f"{work.name} at {work.where}: {error.field}", error.given, error.accepted) from error
        tasks.append(Task(f"queue for {work.name}", start - ready, before))
        tasks.append(Task(work.name, finish - start, (f"queue for {work.name}",)))
        before, ready = (work.name,), finish
    tasks += [Task("pack", waits.pack, before), Task("transit", waits.transit, ("pack",))]
    steps = stepped(tuple(tasks))
    return Promise(works[0].where, order, steps, order + timedelta(days=ceil(steps[-1].finish - ROUNDING)))


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
