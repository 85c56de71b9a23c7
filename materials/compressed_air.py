"""What the air shut in a pressure box could do if the box opened."""

from dataclasses import dataclass

import numpy as np

from materials.arrays import as_given
from materials.constants import STANDARD_ATMOSPHERE
from materials.ranges import Number, not_negative

HEAT_CAPACITY_RATIO = 1.4  # -, of air; textbook value, from memory, unverified
# J; a university safety page treats more stored energy as highly hazardous (ehs.berkeley.edu, stored energy).
HIGHLY_HAZARDOUS = 100e3


@dataclass(frozen=True)
class StoredEnergy:
    """Four estimates of the same thing [J]."""

    isothermal: Number
    brode: Number
    isentropic: Number  # work of a sudden expansion without heat from outside
    available: Number  # isothermal, less what it takes to push the atmosphere away

    @property
    def most(self) -> Number:
        """The cautious one: Brode's up to some 8 atmospheres above the first, the isothermal one beyond [J]."""
        return as_given(np.maximum(self.brode, self.isothermal))


def stored_air_energy(pressure_gauge: Number, volume: Number) -> StoredEnergy:
    """Energy stored in compressed air.

    Isothermal ``P1 V ln(P1/Pa)``; Brode ``(P1 - Pa) V/(gamma - 1)``; isentropic
    ``P1 V/(gamma - 1) (1 - (Pa/P1)^((gamma - 1)/gamma))``; available ``P1 V ln(P1/Pa) - (P1 - Pa) V``.
    ``P1`` is absolute, ``Pa`` the atmosphere.

    CAUTION: a pressure box is pressure-containing equipment. Whether it counts as a pressure vessel where it stands,
    and how it is relieved, locked and guarded, is for its maker and a competent person. This figure says how much
    harm is at stake; it does not say that a box is safe. Fillers in the box reduce the volume and so the energy.

    Parameters
    ----------
    pressure_gauge : float or array
        Above the atmosphere [Pa], 0 or more.
    volume : float or array
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
    Isentropic: the magnitude on a page of industrialmonitordirect.com on pneumatic chambers; available: derived here.

    Examples
    --------
    100 psi in 0.54 m3, in kJ:

    >>> energy = stored_air_energy(689475.7, 0.54)
    >>> round(energy.isothermal / 1e3, 2), round(energy.brode / 1e3, 2)
    (877.43, 930.79)
    """
    not_negative(pressure_gauge=pressure_gauge, volume=volume)
    absolute = pressure_gauge + STANDARD_ATMOSPHERE
    isothermal = absolute * volume * np.log(absolute / STANDARD_ATMOSPHERE)
    share_left = (STANDARD_ATMOSPHERE / absolute) ** ((HEAT_CAPACITY_RATIO - 1) / HEAT_CAPACITY_RATIO)
    return StoredEnergy(
        isothermal=as_given(isothermal),
        brode=pressure_gauge * volume / (HEAT_CAPACITY_RATIO - 1),
        isentropic=absolute * volume / (HEAT_CAPACITY_RATIO - 1) * (1 - share_left),
        available=as_given(isothermal - pressure_gauge * volume),
    )
