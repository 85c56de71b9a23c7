"""The chosen recipe followed from cold sheet to demoulded part, and what other heat or another tool would do."""

from dataclasses import replace

import numpy as np

from machines.cycle import Job, heating_stations, turn
from machines.heater_settings import OvenLoad
from machines.machine import Machine
from machines.oven import oven_load
from materials.cooling import LONGEST_COOLING, CoolingCase, cooled, cooling_times
from materials.exposure import Surroundings
from materials.heat_content import enthalpy, heat_content_of
from materials.heating import carried, heated_for
from materials.slab import Marched, mean_temperature, places
from materials.tool_contact import EPOXY, LOSS_FILM, shortest_cycle, tool_film
from quoting.routing.candidate import Heating, PlannedCandidate
from quoting.routing.heat_plan import cooling_case, oven_case
from quoting.routing.study import Depth, HeatingStudy, Moment, Phase, ToolEffect

SHORTEST = 0.5  # s; a phase below it is left out
SETTLING_LEVELS = 40  # between which the settled temperature of a tool is sought
LEAST_COOLER = 1.0  # K by which a drifting tool must stay below the demould temperature
WARMER_TOOL = 10.0  # K by which the tool is compared

Array = np.ndarray


def heating_study(planned: PlannedCandidate) -> HeatingStudy:
    """March the chosen sheet once more through its phases, keeping every step.

    Parameters
    ----------
    planned : PlannedCandidate
        One that reaches its window [-].

    Returns
    -------
    study : HeatingStudy
        [SI]
    """
    candidate, heating = planned.candidate, planned.plan.heating
    load = oven_load((oven_case(candidate),))
    profile: Array = load.start
    phases, curve, time, at_exit = [], [_moment(0.0, np.full((2, 1), load.start[0]))], 0.0, None
    for name, around, length in _way(load, heating, candidate.machine):
        if name == "transfer":
            at_exit = profile
        time_there = np.array([length])
        if around is None:
            room = candidate.plant.shop_temperature
            marched = carried(load.sheets, profile, room, time_there, curves=True)
        else:
            marched = heated_for(load.sheets, profile, around, time_there, curves=True)
        phases.append(Phase(name, time, time + length))
        curve += _moments(marched, time)
        profile, time = marched.profile, time + length
    polymer = candidate.polymer
    return HeatingStudy(
        phases=tuple(phases),
        curve=tuple(curve),
        exit_profile=_depths(at_exit, candidate.gauge),
        contact_profile=_depths(profile, candidate.gauge),
        lower_forming_temperature=polymer.lower_forming_temperature,
        normal_forming_temperature=polymer.normal_forming_temperature,
        upper_forming_temperature=polymer.upper_forming_temperature,
    )


def _way(load: OvenLoad, heating: Heating, machine: Machine) -> list[tuple[str, Surroundings | None, float]]:
    """Phases of a sheet's way: name, the heaters that it sees (None in open air), how long [s]."""
    one = np.ones(1)
    before = heating_stations(machine) - 1
    way = []
    for _ in range(before):
        around = load.around(heating.preheat_upper * one, heating.preheat_lower * one)
        way += [("preheat", around, heating.preheat_time / before), ("index", None, machine.index_time)]
    oven = load.around(heating.upper_heater * one, heating.lower_heater * one)
    way += [("oven", oven, heating.oven_time), ("transfer", None, heating.transfer_time)]
    return [phase for phase in way if phase[2] > SHORTEST or phase[0] == "transfer"]


def _moments(marched: Marched, since: float) -> list[Moment]:
    times, profiles = marched.curve_times[1:, 0], marched.curve[1:, :, 0]
    new = np.flatnonzero(np.diff(times, prepend=0.0) > 0.0)  # a step that was taken back stands still
    return [_moment(since + float(times[place]), profiles[place][:, None]) for place in new]


def _moment(time: float, profile: Array) -> Moment:
    middle = profile.shape[0] // 2
    return Moment(
        time=time,
        upper_skin=float(profile[0, 0]),
        middle=float(profile[middle, 0]),
        lower_skin=float(profile[-1, 0]),
        mean=float(mean_temperature(profile)[0]),
        coldest=float(profile.min()),
        hottest=float(profile.max()),
    )


def _depths(profile: Array, gauge: float) -> tuple[Depth, ...]:
    at = places(profile.shape[0]) * gauge
    return tuple(Depth(*pair) for pair in zip(at.tolist(), profile[:, 0].tolist(), strict=True))


def cooling_curve(planned: PlannedCandidate) -> tuple[Moment, ...]:
    """The governing wall on its tool, step by step; lower skin is the tool side.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]

    Returns
    -------
    curve : tuple of Moment
        [SI]
    """
    case = _as_planned(planned)
    marched = cooled((case,), curves=True)
    upside_down = replace(marched, curve=marched.curve[:, ::-1])  # the march has the tool at its first face
    return (_moment(0.0, np.full((2, 1), case.start)), *_moments(upside_down, 0.0))


def tool_effects(planned: PlannedCandidate) -> tuple[ToolEffect, ...]:
    """Time on the tool for a cooler and a warmer tool, and for tools without temperature control.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]

    Returns
    -------
    effects : tuple of ToolEffect
        [SI]
    """
    case = _as_planned(planned)
    tools, times = _tools(case), cooling_times(tool_cases(planned))  # all marched together; those behind are remembered
    found = [
        ToolEffect(name, on.tool, on.tool_film, time if time < LONGEST_COOLING else None, place == 0)
        for place, ((name, on), time) in enumerate(zip(tools, times, strict=False))
    ]
    return (*found, _uncontrolled(planned, case))


def tool_cases(planned: PlannedCandidate) -> tuple[CoolingCase, ...]:
    """Every wall on a tool that `tool_effects` asks for, for those who march further walls along with them.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]

    Returns
    -------
    cases : tuple of CoolingCase
        [SI]
    """
    case = _as_planned(planned)
    return (*(on for _, on in _tools(case)), *_drifting(case, _levels(case)))


def _tools(case: CoolingCase) -> list[tuple[str, CoolingCase]]:
    controlled = [replace(case, tool_temperature=case.tool + change) for change in (0.0, -WARMER_TOOL, WARMER_TOOL)]
    epoxy = replace(case, tool_film=float(tool_film(EPOXY, case.tool_film)), tool_temperature=case.tool)
    named = [("temperature-controlled aluminium", on) for on in controlled]
    return [*named, ("epoxy, cooled behind its shell", epoxy)]


def _levels(case: CoolingCase) -> Array:
    """Temperatures [K] at which a tool may settle."""
    return np.linspace(case.air_temperature + 1.0, case.demould - LEAST_COOLER, SETTLING_LEVELS)


def _drifting(case: CoolingCase, levels: Array) -> tuple[CoolingCase, ...]:
    return tuple(replace(case, tool_temperature=level) for level in levels.tolist())


def _uncontrolled(planned: PlannedCandidate, case: CoolingCase) -> ToolEffect:
    """Aluminium that drifts: a warmer tool needs a longer cycle, in which more heat leaves it, until both agree.

    Where they agree at no temperature below that of demoulding, the part waits until the tool has shed its heat.
    """
    cooling, heat = planned.plan.cooling.time, _heat_to_tool(case)
    levels = _levels(case)
    times = np.array(cooling_times(_drifting(case, levels)))
    # More time on the tool lengthens the cycle once the form station is the slowest; until then it costs nothing.
    rest = _period(planned, LONGEST_COOLING) - LONGEST_COOLING
    period = shortest_cycle(heat, levels, LOSS_FILM, case.air_temperature)
    shed = np.where(period <= _period(planned, cooling), cooling, period - rest)
    needed = np.maximum(np.maximum(times, cooling), shed)
    best = int(needed.argmin())
    name = "aluminium without temperature control"
    time = float(needed[best])
    return ToolEffect(name, float(levels[best]), case.tool_film, time if time < LONGEST_COOLING else None, False)


def _period(planned: PlannedCandidate, cooling: float) -> float:
    """Time [s] from one part to the next on one tool that is cooled so long."""
    candidate, heating = planned.candidate, planned.plan.heating
    job = Job(heating.time, cooling, candidate.process, heating.oven_time)
    return turn(candidate.machine, job).index * planned.plan.cycle.blanks_per_part


def _heat_to_tool(case: CoolingCase) -> float:
    """Heat [J/m2] of the wall from contact to demoulding, as if the tool took all of it: an upper bound."""
    heat = heat_content_of((case.polymer,))
    hot, cool = (enthalpy(heat, np.array([level]))[0] for level in (case.start, case.demould))
    return float(case.polymer.density * case.wall * (hot - cool))


def _as_planned(planned: PlannedCandidate) -> CoolingCase:
    return cooling_case(planned.candidate, planned.plan.cooling.thickest_wall, planned.plan.heating.mean_at_contact)
