"""What on the board cannot be: weeks booked beyond their hours, a tool in two presses, work without a machine."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

import numpy as np

from machines.board import Board
from machines.loads import Loads
from machines.weeks import DAYS_IN_WEEK, HOUR_SLACK


@dataclass(frozen=True)
class Clash:
    """Something on the board that cannot be carried out as it stands, in figures."""

    kind: str  # overbooked, tool_twice, booked_twice, stranded
    where: str  # resource, or tool
    week: date  # its Monday
    measured: float  # h
    limit: float  # h
    labels: tuple[str, ...]


def clashes(found: Board, loads: Loads) -> tuple[Clash, ...]:
    """Firm work that overlaps: a week booked beyond its hours, a tool in two machines, the same work twice, no machine.

    A tool clashes where the machines that share it in a week need it for longer than the week of the one that works
    most: it can move within a week, but not be in two presses at once.

    Parameters
    ----------
    found : Board
        As made of these loads [h].
    loads : Loads
        The same [h].

    Returns
    -------
    clashes : tuple of Clash
        By week, kind and place [h].
    """
    firm = loads.where(loads.firm)
    week = (firm.day - found.monday.toordinal()) // DAYS_IN_WEEK  # from the board's first on, as its columns
    stranded = [
        Clash("stranded", load.resource, _monday(found, (load.week - found.monday).days // DAYS_IN_WEEK), load.hours,
              0.0, (load.label,))
        for load in found.stranded
        if load.firm
    ]  # fmt: skip
    every = [*_overbooked(found, firm, week), *stranded, *_tools_twice(found, firm, week)]
    every += _booked_twice(found, firm, week)
    return tuple(sorted(every, key=lambda each: (each.week, each.kind, each.where, each.labels)))


def _monday(found: Board, week: int) -> date:
    return date.fromordinal(found.monday.toordinal() + DAYS_IN_WEEK * int(week))


def _rows(found: Board, firm: Loads) -> np.ndarray:
    """Row of the board of each load; -1 where it has none."""
    rows = {resource.code: number for number, resource in enumerate(found.resources)}
    return np.array([rows.get(code, -1) for code in firm.codes], dtype=int)[firm.at]


def _overbooked(found: Board, firm: Loads, week: np.ndarray) -> list[Clash]:
    over, row, weeks = found.booked > found.available + HOUR_SLACK, _rows(found, firm), found.available.shape[1]
    labels: dict[tuple[int, int], list[str]] = {(int(at), int(column)): [] for at, column in np.argwhere(over)}
    known = np.flatnonzero((row >= 0) & (week >= 0) & (week < weeks))
    for place in known[over[row[known], week[known]]]:
        labels[int(row[place]), int(week[place])].append(firm.label[place])
    return [
        Clash("overbooked", found.resources[row].code, _monday(found, column), float(found.booked[row, column]),
              float(found.available[row, column]), tuple(names))
        for (row, column), names in labels.items()
    ]  # fmt: skip


def _tools_twice(found: Board, firm: Loads, week: np.ndarray) -> list[Clash]:
    home: dict[str, int] = {}
    at = firm.at.tolist()
    moving = {tool for tool, place in zip(firm.tool, at, strict=True) if tool and home.setdefault(tool, place) != place}
    if not moving:
        return []
    row, weeks = _rows(found, firm), found.available.shape[1]
    forming = np.array([resource.kind == "forming" for resource in found.resources], dtype=bool)
    of_tool: dict[tuple[str, int], list[int]] = defaultdict(list)
    for place in np.flatnonzero((row >= 0) & (week >= 0) & (week < weeks)):
        if forming[row[place]] and firm.tool[place] in moving:
            of_tool[firm.tool[place], int(week[place])].append(int(place))
    result = []
    for (tool, column), together in of_tool.items():
        if len({at[place] for place in together}) < 2:
            continue
        hours, limit = sum(firm.hours[together].tolist()), float(found.available[row[together], column].max())
        if hours > limit + HOUR_SLACK:
            labels = tuple(firm.label[place] for place in together)
            result.append(Clash("tool_twice", tool, _monday(found, column), hours, limit, labels))
    return result


def _booked_twice(found: Board, firm: Loads, week: np.ndarray) -> list[Clash]:
    keys = list(zip(firm.at.tolist(), week.tolist(), firm.quote, firm.tool, strict=True))
    if len(set(keys)) == len(keys):  # as a rule; else each is looked at
        return []
    places: dict[tuple[int, int, str, str], list[int]] = defaultdict(list)
    for place, key in enumerate(keys):
        if key[2]:
            places[key].append(place)
    return [
        Clash("booked_twice", firm.codes[at], _monday(found, column), sum(firm.hours[twice].tolist()),
              float(firm.hours[twice].max()), tuple(firm.label[place] for place in twice))
        for (at, column, _, _), twice in places.items()
        if len(twice) > 1
    ]  # fmt: skip
