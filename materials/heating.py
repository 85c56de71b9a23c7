"""How long sheets need between two heater banks, how hot their skin gets, and what they lose in open air."""

from dataclasses import dataclass, fields
from math import inf

import numpy as np

from materials.exposure import Heaters, Sheets, Surroundings, open_air, sheets_of, slabs_between
from materials.heat_content import Array, enthalpy
from materials.marching import march, never
from materials.polymer import Polymer
from materials.ranges import Number, OutsideRangeError, holds
from materials.slab import FIRST_STEP, MELTING_STEPS, NODES, STEPS, Marched, Pace, mean_temperature

LONGEST_HEATING = 1800.0  # s; longer in one oven is no production, common practice, no source
LONGEST_STEP = LONGEST_HEATING / 20  # s; a sheet that gets nowhere is stepped through quickly
NO_TIME = 1e-3  # s, a march as short as none: it cannot be divided by 0
# Out of the oven what enters the faces jumps, and then the sheet only evens out: each step is somewhat longer than the
# last. Within 0.15 K of 400 steps everywhere in sheets of 1.5 to 12.7 mm that molten begin to freeze, or do not melt.
OPEN_AIR_STEPS = 8
OPEN_AIR_GROWTH = 1.1


@dataclass(frozen=True)
class HeatedSheet:
    """One sheet between two banks."""

    polymer: Polymer
    gauge: float  # m
    start: float  # K
    upper: Heaters
    lower: Heaters
    air_temperature: float  # K
    air_film_coefficient: float  # W/(m2 K)


def heated(sheets: tuple[HeatedSheet, ...], nodes: int = NODES, steps: int = STEPS) -> Marched:
    """Heat every sheet until its coldest point may be formed and its mean is at the normal forming temperature.

    Parameters
    ----------
    sheets : tuple of HeatedSheet
        Any number, of any polymers and gauges [SI].
    nodes : int
        Through the thickness [-], 3 or more.
    steps : int
        In time, about [-]; a sheet that melts takes more, in proportion.

    Returns
    -------
    marched : Marched
        State at that moment, or after `LONGEST_HEATING` where it never came [SI].

    Raises
    ------
    OutsideRangeError
        A gauge is not above 0, or a sheet starts above its normal forming temperature.
    """
    many = sheets_of(tuple(sheet.polymer for sheet in sheets), tuple(sheet.gauge for sheet in sheets))
    start = np.array([sheet.start for sheet in sheets], float)
    if not holds((start > 0) & (start < many.normal_forming)):
        raise OutsideRangeError("start", float(start.max()), "above 0 K and below the normal forming temperature")
    banks = (_side_by_side([getattr(sheet, side) for sheet in sheets]) for side in ("upper", "lower"))
    air, film = (np.array([getattr(s, f) for s in sheets], float) for f in ("air_temperature", "air_film_coefficient"))
    return heated_to_window(many, start, Surroundings(*banks, air, film), nodes=nodes, steps=steps)


def _side_by_side(banks: list[Heaters]) -> Heaters:
    return Heaters(*(np.array([getattr(bank, field.name) for bank in banks], float) for field in fields(Heaters)))


def heated_to_window(
    sheets: Sheets,
    start: Array,
    around: Surroundings,
    *,
    limit: Number = LONGEST_HEATING,
    nodes: int = NODES,
    steps: int = STEPS,
    first_step: float = FIRST_STEP,
    stretch: float = inf,
    curves: bool = False,
) -> Marched:
    """As `heated`, of sheets that lie side by side already.

    Parameters
    ----------
    sheets : Sheets
        [SI]
    start : array
        One temperature for each sheet, or a profile with the nodes along the first axis [K].
    around : Surroundings
        Heaters and air [SI].
    limit : float or array
        Longest time [s], above 0.
    nodes, steps : int
        Through the thickness, and about in time [-].
    first_step : float
        As a share of a full one: small where what enters the faces jumps [-].
    stretch : float
        The longest step over the first full one [-]; steps of even energy grow long where heaters are hardly hotter
        than the sheet.
    curves : bool
        Keep every step [-].

    Returns
    -------
    marched : Marched
        [SI]; a sheet that is warm enough already takes no time.
    """
    lower, normal = sheets.lower_forming, sheets.normal_forming
    return march(
        slabs_between(sheets, start, around, nodes),
        lambda now, which: np.stack((lower[which] - now.min(axis=0), normal[which] - mean_temperature(now))),
        Pace(
            energy=_energy(sheets),
            longest_step=np.full(sheets.gauge.size, LONGEST_STEP),
            limit=np.broadcast_to(np.asarray(limit, float), sheets.gauge.shape),
            nodes=nodes,
            steps=_steps(sheets, steps),
            first_step=first_step,
            stretch=stretch,
        ),
        curves,
        lambda now, which: now[nodes // 2] >= lower[which],  # the middle is warm late: most need no closer look
    )


def heated_for(
    sheets: Sheets,
    start: Array,
    around: Surroundings,
    time: Array,
    *,
    nodes: int = NODES,
    steps: int = STEPS,
    growth: float | None = None,
    curves: bool = False,
) -> Marched:
    """Heat every sheet for a time of its own.

    Parameters
    ----------
    sheets : Sheets
        [SI]
    start : array
        One temperature for each sheet, or a profile with the nodes along the first axis [K].
    around : Surroundings
        Heaters and air [SI].
    time : array
        For each sheet [s], 0 or more.
    nodes, steps : int
        Through the thickness (where the start is no profile), and in time, even but for the first few [-].
    growth : float, optional
        Instead exactly so many steps of any sheet, each so many times the last one [-].
    curves : bool
        Keep every step [-].

    Returns
    -------
    marched : Marched
        [SI]
    """
    nodes = start.shape[0] if start.ndim > 1 else nodes
    time = np.maximum(time, NO_TIME)
    if growth is None:
        pace = Pace(energy=None, longest_step=time / _steps(sheets, steps), limit=time, nodes=nodes)
    else:
        first = (growth - 1) / (growth**steps - 1)
        pace = Pace(energy=None, longest_step=time, limit=time, nodes=nodes, first_step=first, growth=growth)
    return march(slabs_between(sheets, start, around, nodes), never, pace, curves)


def carried(sheets: Sheets, profile: Array, room: Number, time: Array, *, curves: bool = False) -> Marched:
    """Carry every sheet through the open air of the shop for a time of its own.

    Parameters
    ----------
    sheets : Sheets
        [SI]
    profile : array
        Nodes along the first axis [K].
    room : float or array
        Temperature of the shop [K].
    time : array
        For each sheet [s], above 0.
    curves : bool
        Keep every step [-].

    Returns
    -------
    marched : Marched
        [SI]
    """
    how = {"steps": OPEN_AIR_STEPS, "growth": OPEN_AIR_GROWTH, "curves": curves}
    return heated_for(sheets, profile, open_air(sheets, room), time, **how)


def _energy(sheets: Sheets) -> Array:
    """What a sheet takes up from a usual shop to its normal forming temperature [J/m2]."""
    rise = enthalpy(sheets.heat, sheets.normal_forming) - enthalpy(sheets.heat, np.full_like(sheets.gauge, 293.15))
    return sheets.density * sheets.gauge * rise


def _steps(sheets: Sheets, steps: int) -> Array:
    return np.where(sheets.heat.latent_heat > 0.0, steps * MELTING_STEPS / STEPS, float(steps))
