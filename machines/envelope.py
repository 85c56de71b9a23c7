"""How much room machines and routers have, as lengths; whether it suffices is judged elsewhere."""

from typing import NamedTuple

import numpy as np

from machines.machine import Machine, Trimmer
from materials.ranges import Number


class Room(NamedTuple):
    """What is needed in one direction and what there is, of one or of many at once [m]."""

    needed: Number
    given: Number

    @property
    def spare(self) -> Number:
        return self.given - self.needed


class Area(NamedTuple):
    """Along and across the platen [m]."""

    length: Number
    width: Number


def tightest(*rooms: Room) -> Room:
    """The direction with the least spare; of two alike the first.

    Parameters
    ----------
    *rooms : Room
        Needed and given lengths [m], at least one.

    Returns
    -------
    room : Room
        [m]

    Examples
    --------
    >>> tightest(Room(1.0, 2.0), Room(0.5, 0.75))
    Room(needed=0.5, given=0.75)
    """
    return min(rooms, key=lambda room: room.spare)


def tightest_of_each(one: Room, other: Room) -> Room:
    """As ``tightest``, for each of many at once.

    Parameters
    ----------
    one, other : Room
        Arrays of needed and given lengths, or a length for all of them [m].

    Returns
    -------
    room : Room
        Arrays [m].

    Examples
    --------
    >>> tightest_of_each(Room(np.array([1.0, 1.0]), 2.0), Room(np.array([0.5, 1.5]), 1.75)).needed.tolist()
    [1.0, 1.5]
    """
    first = one.spare <= other.spare
    return Room(np.where(first, one.needed, other.needed), np.where(first, one.given, other.given))


def rooms_in_largest_opening(machine: Machine, length: Number, width: Number) -> tuple[Room, Room]:
    """Blank against the frame opened fully, along and across the platen [m]; as in ``room_in_largest_opening``."""
    return Room(length, machine.largest_opening_length), Room(width, machine.largest_opening_width)


def rooms_over_smallest_opening(machine: Machine, length: Number, width: Number) -> tuple[Room, Room]:
    """The closed frame against the blank, along and across the platen [m]; as in ``room_over_smallest_opening``."""
    return Room(machine.smallest_opening_length, length), Room(machine.smallest_opening_width, width)


def rooms_in_heated_area(area: Area, length: Number, width: Number) -> tuple[Room, Room]:
    """Blank against what ``heated_area`` gives, along and across the platen [m]."""
    return Room(length, area.length), Room(width, area.width)


def heated_area(machine: Machine) -> Area:
    """What both heater banks of a machine cover [m]."""
    banks = (machine.oven.upper, machine.oven.lower)
    return Area(min(bank.heated_length for bank in banks), min(bank.heated_width for bank in banks))


def room_in_largest_opening(machine: Machine, length: float, width: float) -> Room:
    """Blank against the clamp frame opened fully, in the tighter direction.

    Parameters
    ----------
    machine : Machine
        [-]
    length, width : float
        Blank along and across the platen [m], above 0.

    Returns
    -------
    room : Room
        [m]
    """
    return tightest(*rooms_in_largest_opening(machine, length, width))


def room_over_smallest_opening(machine: Machine, length: float, width: float) -> Room:
    """The clamp frame closed fully against the blank that must cover it, in the tighter direction.

    Parameters
    ----------
    machine : Machine
        [-]
    length, width : float
        Blank along and across the platen [m], above 0.

    Returns
    -------
    room : Room
        ``needed`` is the opening, ``given`` the blank [m].
    """
    return tightest(*rooms_over_smallest_opening(machine, length, width))


def room_in_heated_area(machine: Machine, length: float, width: float) -> Room:
    """Blank against the heated area of the smaller bank, in the tighter direction.

    Parameters
    ----------
    machine : Machine
        [-]
    length, width : float
        Blank along and across the platen [m], above 0.

    Returns
    -------
    room : Room
        [m]
    """
    return tightest(*rooms_in_heated_area(heated_area(machine), length, width))


def draw_depth(machine: Machine, both_sides: bool) -> float:
    """How deep the machine draws: on its better side, or on both at once for two tools that meet.

    Parameters
    ----------
    machine : Machine
        [-]
    both_sides : bool
        A tool above and a tool below work together [-].

    Returns
    -------
    depth : float
        [m]
    """
    sides = (machine.draw_depth_above, machine.draw_depth_below)
    return min(sides) if both_sides else max(sides)


def tool_height(machine: Machine, both_sides: bool) -> float:
    """How tall a tool with its base may be: on the better side, or on both at once for two tools that meet.

    Parameters
    ----------
    machine : Machine
        [-]
    both_sides : bool
        A tool above and a tool below work together [-].

    Returns
    -------
    height : float
        [m]
    """
    sides = (machine.tool_height_above, machine.tool_height_below)
    return min(sides) if both_sides else max(sides)


def routers(trimmers: tuple[Trimmer, ...]) -> tuple[Trimmer, ...]:
    """Those of some trimmers that have a table, so not the hand benches."""
    return tuple(trimmer for trimmer in trimmers if trimmer.kind != "hand")


def room_on_table(length: float, width: float, height: float, router: Trimmer) -> Room:
    """A part on a router table, the better way round, in its tighter direction.

    Parameters
    ----------
    length, width, height : float
        Of the part as trimmed [m], above 0.
    router : Trimmer
        [-]

    Returns
    -------
    room : Room
        [m]
    """
    tall = Room(height, router.table_height)
    ways = (
        tightest(Room(one, router.table_length), Room(other, router.table_width), tall)
        for one, other in ((length, width), (width, length))
    )
    return max(ways, key=lambda room: room.spare)
