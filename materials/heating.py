"""How long sheets need between two heater banks, how hot their skin gets, and what they lose in open air."""

from dataclasses import dataclass, fields

import numpy as np

from materials.constants import STEFAN_BOLTZMANN
from materials.heat_content import Array, HeatContent, enthalpy, heat_content_of
from materials.marching import march, never
from materials.polymer import Polymer
from materials.ranges import Number, OutsideRangeError, holds
from materials.slab import FIRST_STEP, MELTING_STEPS, NODES, STEPS, Faces, Marched, Pace, Slabs, mean_temperature

LONGEST_HEATING = 1800.0  # s; longer in one oven is no production, common practice, no source
LONGEST_STEP = LONGEST_HEATING / 20  # s; a sheet that gets nowhere is stepped through quickly
NO_TIME = 1e-3  # s, a march as short as none: it cannot be divided by 0
OPEN_AIR_FILM = 10.0  # W/(m2 K), slow air over a sheet under way between stations: from memory, unverified
OPEN_AIR_STEPS = 5  # a few seconds out of the oven are short against what the sheet has taken up
FIRST_OPEN_AIR_STEP = 1 / 4  # of a full one; the faces lose far less than heaters give


@dataclass(frozen=True)
class Heaters:
    """One bank as the sheet sees it; each field one value, or an array with one for each sheet."""

    temperature: Number  # K
    emissivity: Number  # -
    view_factor: Number  # -


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


@dataclass(frozen=True)
class Sheets:
    """Sheets side by side, one array element for each. Temperatures are the polymer's window [K]."""

    gauge: Array  # m
    density: Array  # kg/m3
    conductivity: Array  # W/(m K)
    emissivity: Array  # -
    extinction: Array  # 1/m; infinite for an opaque sheet
    heat: HeatContent
    lower_forming: Array
    normal_forming: Array
    upper_forming: Array

    def taken(self, which: Array) -> "Sheets":
        parts = (getattr(self, field.name) for field in fields(self))
        return Sheets(*(part[which] if isinstance(part, np.ndarray) else part.taken(which) for part in parts))


@dataclass(frozen=True)
class Surroundings:
    """Air over both faces and the banks that they see; values or arrays as in `Heaters`."""

    upper: Heaters
    lower: Heaters
    air_temperature: Number  # K
    film: Number  # W/(m2 K)


def sheets_of(polymers: tuple[Polymer, ...], gauges: tuple[float, ...]) -> Sheets:
    """Put sheets side by side.

    Parameters
    ----------
    polymers : tuple of Polymer
        One for each sheet [SI].
    gauges : tuple of float
        [m], above 0.

    Returns
    -------
    sheets : Sheets
        [SI]

    Raises
    ------
    OutsideRangeError
        A gauge is not above 0.
    """
    gauge = np.array(gauges, float)
    if not holds(gauge > 0):
        raise OutsideRangeError("gauge", float(gauge.min()), "above 0")
    data = {
        name: np.array([getattr(polymer, field) for polymer in polymers], float)
        for name, field in {
            "density": "density",
            "conductivity": "conductivity",
            "emissivity": "emissivity",
            "lower_forming": "lower_forming_temperature",
            "normal_forming": "normal_forming_temperature",
            "upper_forming": "upper_forming_temperature",
        }.items()
    }
    clear = np.array([p.extinction if p.extinction is not None else np.inf for p in polymers], float)
    return Sheets(gauge=gauge, heat=heat_content_of(polymers), extinction=clear, **data)


def grey_exchange(heater_emissivity: Number, sheet_emissivity: Number) -> Number:
    """Share of black-body exchange between two grey parallel planes.

    ``F = 1/(1/e_h + 1/e_s - 1)``

    Parameters
    ----------
    heater_emissivity, sheet_emissivity : float or array
        Emissivity [-], above 0 up to 1.

    Returns
    -------
    exchange : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An emissivity is not above 0 or is above 1.

    References
    ----------
    Textbook result for infinite parallel planes.

    Examples
    --------
    >>> round(grey_exchange(0.90, 0.95), 6)
    0.859296
    """
    for name, value in (("heater_emissivity", heater_emissivity), ("sheet_emissivity", sheet_emissivity)):
        if not holds((value > 0) & (value <= 1)):
            raise OutsideRangeError(name, value, "above 0 and at most 1")
    return 1 / (1 / heater_emissivity + 1 / sheet_emissivity - 1)


def net_flux(heaters: Heaters, sheet_emissivity: Number, surface: Number, air: Number, film: Number) -> Number:
    """Heat flux into one face of a sheet.

    ``q = F Fv sigma (Th^4 - Ts^4) + h (Tair - Ts)``

    Parameters
    ----------
    heaters : Heaters
        The bank that this face sees [K, -].
    sheet_emissivity : float or array
        [-], above 0 up to 1.
    surface : float or array
        Temperature of the face [K].
    air : float or array
        Temperature of the oven air [K].
    film : float or array
        Film coefficient of the air [W/(m2 K)], 0 or more.

    Returns
    -------
    flux : float or array
        [W/m2]

    Examples
    --------
    >>> round(net_flux(Heaters(673.15, 0.90, 1.0), 0.92, 293.15, 353.15, 0.0), 1)
    9368.5
    """
    exchange = grey_exchange(heaters.emissivity, sheet_emissivity) * heaters.view_factor
    return exchange * STEFAN_BOLTZMANN * (heaters.temperature**4 - surface**4) + film * (air - surface)


def absorbed_share(extinction: Number, gauge: Number) -> Number:
    """Share of the radiation that enters a sheet which stays in it: ``1 - exp(-a L)``.

    Parameters
    ----------
    extinction : float or array
        Extinction coefficient [1/m], above 0; infinite for an opaque sheet.
    gauge : float or array
        [m], above 0.

    Returns
    -------
    share : float or array
        [-]

    Examples
    --------
    >>> round(float(absorbed_share(1000.0, 0.003)), 4), float(absorbed_share(float("inf"), 0.003))
    (0.9502, 1.0)
    """
    return -np.expm1(-extinction * gauge)


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
    limit: float = LONGEST_HEATING,
    nodes: int = NODES,
    steps: int = STEPS,
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
    limit : float
        Longest time [s].
    nodes, steps : int
        Through the thickness, and about in time [-].
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
        _pace(sheets, np.full(sheets.gauge.size, limit), LONGEST_STEP, nodes, steps),
        curves,
    )


def heated_for(
    sheets: Sheets,
    start: Array,
    around: Surroundings,
    time: Array,
    *,
    nodes: int = NODES,
    steps: int = STEPS,
    first_step: float = FIRST_STEP,
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
    first_step : float
        As a share of an even one [-].
    curves : bool
        Keep every step [-].

    Returns
    -------
    marched : Marched
        [SI]
    """
    nodes = start.shape[0] if start.ndim > 1 else nodes
    time = np.maximum(time, NO_TIME)
    even = time / _steps(sheets, steps)
    pace = Pace(energy=None, longest_step=even, limit=time, nodes=nodes, first_step=first_step)
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
    how = {"steps": OPEN_AIR_STEPS, "first_step": FIRST_OPEN_AIR_STEP, "curves": curves}
    return heated_for(sheets, profile, open_air(sheets, room), time, **how)


def open_air(sheets: Sheets, room: Number) -> Surroundings:
    """What a sheet sees between two stations: walls and slow air of the shop.

    Parameters
    ----------
    sheets : Sheets
        [SI]
    room : float or array
        Temperature of the shop [K].

    Returns
    -------
    around : Surroundings
        [SI]
    """
    room = np.broadcast_to(np.asarray(room, float), sheets.gauge.shape)
    walls = Heaters(room, 1.0, 1.0)  # large walls around a small sheet look black
    return Surroundings(walls, walls, room, OPEN_AIR_FILM)


def slabs_between(sheets: Sheets, start: Array, around: Surroundings, nodes: int = NODES) -> Slabs:
    """The slabs that march: radiation onto the faces, or into the depth of a sheet that is not opaque.

    A layer at depth ``x`` from a face exchanges ``F Fv sigma (Th^4 - T^4) a exp(-a x)`` with the bank on that side:
    what it takes up and what it sends out fall off alike. So a sheet as hot as its heaters gains nothing anywhere;
    what its layers send to one another is left out.

    Parameters
    ----------
    sheets : Sheets
        [SI]
    start : array
        One temperature for each sheet, or a profile [K].
    around : Surroundings
        [SI]
    nodes : int
        Through the thickness [-].

    Returns
    -------
    slabs : Slabs
        [SI]
    """
    opaque = np.isinf(sheets.extinction)
    exchanges = [
        STEFAN_BOLTZMANN * bank.view_factor * grey_exchange(bank.emissivity, sheets.emissivity) * np.ones(opaque.size)
        for bank in (around.upper, around.lower)
    ]
    heat = [(bank.temperature * bank.temperature) ** 2 for bank in (around.upper, around.lower)]
    film = around.film * np.ones(opaque.size)
    faces = [
        Faces(np.where(opaque, exchange * fourth, 0.0) + film * around.air_temperature, exchange * opaque, film)
        for exchange, fourth in zip(exchanges, heat, strict=True)
    ]
    depth = None, None
    if not opaque.all():
        above, below = (exchange * share for exchange, share in zip(exchanges, _by_layer(sheets, nodes), strict=True))
        depth = above * heat[0] + below * heat[1], above + below
    return Slabs(sheets.gauge, sheets.density, sheets.conductivity, sheets.heat, start, *faces, *depth)


def _by_layer(sheets: Sheets, nodes: int) -> tuple[Array, Array]:
    """Share of the radiation from above, and from below, that stays around each node [-]; none in an opaque sheet."""
    bounds = np.concatenate(([0.0], (np.arange(nodes - 1) + 0.5) / (nodes - 1), [1.0]))
    depth = np.where(np.isinf(sheets.extinction), 0.0, sheets.extinction) * sheets.gauge
    from_above, from_below = np.exp(-bounds[:, None] * depth), np.exp((bounds[:, None] - 1.0) * depth)
    return -np.diff(from_above, axis=0), np.diff(from_below, axis=0)


def _pace(sheets: Sheets, limit: Array, longest_step: Number, nodes: int, steps: int) -> Pace:
    rise = enthalpy(sheets.heat, sheets.normal_forming) - enthalpy(sheets.heat, np.full_like(sheets.gauge, 293.15))
    return Pace(
        energy=sheets.density * sheets.gauge * rise,
        longest_step=np.broadcast_to(np.asarray(longest_step, float), sheets.gauge.shape),
        limit=limit,
        nodes=nodes,
        steps=_steps(sheets, steps),
    )


def _steps(sheets: Sheets, steps: int) -> Array:
    return np.where(sheets.heat.latent_heat > 0.0, steps * MELTING_STEPS / STEPS, float(steps))
