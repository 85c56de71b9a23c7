"""What sheets see: heaters, air, the walls of the shop; and what of it enters their faces or their depth."""

from dataclasses import dataclass, fields

import numpy as np

from materials.constants import STEFAN_BOLTZMANN
from materials.heat_content import Array, HeatContent, heat_content_of
from materials.polymer import Polymer
from materials.ranges import Number, OutsideRangeError, between, holds, not_negative, positive
from materials.slab import NODES, Faces, Slabs

OPEN_AIR_FILM = 10.0  # W/(m2 K), slow air over a sheet under way between stations: from memory, unverified


@dataclass(frozen=True)
class Heaters:
    """One bank as the sheet sees it; each field one value, or an array with one for each sheet."""

    temperature: Number  # K
    emissivity: Number  # -
    view_factor: Number  # -


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
        A gauge, or a property of a polymer, is out of its range.
    """
    gauge = np.array(gauges, float)
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
    positive(gauge=gauge, **{name: values for name, values in data.items() if name != "emissivity"})
    clear = np.array([p.extinction if p.extinction is not None else np.inf for p in polymers], float)
    if not holds(clear > 0):
        raise OutsideRangeError("extinction", clear, "above 0")
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
        Temperature of the face [K], above 0.
    air : float or array
        Temperature of the oven air [K], above 0.
    film : float or array
        Film coefficient of the air [W/(m2 K)], 0 or more.

    Returns
    -------
    flux : float or array
        [W/m2]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    >>> round(net_flux(Heaters(673.15, 0.90, 1.0), 0.92, 293.15, 353.15, 0.0), 1)
    9368.5
    """
    positive(surface=surface)
    _check_exposure(heaters, air, film)
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

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Examples
    --------
    >>> round(float(absorbed_share(1000.0, 0.003)), 4), float(absorbed_share(float("inf"), 0.003))
    (0.9502, 1.0)
    """
    positive(gauge=gauge)
    if not holds(extinction > 0):
        raise OutsideRangeError("extinction", extinction, "above 0, infinite for an opaque sheet")
    return -np.expm1(-extinction * gauge)


def _check_exposure(heaters: Heaters, air: Number, film: Number) -> None:
    """Refuse a bank or an air that no oven has; grey exchange looks after the emissivity itself."""
    positive(heater_temperature=heaters.temperature, air=air)
    between(0.0, 1.0, view_factor=heaters.view_factor)
    not_negative(film=film)


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

    Raises
    ------
    OutsideRangeError
        A start, a heater, the air or its film is out of range.
    """
    positive(start=start)
    for bank in (around.upper, around.lower):
        _check_exposure(bank, around.air_temperature, around.film)
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
    """Share of the radiation from above, and from below, that each node takes up [-]; none in an opaque sheet.

    What stays between two nodes is split so that its middle lies where it was absorbed: a cruder split by halves would
    put all of the first half layer onto the face, and so overheat it.
    """
    opaque = np.isinf(sheets.extinction)
    depth = np.where(opaque, 0.0, sheets.extinction) * sheets.gauge
    reaching = np.exp(-np.linspace(0.0, 1.0, nodes)[:, None] * depth)
    # mean of what passes through each layer
    passing = -np.diff(reaching, axis=0) * ((nodes - 1) / np.where(opaque, 1.0, depth))
    from_above = np.zeros_like(reaching)
    from_above[:-1] = reaching[:-1] - passing
    from_above[1:] += passing - reaching[1:]
    from_above *= ~opaque
    return from_above, from_above[::-1]
