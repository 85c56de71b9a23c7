"""Hours laid out by week into what is free: backwards from when they are due, never before they can begin."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import isfinite

from machines.weeks import DAYS_IN_WEEK, HOUR_SLACK, WEEK, monday

__all__ = ["DAYS_IN_WEEK", "WEEK", "Hours", "NoRoomError", "laid_out", "monday", "shared"]


class NoRoomError(ValueError):
    """The weeks given do not hold the hours. ``left`` [h] found no place."""

    def __init__(self, hours: float, left: float, weeks: int) -> None:
        self.hours, self.left, self.weeks = hours, left, weeks
        super().__init__(f"{left:g} of {hours:g} h find no free hour in {weeks} weeks")


@dataclass(frozen=True)
class Hours:
    week: date  # its Monday
    hours: float


def laid_out(hours: float, first: date, due: date, free: Sequence[float]) -> tuple[Hours, ...]:
    """Hours by week: the week of ``due`` is filled first, then the weeks before it, then those after it.

    Parameters
    ----------
    hours : float
        [h], 0 or above.
    first : date
        Monday of the first week in which they can begin [-].
    due : date
        Any day; where it lies before ``first`` the hours are taken as early as they can be [-].
    free : sequence of float
        Free hours of each week from ``first`` on; below 0 counts as none [h].

    Returns
    -------
    taken : tuple of Hours
        By week; no more in any than is free [h].

    Raises
    ------
    NoRoomError
        The weeks do not hold the hours.
    ValueError
        ``hours`` is negative or no number, or ``first`` is no Monday.

    Examples
    --------
    >>> week = date(2026, 11, 23)
    >>> [(str(one.week), one.hours) for one in laid_out(100.0, week, date(2026, 12, 16), [80, 80, 30, 50])]
    [('2026-11-30', 20.0), ('2026-12-07', 30.0), ('2026-12-14', 50.0)]
    """
    if not (isfinite(hours) and hours >= 0) or first.weekday() != 0:
        raise ValueError(f"hours of 0 or more from a Monday on are laid out; got {hours} h from {first:%A %Y-%m-%d}")
    promised = min((monday(due) - first) // WEEK, len(free) - 1)
    left, taken = hours, []
    for number in (*range(promised, -1, -1), *range(max(promised + 1, 0), len(free))):
        if left <= HOUR_SLACK:
            break
        put = min(left, free[number])
        if put > HOUR_SLACK:
            taken.append(Hours(first + number * WEEK, float(put)))
            left -= put
    if left > HOUR_SLACK:
        raise NoRoomError(hours, left, len(free))
    return tuple(sorted(taken, key=lambda one: one.week))


def shared(hours: float, run: tuple[Hours, ...]) -> tuple[Hours, ...]:
    """Hours beside the former in the weeks of its run, in the same proportion.

    Parameters
    ----------
    hours : float
        [h], 0 or above.
    run : tuple of Hours
        On the former [h].

    Returns
    -------
    hours : tuple of Hours
        [h]; none where there are none to share.

    Examples
    --------
    >>> run = (Hours(date(2026, 11, 23), 30.0), Hours(date(2026, 11, 30), 10.0))
    >>> [one.hours for one in shared(8.0, run)]
    [6.0, 2.0]
    """
    whole = sum(one.hours for one in run)
    return tuple(Hours(one.week, hours * one.hours / whole) for one in run) if hours > 0 else ()
