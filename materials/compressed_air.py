"""What the air shut in a pressure box could do if the box opened."""

from dataclasses import dataclass
from math import log

from materials.constants import STANDARD_ATMOSPHERE
from materials.ranges import not_negative

HEAT_CAPACITY_RATIO = 1.4  # -, of air; textbook value, from memory, unverified


@dataclass(frozen=True)
class StoredEnergy:
    """Two estimates of the same thing [J]; the larger one is the cautious one."""

    isothermal: float
    brode: float


def stored_air_energy(pressure_gauge: float, volume: float) -> StoredEnergy:
    """Energy stored in compressed air.

    Isothermal ``P1 V ln(P1/Pa)``; Brode ``(P1 - Pa) V/(gamma - 1)``; ``P1`` is absolute, ``Pa`` the atmosphere.

    CAUTION: a pressure box is pressure-containing equipment. Whether it counts as a pressure vessel where it stands,
    and how it is relieved, locked and guarded, is for its maker and a competent person. This figure says how much
    harm is at stake; it does not say that a box is safe. Fillers in the box reduce the volume and so the energy.

    Parameters
    ----------
    pressure_gauge : float
        Above the atmosphere [Pa], 0 or more.
    volume : float
        Free volume of air in the box [m3], 0 or more.

    Returns
    -------
    energy : StoredEnergy
        [J]

    Raises
    ------
    OutsideRangeError
        An argument is below 0.

    References
    ----------
    Isothermal: eng-tips thread 26767. Brode: derived here as the rise in internal energy at constant volume.

    Examples
    --------
    100 psi in 0.54 m3, in kJ:

    >>> energy = stored_air_energy(689475.7, 0.54)
    >>> round(energy.isothermal / 1e3, 2), round(energy.brode / 1e3, 2)
    (877.43, 930.79)
    """
    not_negative(pressure_gauge=pressure_gauge, volume=volume)
    absolute = pressure_gauge + STANDARD_ATMOSPHERE
    return StoredEnergy(
        isothermal=absolute * volume * log(absolute / STANDARD_ATMOSPHERE),
        brode=pressure_gauge * volume / (HEAT_CAPACITY_RATIO - 1),
    )
