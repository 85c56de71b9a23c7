"""What the mill's gauge tolerance does to the chosen route: walls, mass and time at both of its ends."""

from dataclasses import replace

import numpy as np

from machines.oven import oven_load
from materials.cooling import LONGEST_COOLING, CoolingCase, cooling_times
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.heat_plan import GOOD_TO, cooling_case, oven_case
from quoting.routing.heat_study import heated_as_planned
from quoting.routing.study import GaugeEffect

SHEETS = ("low end of the gauge", "gauge as ordered", "high end of the gauge")


def gauge_effects(planned: PlannedCandidate) -> tuple[GaugeEffect, ...]:
    """The sheet at the low end of its gauge tolerance, as ordered, and at the high end, heaters set as planned.

    Walls and mass go with the gauge; the thin sheet decides the wall, the thick one the time of heating and cooling.
    Sag is not told: the gauge cancels out of it.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].

    Returns
    -------
    effects : tuple of GaugeEffect
        Thin, as ordered, thick; none where the offer has no tolerance [SI].
    """
    candidate, plan = planned.candidate, planned.plan
    ends = _ends(planned)
    if not ends:
        return ()
    gauges = tuple(candidate.gauge * factor for _, factor in ends)
    load = oven_load(tuple(oven_case(replace(candidate, gauge=gauge)) for gauge in gauges))
    as_set = np.ones(len(ends))
    heating = plan.heating
    peak, marched = heated_as_planned(planned, load, heating.upper_heater * as_set, heating.lower_heater * as_set)
    scorch = candidate.polymer.upper_forming_temperature
    heated = marched.done & (np.maximum(peak, marched.hottest_ever.max(axis=0)) <= scorch + GOOD_TO)
    cooled = cooling_times(gauge_cases(planned))
    return tuple(
        GaugeEffect(
            sheet=name,
            gauge=gauges[place],
            thinnest_wall=plan.thinning.thinnest_wall * factor,
            blank_mass=plan.blank_mass * factor,
            heating_time=heating.preheat_time + float(marched.time[place]),
            cooling_time=float(cooled[place]),
            feasible=bool(heated[place]) and float(cooled[place]) < LONGEST_COOLING,
        )
        for place, (name, factor) in enumerate(ends)
    )


def gauge_cases(planned: PlannedCandidate) -> tuple[CoolingCase, ...]:
    """The walls of those sheets on the tool, for those who march further walls along with them.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].

    Returns
    -------
    cases : tuple of CoolingCase
        Thin, as ordered, thick; none where the offer has no tolerance [SI].
    """
    walls = (planned.plan.cooling.thickest_wall * factor for _, factor in _ends(planned))
    return tuple(cooling_case(planned.candidate, wall, planned.plan.heating.mean_at_contact) for wall in walls)


def _ends(planned: PlannedCandidate) -> tuple[tuple[str, float], ...]:
    """Names of the sheets, and their gauge as a share of what is ordered [-]."""
    tolerance = planned.candidate.gauge_tolerance
    return tuple(zip(SHEETS, (1 - tolerance, 1.0, 1 + tolerance), strict=True)) if tolerance else ()
