"""Sheets as slabs side by side: what they are, what enters their faces, how a march through them is paced.

The sheet is a slab in one dimension, ``rho dH(T)/dt = d/dx (k dT/dx) + source``, with
``q = supply - radiant Ts^4 - film Ts`` into each face; finite volumes around even nodes of which the outermost lie on
the faces. Arrays have nodes along the first axis and sheets along the last, so that every operation runs over sheets
that lie side by side in memory.
"""

from dataclasses import dataclass, fields, replace
from functools import cached_property, reduce
from math import inf

import numpy as np

from materials.heat_content import Array, HeatContent, columns, side_by_side

NODES = 21  # through the thickness; tests/reference shows what is left of the error
STEPS = 20  # about, from start to finish, of a sheet that does not melt
MELTING_STEPS = 32  # of one that does: the peak must not be stepped over
FIRST_STEP = 1 / 16  # of a full step: the jump at the faces needs small ones
GROWTH = 2.0  # of the step from one to the next; BDF2 stays stable below 2.414 (from memory, unverified)


@dataclass(frozen=True)
class Faces:
    """What enters one face: ``q = supply - radiant Ts^4 - film Ts``; one array element for each sheet.

    Of both faces of a sheet at once: rows of two.
    """

    supply: Array  # W/m2
    radiant: Array  # W/(m2 K4)
    film: Array  # W/(m2 K)

    def taken(self, which: Array) -> "Faces":
        return Faces(self.supply[which], self.radiant[which], self.film[which])

    def flux(self, surface: Array) -> Array:
        return self.supply - self.radiant * (surface * surface) ** 2 - self.film * surface


@dataclass(frozen=True)
class Slabs:
    """Sheets side by side. ``first`` and ``second`` are their two faces."""

    thickness: Array  # m
    density: Array  # kg/m3
    conductivity: Array  # W/(m K)
    heat: HeatContent
    start: Array  # K, one for each sheet, or a profile of each with the nodes along the first axis
    first: Faces
    second: Faces
    # Of clear sheet, around each node, nodes along the first axis: what is taken up [W/m2], and what is sent out for
    # each T^4 there [W/(m2 K4)]; None: opaque.
    source: Array | None = None
    sink: Array | None = None

    def taken(self, which: Array) -> "Slabs":
        return Slabs(*(taken(getattr(self, field.name), which) for field in fields(self)))

    def taken_up(self, profile: Array) -> Array | float:
        """What is taken up less what is sent out, at all depths together [W/m2]."""
        if self.clear is None:
            return 0.0
        source, sink = self.depth
        inside = np.zeros(self.thickness.size)
        # not sum(axis=0): its order, and so its last digit, depends on the number of sheets
        inside[self.clear] = reduce(np.add, source - sink * (columns(profile, self.clear) ** 2) ** 2)
        return inside

    # What a march asks for at every step is worked out once.

    @cached_property
    def own_time(self) -> Array:
        """``rho L^2 / k``: over the capacity, the time that heat needs through the thickness [kg K/J s]."""
        return self.density * (self.thickness * self.thickness) / self.conductivity

    @cached_property
    def resistance(self) -> Array:
        """``L / k`` [m2 K/W]."""
        return self.thickness / self.conductivity

    @cached_property
    def faces(self) -> Faces:
        """Both faces at once."""
        return Faces(*(np.stack([getattr(f, part.name) for f in (self.first, self.second)]) for part in fields(Faces)))

    @cached_property
    def clear(self) -> "slice | Array | None":
        """Which sheets take up heat below their faces: as a slice where they lie side by side."""
        return None if self.sink is None else side_by_side(self.sink.any(axis=0))

    @cached_property
    def depth(self) -> tuple[Array, Array]:
        """``source`` and ``sink`` of those."""
        return columns(self.source, self.clear), columns(self.sink, self.clear)

    @cached_property
    def melting(self) -> Array:
        """Which sheets melt."""
        return np.flatnonzero(self.heat.latent_heat)

    @cached_property
    def that_melt(self) -> "Slabs":
        return self.taken(self.melting)


def taken(part: object, which: Array) -> object:
    if part is None:
        return None
    return columns(part, which) if isinstance(part, np.ndarray) else part.taken(which)


@dataclass(frozen=True)
class Pace:
    """How the march is stepped: ``energy`` [J/m2] expected in all, ``longest_step`` and ``limit`` [s] per sheet.

    Where no energy is expected, the steps are even in time, as long as the longest.
    """

    energy: Array | None
    longest_step: Array
    limit: Array
    nodes: int = NODES
    steps: int | Array = STEPS
    first_step: float = FIRST_STEP
    growth: float = GROWTH  # at most, of the step from one to the next
    stretch: float = inf  # at most, of a step against the first full one

    @cached_property
    def energy_a_step(self) -> Array:
        return self.energy / self.steps

    def taken(self, which: Array) -> "Pace":
        steps = self.steps[which] if isinstance(self.steps, np.ndarray) else self.steps
        energy = None if self.energy is None else self.energy[which]
        return replace(self, energy=energy, longest_step=self.longest_step[which], limit=self.limit[which], steps=steps)


@dataclass(frozen=True)
class Marched:
    """Where each sheet stood when it was done, or at the time limit."""

    time: Array  # s
    profile: Array  # K, nodes along the first axis
    mean: Array  # K
    hottest_ever: Array  # K, toward the two faces, upper first
    energy: Array  # J/m2, gained by the sheet
    absorbed: Array  # J/m2, let in, summed apart from `energy`: the two must agree
    done: Array  # bool
    curve_times: Array | None = None  # s, steps along the first axis; only where it was asked for
    curve: Array | None = None  # K, steps, nodes, sheets


def places(nodes: int) -> Array:
    """Where the nodes lie, as a share of the thickness from the first face [-]."""
    return np.linspace(0.0, 1.0, nodes)


def mean_temperature(profile: Array) -> Array:
    """Mean through the thickness of nodes with the outermost on the faces.

    Parameters
    ----------
    profile : array
        Temperature [K], nodes along the first axis.

    Returns
    -------
    mean : array
        [K]
    """
    total = profile[0] + profile[-1]
    total *= 0.5
    for row in profile[1:-1]:  # not sum(axis=0): its order, and so its last digit, depends on the number of sheets
        total += row
    total /= profile.shape[0] - 1
    return total


def both_ends(profile: Array) -> Array:
    return profile[:: profile.shape[0] - 1]


def hottest_node(slabs: Slabs, profile: Array) -> Array:
    """Hottest node toward either face: the face itself, unless heat is taken up below it.

    Parameters
    ----------
    slabs : Slabs
        [SI]
    profile : array
        Temperature [K], nodes along the first axis.

    Returns
    -------
    hottest : array
        [K], upper face first.
    """
    if slabs.clear is None:
        return both_ends(profile)
    hottest, inside = both_ends(profile).copy(), columns(profile, slabs.clear)
    middle = profile.shape[0] // 2
    hottest[0, slabs.clear] = inside[: middle + 1].max(axis=0)
    hottest[1, slabs.clear] = inside[middle:].max(axis=0)
    return hottest


def hottest_point(slabs: Slabs, profile: Array) -> Array:
    """The same, and of clear sheet also between a face and the next node, where air that cools the face hides it.

    There ``T = T0 + slope x + bend x^2`` through both nodes, with the slope that the heat through the face asks for.

    Parameters
    ----------
    slabs : Slabs
        [SI]
    profile : array
        Temperature [K], nodes along the first axis.

    Returns
    -------
    hottest : array
        [K], upper face first.
    """
    hottest, clear = hottest_node(slabs, profile), slabs.clear
    if clear is None:
        return hottest
    surface = both_ends(profile)
    rise = columns(-slabs.faces.flux(surface) * slabs.resistance / (profile.shape[0] - 1), clear)  # K to the next node
    bend = columns(profile[[1, -2]] - surface, clear) - rise
    inside = (rise > 0.0) & (-2.0 * bend > rise)
    over = np.divide(rise * rise, -4.0 * bend, out=np.zeros_like(rise), where=inside)
    hottest[:, clear] = np.maximum(hottest[:, clear], columns(surface, clear) + over)
    return hottest
