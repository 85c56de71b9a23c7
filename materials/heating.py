"""How long sheets need between two heater banks, and how hot their skin gets."""

from dataclasses import dataclass

import numpy as np

from materials.constants import STEFAN_BOLTZMANN
from materials.heat_content import Array, enthalpy, heat_content_of
from materials.polymer import Polymer
from materials.ranges import OutsideRangeError
from materials.slab import NODES, STEPS, Faces, Marched, Pace, Slabs, march, mean_temperature

LONGEST_HEATING = 1800.0  # s; longer in one oven is no production, common practice, no source
LONGEST_STEP = LONGEST_HEATING / 60  # s


@dataclass(frozen=True)
class Heaters:
    """One bank as the sheet sees it."""

    temperature: float  # K
    emissivity: float  # -
    view_factor: float  # -


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


def grey_exchange(heater_emissivity: float, sheet_emissivity: float) -> float:
    """Share of black-body exchange between two grey parallel planes.

    ``F = 1/(1/e_h + 1/e_s - 1)``

    Parameters
    ----------
    heater_emissivity, sheet_emissivity : float
        Emissivity [-], above 0 up to 1.

    Returns
    -------
    exchange : float
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
        if not 0 < value <= 1:
            raise OutsideRangeError(name, value, "above 0 and at most 1")
    return 1 / (1 / heater_emissivity + 1 / sheet_emissivity - 1)


def net_flux(heaters: Heaters, sheet_emissivity: float, surface: float, air: float, film: float) -> float:
    """Heat flux into one face of a sheet.

    ``q = F Fv sigma (Th^4 - Ts^4) + h (Tair - Ts)``

    Parameters
    ----------
    heaters : Heaters
        The bank that this face sees [K, -].
    sheet_emissivity : float
        [-], above 0 up to 1.
    surface : float
        Temperature of the face [K].
    air : float
        Temperature of the oven air [K].
    film : float
        Film coefficient of the air [W/(m2 K)], 0 or more.

    Returns
    -------
    flux : float
        [W/m2]

    Examples
    --------
    >>> round(net_flux(Heaters(673.15, 0.90, 1.0), 0.92, 293.15, 353.15, 0.0), 1)
    9368.5
    """
    exchange = grey_exchange(heaters.emissivity, sheet_emissivity) * heaters.view_factor
    return exchange * STEFAN_BOLTZMANN * (heaters.temperature**4 - surface**4) + film * (air - surface)


def heated(sheets: tuple[HeatedSheet, ...], nodes: int = NODES, steps: int = STEPS) -> Marched:
    """Heat every sheet until its coldest point may be formed and its mean is at the normal forming temperature.

    Parameters
    ----------
    sheets : tuple of HeatedSheet
        Any number, of any polymers and gauges [SI].
    nodes : int
        Through the thickness [-], 3 or more.
    steps : int
        In time, about [-].

    Returns
    -------
    marched : Marched
        State at that moment, or after `LONGEST_HEATING` where it never came [SI].

    Raises
    ------
    OutsideRangeError
        A gauge is not above 0, or a sheet starts above its normal forming temperature.
    """
    for sheet in sheets:
        _check(sheet)
    polymers = tuple(sheet.polymer for sheet in sheets)
    slabs = _slabs(sheets, polymers)
    lower = np.array([p.lower_forming_temperature for p in polymers])
    normal = np.array([p.normal_forming_temperature for p in polymers])
    rise = enthalpy(slabs.heat, normal) - enthalpy(slabs.heat, slabs.start)
    pace = Pace(
        energy=slabs.density * slabs.thickness * rise,
        longest_step=np.full(len(sheets), LONGEST_STEP),
        limit=np.full(len(sheets), LONGEST_HEATING),
        nodes=nodes,
        steps=steps,
    )
    return march(
        slabs,
        lambda now, which: np.stack((lower[which] - now.min(axis=0), normal[which] - mean_temperature(now))),
        pace,
    )


def _check(sheet: HeatedSheet) -> None:
    if not sheet.gauge > 0:
        raise OutsideRangeError("gauge", sheet.gauge, "above 0")
    normal = sheet.polymer.normal_forming_temperature
    if not 0 < sheet.start < normal:
        raise OutsideRangeError("start", sheet.start, f"above 0 K and below the forming temperature {normal} K")


def _slabs(sheets: tuple[HeatedSheet, ...], polymers: tuple[Polymer, ...]) -> Slabs:
    return Slabs(
        thickness=np.array([sheet.gauge for sheet in sheets]),
        density=np.array([p.density for p in polymers]),
        conductivity=np.array([p.conductivity for p in polymers]),
        heat=heat_content_of(polymers),
        start=np.array([sheet.start for sheet in sheets]),
        first=_faces(sheets, [sheet.upper for sheet in sheets]),
        second=_faces(sheets, [sheet.lower for sheet in sheets]),
    )


def _faces(sheets: tuple[HeatedSheet, ...], banks: list[Heaters]) -> Faces:
    film = np.array([sheet.air_film_coefficient for sheet in sheets])
    air = np.array([sheet.air_temperature for sheet in sheets])
    heater = np.array([bank.temperature for bank in banks])
    radiant = STEFAN_BOLTZMANN * np.array(
        [
            bank.view_factor * grey_exchange(bank.emissivity, sheet.polymer.emissivity)
            for bank, sheet in zip(banks, sheets, strict=True)
        ]
    )
    return Faces(supply=radiant * _fourth(heater) + film * air, radiant=radiant, film=film)


def _fourth(temperature: Array) -> Array:
    return (temperature * temperature) ** 2
