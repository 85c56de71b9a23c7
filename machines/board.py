"""How full each machine, router, bench and tool room is, week by week, as arrays."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import isfinite

import numpy as np

from machines.loads import Load, LoadError, Loads
from machines.weeks import DAYS_IN_WEEK

KINDS = ("forming", "router", "assembly", "tool_room")


@dataclass(frozen=True)
class Resource:
    """Something with hours of its own: a machine, a router, an assembly bench, a tool room."""

    code: str
    kind: str  # of KINDS
    plant: str


def resource_code(plant: str, kind: str, code: str = "") -> str:
    """How what stands beside a former is named: a trimmer's code is its plant's own only.

    Parameters
    ----------
    plant : str
        Code of the plant [-].
    kind : str
        router, assembly or tool_room [-].
    code : str
        Of a trimmer; '' otherwise [-].

    Returns
    -------
    code : str
        [-]

    Examples
    --------
    >>> resource_code("P1", "router", "R2"), resource_code("P1", "tool_room")
    ('P1/R2', 'P1/tool room')
    """
    return f"{plant}/{code or kind.replace('_', ' ')}"


@dataclass(frozen=True, eq=False)
class Board:
    """Hours by resource (rows) and week (columns). What is on no row or in no column stands beside it."""

    resources: tuple[Resource, ...]
    monday: date
    available: np.ndarray
    booked: np.ndarray  # firm work
    quoted: np.ndarray  # whole hours of what may come
    weighted: np.ndarray  # the same by its chance of winning
    stranded: tuple[Load, ...]  # on a resource that is not there (retired, renamed), within these weeks
    outside: float  # hours before or after these weeks

    @property
    def expected(self) -> np.ndarray:
        """Firm hours and quoted hours by their chance."""
        return self.booked + self.weighted

    @property
    def free(self) -> np.ndarray:
        """Available less firm hours; below 0 where a week is overbooked."""
        return self.available - self.booked


def board(
    resources: tuple[Resource, ...],
    available: np.ndarray,
    loads: Loads,
    chances: Mapping[str, float],
    monday: date,
) -> Board:
    """The board of the weeks from ``monday`` on.

    ``weighted = sum of hours x chance`` over quoted work; a quote of unknown chance counts whole, so that it is seen.

    Parameters
    ----------
    resources : tuple of Resource
        Rows, each code once [-].
    available : array
        (resources, weeks) clock hours [h], none below 0.
    loads : Loads
        Firm and quoted work [h].
    chances : mapping of str to float
        Chance of winning by quote [-], 0 to 1.
    monday : date
        Of the first week [-].

    Returns
    -------
    board : Board
        Arrays of (resources, weeks) [h].

    Raises
    ------
    LoadError
        Hours are negative or no number, a chance is none, a resource stands twice, or shapes differ.

    Examples
    --------
    >>> row = Resource("F1", "forming", "North")
    >>> week = date(2026, 3, 9)
    >>> loads = Loads.of([Load("F1", week, 78, True), Load("F1", week, 40, False, quote="Q1")])
    >>> board((row,), np.array([[120.0]]), loads, {"Q1": 0.6}, date(2026, 3, 9)).expected.tolist()
    [[102.0]]
    """
    rows = _checked_rows(resources, available, monday)
    for quote, chance in chances.items():
        if not 0 <= chance <= 1:
            raise LoadError(quote, "chance", chance, "a share from 0 to 1")
    weeks = available.shape[1]
    _refuse_bad_hours(loads)
    hours, firm = loads.hours, loads.firm
    row = np.array([rows.get(code, -1) for code in loads.codes], dtype=int)[loads.at]
    column = (loads.day - monday.toordinal()) // DAYS_IN_WEEK
    chance = np.ones(len(loads))
    quoted = np.flatnonzero(~firm)
    chance[quoted] = [chances.get(loads.quote[place], 1.0) for place in quoted]
    within = (column >= 0) & (column < weeks)
    known = within & (row >= 0)

    def summed(chosen: np.ndarray, amount: np.ndarray) -> np.ndarray:
        at = row[chosen] * weeks + column[chosen]
        return np.bincount(at, amount[chosen], available.size).reshape(available.shape)

    return Board(
        resources, monday, available, summed(known & firm, hours), summed(known & ~firm, hours),
        summed(known & ~firm, hours * chance),
        loads.named(np.flatnonzero(within & (row < 0))), float(hours[~within].sum()),
    )  # fmt: skip


def _checked_rows(resources: tuple[Resource, ...], available: np.ndarray, monday: date) -> dict[str, int]:
    if monday.weekday() != 0:
        raise LoadError("board", "monday", f"{monday:%A %Y-%m-%d}", "a Monday")
    if available.ndim != 2 or len(available) != len(resources):
        raise LoadError("board", "available", available.shape, f"{len(resources)} rows of weeks")
    if available.size and not available.min() >= 0:
        raise LoadError("board", "available", available.min(), "hours of 0 or more")
    rows: dict[str, int] = {}
    for number, resource in enumerate(resources):
        if resource.code in rows:
            raise LoadError(resource.code, "resource", "the code twice", "each code once")
        if resource.kind not in KINDS:
            raise LoadError(resource.code, "kind", resource.kind, f"one of {', '.join(KINDS)}")
        rows[resource.code] = number
    return rows


def _refuse_bad_hours(loads: Loads) -> None:
    bad = np.flatnonzero(~(loads.hours >= 0) | ~np.isfinite(loads.hours))
    if len(bad):
        (load,) = loads.named(bad[:1])
        raise LoadError(load.label or load.resource, "hours", load.hours, "a number of hours, 0 or more")


def share(load: float, available: float) -> float:
    """Load over available hours; without hours a load counts as infinitely full, and no load as empty.

    Parameters
    ----------
    load, available : float
        [h], 0 or above.

    Returns
    -------
    share : float
        [-]
    """
    if not (isfinite(load) and load >= 0 and available >= 0):
        raise LoadError("share", "hours", (load, available), "hours of 0 or more")
    if available > 0:
        return load / available
    return float("inf") if load > 0 else 0.0
