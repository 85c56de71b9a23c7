"""How long a formed wall must stay on its tool."""

from dataclasses import dataclass

import numpy as np

from materials.heat_content import enthalpy, heat_content_of
from materials.polymer import Polymer
from materials.ranges import OutsideRangeError, not_negative, positive
from materials.slab import NODES, STEPS, Faces, Marched, Pace, Slabs, march

LONGEST_COOLING = 4 * 3600.0  # s; nobody waits longer, common practice, no source
STEP_SHARE = 0.02  # of the wall's own time, longest step

CACHED_CASES = 50_000  # emptied when full


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
    return cooling_times((case,))[0]


def cooling_times(cases: tuple[CoolingCase, ...]) -> tuple[float, ...]:
    """Cooling times of many walls, all of them marched at once; equal cases are solved once and remembered.

    Parameters
    ----------
    cases : tuple of CoolingCase
        Any number [SI].

    Returns
    -------
    times : tuple of float
        [s]

    Raises
    ------
    OutsideRangeError
        As for `cooling_time`, for the first case that is outside; ask `resting_temperature` before.
    """
    new = tuple(dict.fromkeys(case for case in cases if case not in _known))
    for case in new:
        _check(case)
    marched = cooled(new) if new else None
    solved = dict(zip(new, marched.time.tolist(), strict=True)) if marched else {}
    for case, done in zip(new, marched.done.tolist() if marched else (), strict=True):
        if not done:
            raise OutsideRangeError("demould_temperature", case.demould, f"reached within {LONGEST_COOLING} s")
    found = tuple(solved[case] if case in solved else _known[case] for case in cases)
    if len(_known) + len(solved) > CACHED_CASES:
        _known.clear()
    _known.update(solved)
    return found


_known: dict[CoolingCase, float] = {}


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
    within = 1 / case.tool_film + case.wall / case.polymer.conductivity
    flux = (case.air_temperature - case.tool) * case.free_film / (1 + case.free_film * within)
    return case.tool + max(flux / case.tool_film, flux * within)


def cooled(cases: tuple[CoolingCase, ...], nodes: int = NODES, steps: int = STEPS) -> Marched:
    """Cool every wall until its hottest point is at its demould temperature.

    Parameters
    ----------
    cases : tuple of CoolingCase
        One or more [SI].
    nodes : int
        Through the thickness [-], 3 or more.
    steps : int
        In time, about [-].

    Returns
    -------
    marched : Marched
        State at that moment, or after `LONGEST_COOLING` where it never came [SI].
    """
    slabs = _slabs(cases)
    demould = np.array([case.demould for case in cases])
    fall = enthalpy(slabs.heat, slabs.start) - enthalpy(slabs.heat, demould)
    pace = Pace(
        energy=slabs.density * slabs.thickness * np.maximum(fall, 1.0),
        longest_step=STEP_SHARE * STEPS / steps * np.array([_own_time(case) for case in cases]),
        limit=np.full(len(cases), LONGEST_COOLING),
        nodes=nodes,
        steps=steps,
    )
    return march(slabs, lambda now, which: (now.max(axis=0) - demould[which])[None], pace)


def _own_time(case: CoolingCase) -> float:
    """Time scale [s] of a wall: conduction through it and the film on it, one after the other."""
    polymer = case.polymer
    through = case.wall / polymer.conductivity + 1 / (case.tool_film + case.free_film)
    return polymer.density * polymer.specific_heat_solid * case.wall * through


def _slabs(cases: tuple[CoolingCase, ...]) -> Slabs:
    tool_film, free_film = (np.array([getattr(case, film) for case in cases]) for film in ("tool_film", "free_film"))
    none = np.zeros(len(cases))
    return Slabs(
        thickness=np.array([case.wall for case in cases]),
        density=np.array([case.polymer.density for case in cases]),
        conductivity=np.array([case.polymer.conductivity for case in cases]),
        heat=heat_content_of(tuple(case.polymer for case in cases)),
        start=np.array([case.start for case in cases]),
        first=Faces(tool_film * np.array([case.tool for case in cases]), none, tool_film),
        second=Faces(free_film * np.array([case.air_temperature for case in cases]), none, free_film),
    )


def _check(case: CoolingCase) -> None:
    positive(wall=case.wall, start=case.start, tool_film=case.tool_film)
    not_negative(free_film=case.free_film)
    rest = resting_temperature(case)
    if case.start > case.demould and not rest < case.demould:
        raise OutsideRangeError("demould_temperature", case.demould, f"above {rest:.2f} K, where tool and air leave it")
