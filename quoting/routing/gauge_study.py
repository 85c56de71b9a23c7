"""What the mill's gauge tolerance does to the chosen route: walls, mass and time at both of its ends."""

from materials.cooling import LONGEST_COOLING, CoolingCase, cooling_times
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.heat_plan import cooling_case
from quoting.routing.other_heat import AsReady, OtherHeat
from quoting.routing.study import GaugeEffect

SHEETS = ("low end of the gauge", "gauge as ordered", "high end of the gauge")


def gauge_heats(planned: PlannedCandidate) -> tuple[OtherHeat, ...]:
    """Those sheets in the oven, heaters set as planned.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].

    Returns
    -------
    heats : tuple of OtherHeat
        Thin, as ordered, thick; none where the offer has no tolerance [SI].
    """
    gauge, heating = planned.candidate.gauge, planned.plan.heating
    return tuple(OtherHeat(gauge * factor, heating.upper_heater, heating.lower_heater) for _, factor in _ends(planned))


def gauge_effects(planned: PlannedCandidate, heated: tuple[AsReady, ...]) -> tuple[GaugeEffect, ...]:
    """The sheet at the low end of its gauge tolerance, as ordered, and at the high end, heaters set as planned.

    Walls and mass go with the gauge; the thin sheet decides the wall, the thick one the time of heating and cooling.
    Sag is not told: the gauge cancels out of it.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].
    heated : tuple of AsReady
        What ``heated_as_planned`` makes of ``gauge_heats`` [SI].

    Returns
    -------
    effects : tuple of GaugeEffect
        Thin, as ordered, thick; none where the offer has no tolerance [SI].
    """
    plan, cooled = planned.plan, cooling_times(gauge_cases(planned))
    return tuple(
        GaugeEffect(
            sheet=name,
            gauge=planned.candidate.gauge * factor,
            thinnest_wall=plan.thinning.thinnest_wall * factor,
            blank_mass=plan.blank_mass * factor,
            heating_time=one.time,
            cooling_time=cooling,
            feasible=one.feasible and cooling < LONGEST_COOLING,
        )
        for (name, factor), one, cooling in zip(_ends(planned), heated, cooled, strict=True)
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
