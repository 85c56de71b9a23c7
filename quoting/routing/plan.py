"""The forming plan of every candidate: heat, stretch, cool, press, turn, trim.

What the layout does not change is computed once for a group; heating and cooling of all groups are marched together.
"""

from dataclasses import dataclass, replace
from datetime import date
from math import inf

from machines.cycle import Job, Turn, dwell_available, turn
from machines.envelope import room_on_table, routers
from machines.machine import Machine, Plant
from machines.oven import (
    OvenCase,
    OvenSetting,
    choose_setting,
    oven_settings,
    rule_of_thumb_heating_time,
    thickest_gauge_reached,
)
from machines.press import force, forming_pressure
from materials.cooling import LONGEST_COOLING, CoolingCase, cooling_times, resting_temperature
from materials.ranges import OutsideRangeError
from materials.sag import sag
from materials.sheet import STOCKED_GAUGES, blank_mass
from materials.thinning import mean_wall, thickest_wall, thinnest_wall
from quoting.catalog import Catalog
from quoting.intake.part import Part, PartRequest
from quoting.routing.candidate import (
    Candidate,
    Cooling,
    Cycle,
    FormingPlan,
    Heating,
    Layout,
    PlannedCandidate,
    Press,
    StationTime,
    Thinning,
    Trim,
)
from quoting.routing.gauge import areal_draw_of
from quoting.routing.nesting import clamp_width, formed_depth
from quoting.routing.recalled import Recalled

HOLLOW_FILM = 10.0  # W/(m2 K), still air inside a twin-sheet hollow: from memory, unverified
THINNING_METHOD = "mean wall by mass balance; thinnest wall a fixed share of it, common practice"
FUZZ = 1e-9  # m

Group = tuple[Candidate, ...]


@dataclass(frozen=True)
class _GroupPlan:
    """What all layouts of a group share. ``setting.energy_per_area`` waits for the blank."""

    thinning: Thinning
    setting: OvenSetting
    thickest_gauge: float | None
    cooling: Cooling
    turn: Turn
    trim: Trim


def planned(
    request: PartRequest, groups: tuple[Group, ...], catalog: Catalog, on: date
) -> tuple[tuple[PlannedCandidate, ...], ...]:
    """Forming plans for groups of candidates that differ within a group only in their layout.

    Parameters
    ----------
    request : PartRequest
        [-]
    groups : tuple of tuple of Candidate
        As they come from ``candidates`` [-].
    catalog : Catalog
        For the trimmers of sister plants [-].
    on : date
        Day of the answer, on which certificates must be valid [-].

    Returns
    -------
    groups : tuple of tuple of PlannedCandidate
        In the same order [-].
    """
    plans, recalled = _group_plans(request.part, tuple(group[0] for group in groups), catalog.plants), Recalled()
    return tuple(
        tuple(PlannedCandidate(request, one, _forming_plan(request.part, one, plan, recalled), on) for one in group)
        for group, plan in zip(groups, plans, strict=True)
    )


def cooling_case(candidate: Candidate, wall: float, start: float) -> CoolingCase:
    """A wall of the formed part on its tool; inside a twin-sheet hollow the air stands still.

    Parameters
    ----------
    candidate : Candidate
        [-]
    wall : float
        [m], above 0.
    start : float
        Temperature when it meets the tool [K].

    Returns
    -------
    case : CoolingCase
        [SI]
    """
    machine = candidate.machine
    film = HOLLOW_FILM if candidate.process == "twin_sheet" else machine.cooling_film_coefficient
    return CoolingCase(
        candidate.polymer, wall, start, machine.tool_film_coefficient, film, machine.cooling_air_temperature
    )


def _group_plans(part: Part, firsts: Group, plants: tuple[Plant, ...]) -> tuple[_GroupPlan, ...]:
    settings = oven_settings(tuple(_oven_case(one) for one in firsts))
    walls = tuple(_thickest_wall(part, one) for one in firsts)
    chosen = _chosen(firsts, settings, walls)
    thickest = _thickest_gauges(firsts, chosen)
    times = _cooling_times(firsts, walls, chosen)
    thinnings = {gauge: thinning_of(part, gauge) for gauge in {one.gauge for one in firsts}}
    trims = {plant.code: trim_of(part, plant, plants) for plant in plants}
    return tuple(
        _GroupPlan(
            thinnings[one.gauge],
            setting,
            gauge,
            Cooling(time, one.polymer.demould_temperature, wall),
            turn(one.machine, Job(setting.time, time, one.process)),
            trims[one.plant.code],
        )
        for one, setting, gauge, time, wall in zip(firsts, chosen, thickest, times, walls, strict=True)
    )


def _oven_case(candidate: Candidate) -> OvenCase:
    return OvenCase(candidate.polymer, candidate.gauge, candidate.machine.oven, candidate.plant.shop_temperature)


def _chosen(
    firsts: Group, settings: tuple[tuple[OvenSetting, ...], ...], walls: tuple[float, ...]
) -> tuple[OvenSetting, ...]:
    """The setting each machine runs. The dwell that others leave is that after the gentlest, coolest heating."""
    gentlest = tuple(choose_setting(some, inf) for some in settings)
    times = _cooling_times(firsts, walls, gentlest)
    return tuple(
        choose_setting(some, dwell_available(one.machine, time, one.process))
        for one, some, time in zip(firsts, settings, times, strict=True)
    )


def _cooling_times(firsts: Group, walls: tuple[float, ...], settings: tuple[OvenSetting, ...]) -> tuple[float, ...]:
    """Times on the tool [s]; ``LONGEST_COOLING`` where a part never gets cool enough, which the rules refuse."""
    cases = tuple(
        cooling_case(one, wall, setting.mean_at_exit)
        for one, wall, setting in zip(firsts, walls, settings, strict=True)
    )
    coolable = tuple(case for case in cases if resting_temperature(case) < case.demould or case.start <= case.demould)
    try:
        times = dict(zip(coolable, cooling_times(coolable), strict=True))
    except OutsideRangeError:
        times = {case: _cooling_time_or_longest(case) for case in dict.fromkeys(coolable)}
    return tuple(times.get(case, LONGEST_COOLING) for case in cases)


def _cooling_time_or_longest(case: CoolingCase) -> float:
    try:
        return cooling_times((case,))[0]
    except OutsideRangeError:
        return LONGEST_COOLING


def _thickest_gauges(firsts: Group, settings: tuple[OvenSetting, ...]) -> tuple[float | None, ...]:
    """For those that miss their window, the thickest stocked gauge that would not; all solved in one march first."""
    missing = tuple(one for one, setting in zip(firsts, settings, strict=True) if not setting.feasible)
    oven_settings(tuple(replace(_oven_case(one), gauge=gauge) for one in missing for gauge in STOCKED_GAUGES))
    return tuple(
        None if setting.feasible else thickest_gauge_reached(one.polymer, one.machine.oven, one.plant.shop_temperature)
        for one, setting in zip(firsts, settings, strict=True)
    )


def thinning_of(part: Part, gauge: float) -> Thinning:
    """What forming leaves of the gauge.

    Parameters
    ----------
    part : Part
        [-]
    gauge : float
        Of one sheet [m], above 0.

    Returns
    -------
    thinning : Thinning
        [-] and [m]
    """
    ratio = areal_draw_of(part)
    return Thinning(ratio, mean_wall(gauge, ratio), thinnest_wall(gauge, ratio), THINNING_METHOD)


def _thickest_wall(part: Part, candidate: Candidate) -> float:
    depth = formed_depth(part.depth, candidate.process == "twin_sheet")
    mean = mean_wall(candidate.gauge, areal_draw_of(part))
    return thickest_wall(candidate.gauge, mean, depth, min(part.length, part.width) / 2)


def trim_of(part: Part, home: Plant, plants: tuple[Plant, ...]) -> Trim:
    """Who trims the part: a router at home, else a sister plant's (cheapest first), else a hand bench at home.

    Parameters
    ----------
    part : Part
        [-]
    home : Plant
        Where it is formed [-].
    plants : tuple of Plant
        All of them, in any order [-].

    Returns
    -------
    trim : Trim
        Its ``trimmer`` is None where nobody can [-].
    """
    able = tuple(
        (router.hour_rate, plant.code, router.code, router)
        for plant in plants
        for router in routers(plant.trimmers)
        if room_on_table(part.length, part.width, part.depth, router).spare >= -FUZZ
    )
    own = sorted((one for one in able if one[1] == home.code), key=lambda one: one[:3])
    sister = sorted((one for one in able if one[1] != home.code), key=lambda one: one[:3])
    if own:
        return Trim(own[0][3], home.code, moves=False)
    if sister:
        return Trim(sister[0][3], sister[0][1], moves=True)
    benches = sorted((one for one in home.trimmers if one.kind == "hand"), key=lambda one: (one.hour_rate, one.code))
    return Trim(benches[0] if benches else None, home.code, moves=False)


def _forming_plan(part: Part, candidate: Candidate, plan: _GroupPlan, recalled: Recalled) -> FormingPlan:
    layout, polymer, process = candidate.layout, candidate.polymer, candidate.process
    length, width = layout.blank_length, layout.blank_width
    sheets = 2 if candidate.process == "twin_sheet" else 1
    blank = blank_mass(length, width, candidate.gauge, polymer.density)
    net = sheets * blank_mass(part.length, part.width, candidate.gauge, polymer.density)
    return FormingPlan(
        thinning=plan.thinning,
        heating=_heating(candidate, plan),
        sag=sag(polymer.density, polymer.hot_modulus, length, width),
        cooling=plan.cooling,
        cycle=_cycle(candidate, plan.turn, sheets),
        press=recalled.of(press_of, part, process, candidate.machine, layout, candidate.gauge),
        trim=plan.trim,
        blank_mass=blank,
        part_mass=net,
        selvedge_fraction=1 - layout.cavities * net / (sheets * blank),
    )


def _heating(candidate: Candidate, plan: _GroupPlan) -> Heating:
    setting, layout, polymer = plan.setting, candidate.layout, candidate.polymer
    return Heating(
        time=setting.time,
        upper_heater=setting.upper_heater,
        lower_heater=setting.lower_heater,
        surface_peak=setting.surface_peak,
        core_at_exit=setting.core_at_exit,
        mean_at_exit=setting.mean_at_exit,
        energy=setting.energy_per_area * layout.blank_length * layout.blank_width,
        reaches_window=setting.feasible,
        limited_by=setting.limited_by,
        thickest_gauge=plan.thickest_gauge,
        rule_of_thumb_time=rule_of_thumb_heating_time(polymer.name, candidate.gauge, polymer.semicrystalline),
    )


def _cycle(candidate: Candidate, times: Turn, sheets: int) -> Cycle:
    parts_per_hour = 3600 / (sheets * times.index) * candidate.layout.cavities * candidate.machine.efficiency
    stations = tuple(StationTime(dwell.name, dwell.time) for dwell in times.stations)
    return Cycle(stations, times.index, times.governing_station, sheets, parts_per_hour)


def press_of(part: Part, process: str, machine: Machine, layout: Layout, gauge: float) -> Press:
    """What presses on the parts of one blank, and the area inside the seal of a pressure box.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    machine : Machine
        [-]
    layout : Layout
        [-]
    gauge : float
        Of one sheet [m], above 0.

    Returns
    -------
    press : Press
        [SI]
    """
    clamp = clamp_width(gauge, process == "twin_sheet", max(part.length, part.width))
    pressure = forming_pressure(process, machine.vacuum_pressure, part.texture_depth > 0)
    area = layout.cavities * part.length * part.width
    box = (layout.blank_length - 2 * clamp) * (layout.blank_width - 2 * clamp)
    return Press(area, box, pressure, force(pressure, area), machine.lock_force)
