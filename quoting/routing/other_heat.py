"""Sheets like the planned one, thinner, thicker or under other heaters, until they are as ready as it is."""

from dataclasses import dataclass, replace

import numpy as np

from machines.cycle import heating_stations
from machines.oven import oven_load
from machines.recipe import BEFORE, FINE
from materials.heating import carried, heated_for, heated_to_window
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.heat_plan import GOOD_TO, oven_case
from quoting.routing.heat_study import SHORTEST

SAME = 0.02  # K, what the end of a march is good to

Array = np.ndarray


@dataclass(frozen=True)
class OtherHeat:
    """A sheet like the planned one, of this gauge [m] and under heaters of these temperatures in the oven [K]."""

    gauge: float
    upper: float
    lower: float


@dataclass(frozen=True)
class AsReady:
    """Such a sheet when its core and mean are as planned; ``feasible``: it gets there, and no skin is scorched."""

    time: float  # s, before the oven and in it
    profile: Array  # K, nodes from the upper face
    feasible: bool


def heated_as_planned(planned: PlannedCandidate, others: tuple[OtherHeat, ...]) -> tuple[AsReady, ...]:
    """Heat other sheets, or under other heaters, until core and mean are as planned; heaters change alike everywhere.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].
    others : tuple of OtherHeat
        One or more; all are marched at once [SI].

    Returns
    -------
    found : tuple of AsReady
        One for each [SI].
    """
    candidate, heating = planned.candidate, planned.plan.heating
    machine, room = candidate.machine, candidate.plant.shop_temperature
    many = oven_load(tuple(oven_case(replace(candidate, gauge=one.gauge)) for one in others))
    upper, lower = (np.array([getattr(one, side) for one in others]) for side in ("upper", "lower"))
    before = heating_stations(machine) - 1
    profile, peak = many.start, many.start
    for _ in range(before if heating.preheat_time > SHORTEST else 0):
        around = many.around(
            upper + heating.preheat_upper - heating.upper_heater, lower + heating.preheat_lower - heating.lower_heater
        )
        each = np.full(upper.size, heating.preheat_time / before)
        heated = heated_for(many.sheets, profile, around, each, nodes=FINE["nodes"], **BEFORE)
        peak = np.maximum(peak, heated.hottest_ever.max(axis=0))
        profile = carried(many.sheets, heated.profile, room, np.full(upper.size, machine.index_time)).profile
    target = replace(
        many.sheets,
        lower_forming=np.maximum(many.sheets.lower_forming, heating.core_at_exit - SAME),
        normal_forming=np.maximum(many.sheets.normal_forming, heating.mean_at_exit - SAME),
    )
    marched = heated_to_window(target, profile, many.around(upper, lower), **FINE)
    scorch = candidate.polymer.upper_forming_temperature + GOOD_TO
    feasible = marched.done & (np.maximum(peak, marched.hottest_ever.max(axis=0)) <= scorch)
    return tuple(
        AsReady(heating.preheat_time + float(marched.time[place]), marched.profile[:, place], bool(feasible[place]))
        for place in range(len(others))
    )
