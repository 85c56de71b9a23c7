"""How much room machines and routers have, as lengths; whether it suffices is judged elsewhere."""

from dataclasses import dataclass

from machines.machine import Machine, Trimmer


@dataclass(frozen=True)
class Room:
    """What is needed in one direction and what there is [m]."""

    needed: float
    given: float

    @property
    def spare(self) -> float:
        return self.given - self.needed


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
    return tightest(Room(length, machine.largest_opening_length), Room(width, machine.largest_opening_width))


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
    return tightest(Room(machine.smallest_opening_length, length), Room(machine.smallest_opening_width, width))


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
    banks = (machine.oven.upper, machine.oven.lower)
    return tightest(
        Room(length, min(bank.heated_length for bank in banks)),
        Room(width, min(bank.heated_width for bank in banks)),
    )


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
