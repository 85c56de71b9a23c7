"""How long a formed wall must stay on its tool."""

from dataclasses import dataclass, fields
from math import inf

import numpy as np

from materials.heat_content import enthalpy, heat_content_of
from materials.marching import march
from materials.polymer import Polymer
from materials.ranges import Number, OutsideRangeError, not_negative, positive
from materials.remembered import Remembered
from materials.slab import MELTING_STEPS, NODES, STEPS, Faces, Marched, Pace, Slabs

LONGEST_COOLING = 4 * 3600.0  # s; nobody waits longer, common practice, no source
STEP_SHARE = 0.05  # of the wall's own time, longest step


@dataclass(frozen=True)
class CoolingCase:
    """A wall of one temperature ``start`` laid on a tool. Where the last two are None, the polymer's own hold [K]."""

    polymer: Polymer
    wall: float  # m
    start: float  # K
    tool_film: float  # W/(m2 K), wall to tool
    free_film: float  # W/(m2 K), wall to air
    air_temperature: float  # K
    tool_temperature: float | None = None
    demould_temperature: float | None = None

    @property
    def tool(self) -> float:
        return self.polymer.tool_temperature if self.tool_temperature is None else self.tool_temperature

    @property
    def demould(self) -> float:
        return self.polymer.demould_temperature if self.demould_temperature is None else self.demould_temperature


def cooling_time(
    polymer: Polymer,
    wall: float,
    start: float,
    tool_film: float,
    free_film: float,
    air_temperature: float,
    tool_temperature: float | None = None,
    demould_temperature: float | None = None,
) -> float:
    """Time until the hottest point of a wall may leave the tool.

    ``rho dH/dt = d/dx (k dT/dx)``; ``-k dT/dn = h1 (T - Ttool)`` on the tool side, ``h2 (T - Tair)`` on the free side

    Parameters
    ----------
    polymer : Polymer
        What the wall is made of [SI].
    wall : float
        Local formed thickness [m], above 0; the thickest place of a part governs.
    start : float
        Temperature when the wall meets the tool, taken uniform [K].
    tool_film : float
        Film coefficient of the contact with the tool [W/(m2 K)], above 0.
    free_film : float
        Film coefficient of the air on the free side [W/(m2 K)], 0 or more.
    air_temperature : float
        [K]
    tool_temperature : float, optional
        [K]; the polymer's own if None. The tool is held at it: an uncooled tool drifts up and takes longer.
    demould_temperature : float, optional
        [K]; the polymer's own if None.

    Returns
    -------
    time : float
        [s], 0 for a wall that is already cool enough.

    Raises
    ------
    OutsideRangeError
        Tool and air never cool the wall that far, or not in `LONGEST_COOLING`; or an argument is out of range.
    """
    case = CoolingCase(
        polymer, wall, start, tool_film, free_film, air_temperature, tool_temperature, demould_temperature
    )
    (time,) = cooling_times((case,))
    if time == inf:
        rest = resting_temperature(case)
        accepted = f"above {rest:.2f} K, where tool and air leave it" if rest >= case.demould else "reached in 4 hours"
        raise OutsideRangeError("demould_temperature", case.demould, accepted)
    return time


def cooling_times(cases: tuple[CoolingCase, ...], nodes: int = NODES, steps: int = STEPS) -> tuple[float, ...]:
    """Cooling times of many walls, all of them marched at once; equal physics is solved once and remembered.

    Parameters
    ----------
    cases : tuple of CoolingCase
        Any number [SI].
    nodes, steps : int
        Through the thickness, and about in time [-].

    Returns
    -------
    times : tuple of float
        [s]; infinite where tool and air never cool the wall that far, or not in `LONGEST_COOLING`.

    Raises
    ------
    OutsideRangeError
        A free film is below 0, or another value is not above 0.
    """
    if not cases:
        return ()
    walls = _walls(cases)

    def solve(new: np.ndarray) -> np.ndarray:
        some = walls.taken(new)
        marched = _cooled(some, nodes, steps)
        return np.where(marched.done & some.sets, marched.time, np.inf)[:, None]

    return tuple(_known.get(_rows(walls, nodes, steps), solve)[:, 0].tolist())


_known = Remembered()


def resting_temperature(case: CoolingCase) -> float:
    """Hottest point of a wall that has lain on the tool for ever.

    ``q = (Tair - Ttool)/(1/h1 + L/k + 1/h2)``; faces at ``Ttool + q/h1`` and ``Ttool + q/h1 + q L/k``

    Parameters
    ----------
    case : CoolingCase
        [SI]

    Returns
    -------
    temperature : float
        [K]; a demould temperature must lie above it.
    """
    faces = _faces(case.tool_film, case.tool, case.free_film, case.air_temperature)
    return float(_resting(*faces, case.wall, case.polymer.conductivity))


def _faces(tool_film: Number, tool: Number, free_film: Number, air: Number) -> tuple[Faces, Faces]:
    none = 0.0 * tool_film
    return Faces(tool_film * tool, none, tool_film), Faces(free_film * air, none, free_film)


def _resting(on_tool: Faces, free: Faces, wall: Number, conductivity: Number) -> Number:
    tool = on_tool.supply / on_tool.film
    within = 1 / on_tool.film + wall / conductivity
    flux = (free.supply - tool * free.film) / (1 + free.film * within)
    return tool + np.maximum(flux / on_tool.film, flux * within)


def cooled(cases: tuple[CoolingCase, ...], nodes: int = NODES, steps: int = STEPS, curves: bool = False) -> Marched:
    """Cool every wall until its hottest point is at its demould temperature.

    Parameters
    ----------
    cases : tuple of CoolingCase
        Any number [SI].
    nodes : int
        Through the thickness [-], 3 or more.
    steps : int
        In time, about [-]; a wall that sets takes more, in proportion.
    curves : bool
        Keep every step [-].

    Returns
    -------
    marched : Marched
        State at that moment, or after `LONGEST_COOLING` where it never came [SI].

    Raises
    ------
    OutsideRangeError
        A free film is below 0, or another value is not above 0.
    """
    return _cooled(_walls(cases), nodes, steps, curves)


@dataclass(frozen=True)
class _Walls:
    """Walls side by side."""

    slabs: Slabs
    demould: np.ndarray  # K

    def taken(self, which: np.ndarray) -> "_Walls":
        return _Walls(self.slabs.taken(which), self.demould[which])

    @property
    def sets(self) -> np.ndarray:
        """Which of them ever come to their demould temperature."""
        slabs = self.slabs
        rest = _resting(slabs.first, slabs.second, slabs.thickness, slabs.conductivity)
        return (rest < self.demould) | (slabs.start <= self.demould)


def _walls(cases: tuple[CoolingCase, ...]) -> _Walls:
    polymers = tuple(case.polymer for case in cases)
    tool_film, free_film, air, tool, demould, wall, start = (
        np.array([getattr(case, name) for case in cases], float)
        for name in ("tool_film", "free_film", "air_temperature", "tool", "demould", "wall", "start")
    )
    density, conductivity = (np.array([getattr(p, name) for p in polymers]) for name in ("density", "conductivity"))
    positive(wall=wall, start=start, tool_film=tool_film, air_temperature=air, tool_temperature=tool)
    positive(demould_temperature=demould, density=density, conductivity=conductivity)
    not_negative(free_film=free_film)
    faces = _faces(tool_film, tool, free_film, air)
    return _Walls(Slabs(wall, density, conductivity, heat_content_of(polymers), start, *faces), demould)


def _rows(walls: _Walls, *how: int) -> np.ndarray:
    """Everything that the answer depends on, one row for each wall."""
    slabs, heat = walls.slabs, walls.slabs.heat
    of_heat = (getattr(heat, field.name) for field in fields(heat))
    of_faces = (part for face in (slabs.first, slabs.second) for part in (face.supply, face.film))
    own = (slabs.thickness, slabs.density, slabs.conductivity, slabs.start, walls.demould)
    return np.stack((*own, *of_heat, *of_faces, *(np.full(walls.demould.size, float(part)) for part in how)), axis=1)


def _cooled(walls: _Walls, nodes: int, steps: int, curves: bool = False) -> Marched:
    slabs = walls.slabs
    fall = enthalpy(slabs.heat, slabs.start) - enthalpy(slabs.heat, walls.demould)
    pace = Pace(
        energy=slabs.density * slabs.thickness * np.maximum(fall, 1.0),
        # Four hours of a thin wall that never sets would be more steps of its own time than any march may take.
        longest_step=np.where(walls.sets, STEP_SHARE * STEPS / steps * _own_time(slabs), LONGEST_COOLING / STEPS),
        limit=np.full(walls.demould.size, LONGEST_COOLING),
        nodes=nodes,
        steps=np.where(slabs.heat.latent_heat > 0.0, steps * MELTING_STEPS / STEPS, float(steps)),
    )
    return march(
        slabs,
        lambda now, which: (now.max(axis=0) - walls.demould[which])[None],
        pace,
        curves,
        lambda now, which: now[nodes // 2] <= walls.demould[which],
    )


def _own_time(slabs: Slabs) -> np.ndarray:
    """Time scale [s] of a wall: conduction through it and the film on it, one after the other."""
    through = slabs.thickness / slabs.conductivity + 1 / (slabs.first.film + slabs.second.film)
    return slabs.density * slabs.heat.specific_heat_solid * slabs.thickness * through
