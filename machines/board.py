"""How full each machine, router, bench and tool room is, week by week, as arrays; and what on the board cannot be."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from math import isfinite

import numpy as np

from machines.weeks import DAYS_IN_WEEK, HOUR_SLACK
from machines.weeks import monday as monday_of

KINDS = ("forming", "router", "assembly", "tool_room")


class LoadError(ValueError):
    """A booking that cannot be: names it, its field, what was given and what is accepted."""

    def __init__(self, label: str, field: str, given: object, accepted: str) -> None:
        self.label, self.field, self.given, self.accepted = label, field, given, accepted
        super().__init__(f"{label}: {field}: got {given}; accepted is {accepted}")


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


@dataclass(frozen=True)
class Load:
    """Hours of one resource in one week. ``quote`` is the key to its chance of winning where it is not firm."""

    resource: str
    week: date  # any day of it
    hours: float
    firm: bool
    label: str = ""
    tool: str = ""
    quote: str = ""


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
    loads: Iterable[Load],
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
    loads : iterable of Load
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
    >>> loads = (Load("F1", date(2026, 3, 9), 78, True), Load("F1", date(2026, 3, 9), 40, False, quote="Q1"))
    >>> board((row,), np.array([[120.0]]), loads, {"Q1": 0.6}, date(2026, 3, 9)).expected.tolist()
    [[102.0]]
    """
    rows = _checked_rows(resources, available, monday)
    for quote, chance in chances.items():
        if not 0 <= chance <= 1:
            raise LoadError(quote, "chance", chance, "a share from 0 to 1")
    weeks, loads = available.shape[1], tuple(loads)
    hours = np.array([load.hours for load in loads], dtype=float)
    _refuse_bad_hours(loads, hours)
    row = np.array([rows.get(load.resource, -1) for load in loads], dtype=int)
    column = np.array([load.week.toordinal() - monday.toordinal() for load in loads], dtype=int) // DAYS_IN_WEEK
    chance = np.array([1.0 if load.firm else chances.get(load.quote, 1.0) for load in loads])
    firm = np.array([load.firm for load in loads], dtype=bool)
    within = (column >= 0) & (column < weeks)
    known = within & (row >= 0)

    def summed(chosen: np.ndarray, amount: np.ndarray) -> np.ndarray:
        at = row[chosen] * weeks + column[chosen]
        return np.bincount(at, amount[chosen], available.size).reshape(available.shape)

    return Board(
        resources, monday, available, summed(known & firm, hours), summed(known & ~firm, hours),
        summed(known & ~firm, hours * chance),
        tuple(loads[place] for place in np.flatnonzero(within & (row < 0))), float(hours[~within].sum()),
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


def _refuse_bad_hours(loads: tuple[Load, ...], hours: np.ndarray) -> None:
    bad = np.flatnonzero(~(hours >= 0) | ~np.isfinite(hours))
    if len(bad):
        load = loads[bad[0]]
        raise LoadError(load.label or load.resource, "hours", load.hours, "a number of hours, 0 or more")


@dataclass(frozen=True)
class Clash:
    """Something on the board that cannot be carried out as it stands, in figures."""

    kind: str  # overbooked, tool_twice, booked_twice, stranded
    where: str  # resource, or tool
    week: date  # its Monday
    measured: float  # h
    limit: float  # h
    labels: tuple[str, ...]


def clashes(found: Board, loads: Iterable[Load]) -> tuple[Clash, ...]:
    """Firm work that overlaps: a week booked beyond its hours, a tool in two machines, the same work twice, no machine.

    A tool clashes where the machines that share it in a week need it for longer than the week of the one that works
    most: it can move within a week, but not be in two presses at once.

    Parameters
    ----------
    found : Board
        As made of these loads [h].
    loads : iterable of Load
        The same [h].

    Returns
    -------
    clashes : tuple of Clash
        By week, kind and place [h].
    """
    firm = [load for load in loads if load.firm]
    mondays = {week: monday_of(week) for week in {load.week for load in firm}}
    stranded = [
        Clash("stranded", load.resource, mondays[load.week], load.hours, 0.0, (load.label,))
        for load in found.stranded
        if load.firm
    ]
    every = [*_overbooked(found, firm, mondays), *stranded, *_tools_twice(found, firm, mondays)]
    every += _booked_twice(firm, mondays)
    return tuple(sorted(every, key=lambda each: (each.week, each.kind, each.where, each.labels)))


def _overbooked(found: Board, firm: list[Load], mondays: dict[date, date]) -> list[Clash]:
    labels: dict[tuple[str, date], list[str]] = {}
    cells = []
    for row, week in np.argwhere(found.booked > found.available + HOUR_SLACK):
        code, monday = found.resources[row].code, date.fromordinal(found.monday.toordinal() + DAYS_IN_WEEK * int(week))
        labels[code, monday] = []
        cells.append((code, monday, float(found.booked[row, week]), float(found.available[row, week])))
    for load in firm if cells else ():
        own = labels.get((load.resource, mondays[load.week]))
        if own is not None:
            own.append(load.label)
    return [Clash("overbooked", *cell, tuple(labels[cell[:2]])) for cell in cells]


def _tools_twice(found: Board, firm: list[Load], mondays: dict[date, date]) -> list[Clash]:
    rows = {resource.code: number for number, resource in enumerate(found.resources) if resource.kind == "forming"}
    home: dict[str, str] = {}
    moving = {load.tool for load in firm if load.tool and home.setdefault(load.tool, load.resource) != load.resource}
    of_tool: dict[tuple[str, date], list[Load]] = defaultdict(list)
    for load in firm if moving else ():
        if load.tool in moving and load.resource in rows:
            of_tool[load.tool, mondays[load.week]].append(load)
    result = []
    for (tool, monday), together in of_tool.items():
        week = (monday - found.monday).days // DAYS_IN_WEEK
        if len({load.resource for load in together}) < 2 or not 0 <= week < found.available.shape[1]:
            continue
        hours = sum(load.hours for load in together)
        limit = max(float(found.available[rows[load.resource], week]) for load in together)
        if hours > limit + HOUR_SLACK:
            result.append(Clash("tool_twice", tool, monday, hours, limit, tuple(load.label for load in together)))
    return result


def _booked_twice(firm: list[Load], mondays: dict[date, date]) -> list[Clash]:
    first: dict[tuple, Load] = {}
    same: dict[tuple, list[Load]] = {}
    for load in firm:
        if load.quote:
            key = (load.resource, mondays[load.week], load.quote, load.tool)
            before = first.setdefault(key, load)
            if before is not load:
                same.setdefault(key, [before]).append(load)
    return [
        Clash("booked_twice", resource, monday, sum(one.hours for one in twice), max(one.hours for one in twice),
              tuple(one.label for one in twice))
        for (resource, monday, _, _), twice in same.items()
    ]  # fmt: skip


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
