"""How parts lie on a blank: clamp, trim, gaps, and every layout worth judging on one machine and one mill's web."""

from dataclasses import replace
from functools import lru_cache
from math import ceil

from machines.envelope import Room, room_in_heated_area, room_in_largest_opening, room_over_smallest_opening
from machines.machine import Machine
from materials.sheet import INCH
from materials.web import web_cut
from quoting.routing.candidate import Layout

# Allowances of the trade, each per side: common practice, no source.
CLAMP_THIN, CLAMP_MEDIUM, CLAMP_WIDE = 0.75 * INCH, 1.0 * INCH, 1.5 * INCH
THIN_GAUGE, MEDIUM_GAUGE = 0.125 * INCH, 0.250 * INCH
LARGE_PART = 60 * INCH  # plan side beyond which the wide clamp is used
TRIM, TRIM_DEEP, DEEP = 1.5 * INCH, 2.0 * INCH, 12 * INCH
LEAST_GAP, GAP_OVER_DEPTH = 1.5 * INCH, 0.5
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


def trim_width(depth: float) -> float:
    """Sheet between the part and the clamp on each side [m], for a formed ``depth`` [m]."""
    return TRIM_DEEP if depth > DEEP + FUZZ else TRIM


def cavity_gap(depth: float) -> float:
    """Sheet between two parts on one blank [m], for a formed ``depth`` [m]: ``max(1.5 in, depth / 2)``."""
    return max(LEAST_GAP, GAP_OVER_DEPTH * depth)


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
    return round(ceil((bare - FUZZ) / BLANK_STEP) * BLANK_STEP, 9)


def layouts(
    length: float,
    width: float,
    depth: float,
    *,
    gauge: float,
    twin_sheet: bool,
    machine: Machine,
    web: tuple[float, float] | None = None,
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

    Returns
    -------
    layouts : tuple of Layout
        Ascending by cavities [-], at least one.
    """
    rows = possible_layouts(length, width, depth, gauge, twin_sheet)
    best: dict[int, Layout] = {}
    for row in rows:
        for closest in row:
            if not _has(room_in_largest_opening(machine, closest.blank_length, closest.blank_width)):
                break  # one more across is wider still
            found = _spaced(closest, machine)
            rival = best.get(found.cavities)
            if rival is None or _preference(found, machine, web) < _preference(rival, machine, web):
                best[found.cavities] = found
    if best:
        return tuple(best[cavities] for cavities in sorted(best))
    single = (row[0] for row in rows if row[0].along == 1)
    return (max(single, key=lambda one: room_in_largest_opening(machine, one.blank_length, one.blank_width).spare),)


@lru_cache(maxsize=256)
def possible_layouts(
    length: float, width: float, depth: float, gauge: float, twin_sheet: bool
) -> tuple[tuple[Layout, ...], ...]:
    """Every way to lay up to ``MOST_CAVITIES`` parts on a blank of whatever size.

    The blank does not depend on the machine: machines share these layouts, and what was worked out for one of them.

    Parameters
    ----------
    length, width, depth, gauge, twin_sheet
        As for ``layouts`` [m, -].

    Returns
    -------
    rows : tuple of tuple of Layout
        A row for each orientation and count along the platen, ascending by count across [-].
    """
    drawn = formed_depth(depth, twin_sheet)
    gap = cavity_gap(drawn)
    margin = trim_width(drawn) + clamp_width(gauge, twin_sheet, max(length, width))

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
    reached = max(side, round(ceil((opening - FUZZ) / BLANK_STEP) * BLANK_STEP, 9))
    return reached, (reached - side) / (count + 1)


def _preference(layout: Layout, machine: Machine, web: tuple[float, float] | None) -> tuple:
    """Smallest first: a blank that the frame can close on, the heaters cover and the mill makes, then area, then
    plain order."""
    size = layout.blank_length, layout.blank_width
    lacking = sum(not _has(room(machine, *size)) for room in (room_over_smallest_opening, room_in_heated_area))
    lacking += web is not None and not web_cut(*size, *web).fits
    area = round(layout.blank_length * layout.blank_width, 9)
    return lacking, area, layout.turned, layout.along, layout.across
