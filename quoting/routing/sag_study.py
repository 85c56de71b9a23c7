"""What other heat does to the sag of the chosen sheet."""

import numpy as np

from machines.heater_settings import SETTING_LEVELS, OvenLoad
from machines.oven import oven_load
from materials.hot_strength import membrane_modulus
from quoting.routing.candidate import Heating, PlannedCandidate
from quoting.routing.heat_plan import oven_case
from quoting.routing.other_heat import AsReady, OtherHeat
from quoting.routing.study import SagEffect
from quoting.words import Words, words

COOLER_BELOW = 30.0  # K by which the lower heaters are compared, for a sheet that hangs


def sag_heats(planned: PlannedCandidate) -> tuple[OtherHeat, ...]:
    """What ``sag_effects`` compares: the heat as planned first.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].

    Returns
    -------
    heats : tuple of OtherHeat
        [SI]
    """
    heating, gauge = planned.plan.heating, planned.candidate.gauge
    return tuple(
        OtherHeat(gauge, heating.upper_heater + upper, heating.lower_heater + lower)
        for _, upper, lower in _changes(planned)
    )


def sag_effects(planned: PlannedCandidate, heated: tuple[AsReady, ...]) -> tuple[SagEffect, ...]:
    """How the sheet would hang with other heat, by its stiffness through the thickness as it leaves the oven.

    ``s = s_planned (E_planned/E)^(1/3)``, ``E`` the mean through the thickness

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].
    heated : tuple of AsReady
        What ``heated_as_planned`` makes of ``sag_heats`` [SI].

    Returns
    -------
    effects : tuple of SagEffect
        [SI]
    """
    moduli = membrane_modulus(planned.candidate.polymer, np.column_stack([one.profile for one in heated]))
    sags = planned.plan.sag * (moduli[0] / moduli) ** (1 / 3)
    return tuple(
        SagEffect(what, float(sag), one.time, one.feasible)
        for (what, _, _), sag, one in zip(_changes(planned), sags, heated, strict=True)
    )


def _changes(planned: PlannedCandidate) -> list[tuple[Words, float, float]]:
    """Other heat, said and as a change of the upper and the lower heaters [K]."""
    heating, load = planned.plan.heating, oven_load((oven_case(planned.candidate),))
    level = float((load.highest.max() - load.lowest.min()) / (SETTING_LEVELS - 1))
    changes = [
        (words("as planned"), 0.0, 0.0),
        (words("lower heaters {cooler} cooler", cooler=(COOLER_BELOW, "delta_K")), 0.0, -COOLER_BELOW),
        (words("all heaters {hotter} hotter, a shorter time", hotter=(level, "delta_K")), level, level),
        (words("all heaters {cooler} cooler, a longer time", cooler=(level, "delta_K")), -level, -level),
    ]
    return [one for one in changes if _within_range(load, heating, one[1:])]


def _within_range(load: OvenLoad, heating: Heating, changes: tuple[float, float]) -> bool:
    """Whether both banks can be set so; a change that a bank cannot make is not compared."""
    settings = np.array([heating.upper_heater, heating.lower_heater]) + changes
    return bool(((settings >= load.lowest[:, 0]) & (settings <= load.highest[:, 0])).all()) or changes == (0.0, 0.0)
