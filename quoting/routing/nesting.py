"""How parts lie on a blank: clamp, trim, gaps, and every layout worth judging on one machine and one mill's web."""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

import numpy as np

from machines.envelope import Room, heated_area, room_in_largest_opening, room_over_smallest_opening
from machines.machine import Machine
from materials.sheet import INCH
from quoting.intake.part import Part
from quoting.routing.candidate import Layout

# Allowances of the trade, each per side: common practice, no source.
CLAMP_THIN, CLAMP_MEDIUM, CLAMP_WIDE = 0.75 * INCH, 1.0 * INCH, 1.5 * INCH
THIN_GAUGE, MEDIUM_GAUGE = 0.125 * INCH, 0.250 * INCH
LARGE_PART = 60 * INCH  # plan side beyond which the wide clamp is used
TRIM, TRIM_DEEP, DEEP = 1.5 * INCH, 2.0 * INCH, 12 * INCH
LEAST_GAP, GAP_OVER_DEPTH = 1.5 * INCH, 0.5
MALE_TRIM, MALE_TRIM_OVER_DEPTH = 2.0 * INCH, 0.25  # the sheet webs between a male tool and clamp or neighbour
MALE_GAP_OVER_DEPTH = 1.0
BLANK_STEP = 0.25 * INCH  # blanks are cut to this step
MOST_CAVITIES = 12
MOST_WIDER = 3.0 * INCH  # at each gap and margin, for a frame that does not close further: common practice, no source

FUZZ = 1e-9  # m, far below any cut; keeps 45.000000001 in from becoming 45.25


def formed_depth(depth: float, twin_sheet: bool) -> float:
    """Depth that one sheet is drawn [m]: half of the part's ``depth`` [m] for each sheet of a twin-sheet part."""
    return depth / 2 if twin_sheet else depth


def clamp_width(gauge: float, twin_sheet: bool, longest_side: float) -> float:
    """What the clamp frame grips on each side of the blank.

    Parameters
    ----------
    gauge : float
        Starting gauge of the sheet [m], above 0.
    twin_sheet : bool
        Two sheets are clamped and welded [-].
    longest_side : float
        Longer plan side of the part [m], above 0.

    Returns
    -------
    clamp : float
        [m]

    Examples
    --------
    >>> round(clamp_width(0.187 * INCH, False, 40 * INCH) / INCH, 6)
    1.0
    """
    if twin_sheet or longest_side > LARGE_PART + FUZZ or gauge > MEDIUM_GAUGE + FUZZ:
        return CLAMP_WIDE
    return CLAMP_THIN if gauge <= THIN_GAUGE + FUZZ else CLAMP_MEDIUM


def clamp_of(part: Part, process: str, gauge: float) -> float:
    """The same for a part in a process [m]."""
    return clamp_width(gauge, process == "twin_sheet", max(part.length, part.width))


def free_spans(layout: Layout, clamp: float) -> tuple[float, float]:
    """The blank inside its clamp frame, which is what hangs and what a box presses on.

    Parameters
    ----------
    layout : Layout
        [m]
    clamp : float
        Gripped on each side [m].

    Returns
    -------
    along, across : float
        [m]
    """
    return layout.blank_length - 2 * clamp, layout.blank_width - 2 * clamp


def trim_width(depth: float, tool_side: str = "female") -> float:
    """Sheet between the part and the clamp on each side [m], for a formed ``depth`` [m].

    On a male tool ``max(2 in, depth / 4)``: with less the sheet folds into webs at its foot.
    """
    if tool_side == "male":
        return max(MALE_TRIM, MALE_TRIM_OVER_DEPTH * depth)
    return TRIM_DEEP if depth > DEEP + FUZZ else TRIM


def cavity_gap(depth: float, tool_side: str = "female") -> float:
    """Sheet between two parts on one blank [m], for a formed ``depth`` [m]: ``max(1.5 in, depth / 2)``.

    Male tools stand their whole depth apart, or the sheet webs between them.
    """
    return max(LEAST_GAP, (MALE_GAP_OVER_DEPTH if tool_side == "male" else GAP_OVER_DEPTH) * depth)


def strip_around(depth: float, tool_side: str) -> float:
    """The narrowest strip of sheet that any part has around it, for a formed ``depth`` [m].

    Half the gap to the next one; on a male tool, which draws its wall from there, no more than the way to the clamp.

    Examples
    --------
    >>> round(strip_around(8 * INCH, "female") / INCH, 6), round(strip_around(4 * INCH, "male") / INCH, 6)
    (2.0, 2.0)
    """
    half = cavity_gap(depth, tool_side) / 2
    return min(half, trim_width(depth, tool_side)) if tool_side == "male" else half


def blank_side(part_side: float, count: int, gap: float, margin: float) -> float:
    """One side of a blank, rounded up to the next quarter inch: ``n * part + (n - 1) * gap + 2 * margin``.

    Parameters
    ----------
    part_side : float
        Side of the part in this direction [m], above 0.
    count : int
        Parts in this direction [count], 1 or more.
    gap : float
        Between two parts [m].
    margin : float
        Trim and clamp on each side [m].

    Returns
    -------
    side : float
        [m]

    Examples
    --------
    >>> round(blank_side(40 * INCH, 1, 4 * INCH, 2.5 * INCH) / INCH, 6)
    45.0
    """
    bare = count * part_side + (count - 1) * gap + 2 * margin
    return _up_to_step(bare)


def layouts(
    length: float,
    width: float,
    depth: float,
    *,
    gauge: float,
    twin_sheet: bool,
    machine: Machine,
    web: tuple[float, float] | None = None,
    tool_side: str = "female",
) -> tuple[Layout, ...]:
    """The layouts worth judging: for each count of cavities that fits the clamp frame, the best blank.

    Both orientations and every count along and across are tried. Parts stand as close as they may; where the clamp
    frame does not close on such a blank they are spaced wider, evenly, by up to ``MOST_WIDER`` at each gap and margin.
    A blank that the mill's web yields goes before one that it does not. Where not even one part fits, the single
    cavity is returned in the orientation that lacks least, so that the reason can say by how much.

    Parameters
    ----------
    length, width, depth : float
        Outside size of the part [m], above 0.
    gauge : float
        Starting gauge of the sheet [m], above 0.
    twin_sheet : bool
        Each of two sheets is drawn half the depth [-].
    machine : Machine
        [-]
    web : tuple of float, optional
        Width of the mill's web and its longest cut [m]; None where no mill is known.
    tool_side : str
        female or male [-]: parts over male tools stand further apart.

    Returns
    -------
    layouts : tuple of Layout
        Ascending by cavities [-], at least one.
    """
    rows = possible_layouts(length, width, depth, gauge, twin_sheet, tool_side)
    table = _table_of(length, width, depth, gauge, twin_sheet, tool_side)
    held = np.flatnonzero(_spare(table, machine.largest_opening_length, machine.largest_opening_width) >= -FUZZ)
    if held.size:
        return tuple(_spaced(table.layouts[place], machine) for place in _best_by_cavities(table, held, machine, web))
    single = (row[0] for row in rows if row[0].along == 1)
    return (max(single, key=lambda one: room_in_largest_opening(machine, one.blank_length, one.blank_width).spare),)


@dataclass(frozen=True)
class _Table:
    """Possible layouts in plain order, with their sizes side by side."""

    layouts: tuple[Layout, ...]
    cavities: np.ndarray
    along: np.ndarray
    across: np.ndarray
    blank_length: np.ndarray  # m
    blank_width: np.ndarray


@lru_cache(maxsize=256)
def _table_of(length: float, width: float, depth: float, gauge: float, twin_sheet: bool, tool_side: str) -> _Table:
    every = tuple(one for row in possible_layouts(length, width, depth, gauge, twin_sheet, tool_side) for one in row)
    names = ("cavities", "along", "across", "blank_length", "blank_width")
    return _Table(every, *(np.array([getattr(one, name) for one in every]) for name in names))


def _spare(blanks: _Table, length: float, width: float) -> np.ndarray:
    """What a space leaves over each blank in the tighter direction [m]; below 0 where the blank is larger."""
    return np.minimum(length - blanks.blank_length, width - blanks.blank_width)


def _best_by_cavities(table: _Table, held: np.ndarray, machine: Machine, web: tuple[float, float] | None) -> list[int]:
    """Of the layouts that the frame holds, the place of the best for each count of cavities, ascending.

    Smallest first: a blank that the frame can close on, the heaters cover and the mill makes, then area, then plain
    order, in which the layouts lie: not turned, along, across.
    """
    blanks = _as_spaced(table, held, machine)
    lacking = _short_of_frame(blanks, machine).astype(int) + (_spare(blanks, *heated_area(machine)) < -FUZZ)
    if web is not None:
        widest, longest = web
        lacking += np.maximum(_spare(blanks, longest, widest), _spare(blanks, widest, longest)) < -FUZZ
    area = np.round(blanks.blank_length * blanks.blank_width, 9)
    order = np.lexsort((area, lacking, blanks.cavities))
    first = np.flatnonzero(np.diff(blanks.cavities[order], prepend=0))  # of each count, which ascend
    return held[order[first]].tolist()


def _short_of_frame(blanks: _Table, machine: Machine) -> np.ndarray:
    """Whether a blank is smaller than the opening of the frame closed fully."""
    along = blanks.blank_length - machine.smallest_opening_length
    return np.minimum(along, blanks.blank_width - machine.smallest_opening_width) < -FUZZ


def _as_spaced(table: _Table, held: np.ndarray, machine: Machine) -> _Table:
    """Sizes of some layouts as ``_spaced`` makes them."""
    parts = (table.cavities, table.along, table.across, table.blank_length, table.blank_width)
    blanks = _Table((), *(part[held] for part in parts))
    short = _short_of_frame(blanks, machine)
    if not short.any():
        return blanks
    length = np.maximum(blanks.blank_length, _up_to_step(machine.smallest_opening_length))
    width = np.maximum(blanks.blank_width, _up_to_step(machine.smallest_opening_width))
    wider = np.maximum(
        (length - blanks.blank_length) / (blanks.along + 1), (width - blanks.blank_width) / (blanks.across + 1)
    )
    spaced = short & (wider <= MOST_WIDER + FUZZ)
    return replace(
        blanks,
        blank_length=np.where(spaced, length, blanks.blank_length),
        blank_width=np.where(spaced, width, blanks.blank_width),
    )


@lru_cache(maxsize=256)
def possible_layouts(
    length: float, width: float, depth: float, gauge: float, twin_sheet: bool, tool_side: str = "female"
) -> tuple[tuple[Layout, ...], ...]:
    """Every way to lay up to ``MOST_CAVITIES`` parts on a blank of whatever size.

    The blank does not depend on the machine: machines share these layouts, and what was worked out for one of them.

    Parameters
    ----------
    length, width, depth, gauge, twin_sheet, tool_side
        As for ``layouts`` [m, -].

    Returns
    -------
    rows : tuple of tuple of Layout
        A row for each orientation and count along the platen, ascending by count across [-].
    """
    drawn = formed_depth(depth, twin_sheet)
    gap = cavity_gap(drawn, tool_side)
    margin = trim_width(drawn, tool_side) + clamp_width(gauge, twin_sheet, max(length, width))

    def layout(turned: bool, along: int, across: int) -> Layout:
        part_along, part_across = (width, length) if turned else (length, width)
        blank_length = blank_side(part_along, along, gap, margin)
        blank_width = blank_side(part_across, across, gap, margin)
        return Layout(turned, along, across, blank_length, blank_width, gap, margin, part_along, part_across)

    return tuple(
        tuple(layout(turned, along, across) for across in range(1, MOST_CAVITIES // along + 1))
        for turned in (False, True)
        for along in range(1, MOST_CAVITIES + 1)
    )


def _has(room: Room) -> bool:
    return room.spare >= -FUZZ


def _spaced(layout: Layout, machine: Machine) -> Layout:
    """The layout spaced wider where the frame does not close on it as it is; unchanged where that does not suffice."""
    if _has(room_over_smallest_opening(machine, layout.blank_length, layout.blank_width)):
        return layout
    along = _wider(layout.blank_length, machine.smallest_opening_length, layout.along)
    across = _wider(layout.blank_width, machine.smallest_opening_width, layout.across)
    if max(along[1], across[1]) > MOST_WIDER + FUZZ:
        return layout
    return replace(layout, blank_length=along[0], blank_width=across[0], wider_along=along[1], wider_across=across[1])


def _wider(side: float, opening: float, count: int) -> tuple[float, float]:
    """The side that just reaches the opening, and what each gap and margin takes of the difference [m]."""
    reached = max(side, _up_to_step(opening))
    return reached, (reached - side) / (count + 1)


def _up_to_step(bare: float) -> float:
    """A length rounded up to the step in which blanks are cut [m]."""
    return round(ceil((bare - FUZZ) / BLANK_STEP) * BLANK_STEP, 9)
