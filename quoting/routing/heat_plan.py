"""The thermal side of a forming plan: oven recipe, way to the tool, time on the tool, for many candidates at once."""

from dataclasses import replace
from math import inf

import numpy as np

from machines.cycle import dwell_available, heating_stations
from machines.heater_settings import SettingTable, setting_table
from machines.oven import (
    OvenCase,
    OvenSetting,
    choose,
    chosen_setting,
    oven_load,
    rule_of_thumb_heating_time,
    thickest_gauges_reached,
)
from machines.recipe import GOOD_TO, Recipes, Way, recipes_of
from materials.cooling import LONGEST_COOLING, CoolingCase, cooling_times
from materials.exposure import Sheets, net_flux, open_air
from materials.sheet import STOCKED_GAUGES
from quoting.routing.candidate import Candidate, Heating
from quoting.routing.nesting import FUZZ

HOLLOW_FILM = 10.0  # W/(m2 K), still air inside a twin-sheet hollow: from memory, unverified
# Where the cooling is only what the heat may take up of the turn; against 81 nodes and 300 steps 0.8 % short on the
# median of 400 random walls, and at most 2.8 %.
ROUGH = {"nodes": 9, "steps": 9}
LOST_ON_THE_WAY = "transfer"  # what limits a sheet that reaches its window in the oven and not at the tool
NEAR = 3.0  # K below its limit at which a skin counts as about to scorch

Group = tuple[Candidate, ...]


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


def oven_case(candidate: Candidate) -> OvenCase:
    """The sheet of a candidate as it enters the heat, as warm as the shop.

    Parameters
    ----------
    candidate : Candidate
        [-]

    Returns
    -------
    case : OvenCase
        [SI]
    """
    return OvenCase(candidate.polymer, candidate.gauge, candidate.machine.oven, candidate.plant.shop_temperature)


def way_of(firsts: Group, dwells: tuple[float, ...]) -> Way:
    """How the sheets of some candidates travel through their machines.

    Parameters
    ----------
    firsts : tuple of Candidate
        [-]
    dwells : tuple of float
        For each, the time that other stations leave for heating, all heating stations together [s].

    Returns
    -------
    way : Way
        [SI]
    """
    machines = [one.machine for one in firsts]
    stations = np.array([heating_stations(machine) for machine in machines], float)
    index = np.array([machine.index_time for machine in machines])
    close = np.array([machine.close_time for machine in machines])
    room = np.array([one.plant.shop_temperature for one in firsts])
    return Way(stations, index, index + close, room, np.array(dwells) / stations)


def heatings(firsts: Group, walls: tuple[float, ...]) -> tuple[Heating, ...]:
    """Recipe of each candidate; what is physically alike is marched once.

    Parameters
    ----------
    firsts : tuple of Candidate
        [-]
    walls : tuple of float
        For each, the wall that governs its cooling [m].

    Returns
    -------
    heatings : tuple of Heating
        [SI]
    """
    found, missed, dwells, way = _marched(firsts, walls)
    thickest = _thickest_gauges(firsts, tuple(missed))
    done = tuple(
        _heating_by_recipe(one, found[case], dwells[case], float(way.to_contact[case]))
        if case in found
        else _heating_that_misses(one, missed[case], thickest[case], float(way.to_contact[case]))
        for case, one in enumerate(firsts)
    )
    lost = tuple(case for case, heating in enumerate(done) if heating.limited_by == LOST_ON_THE_WAY)
    if not lost:
        return done
    thicker = _gauges_that_arrive(firsts, walls, lost)
    return tuple(replace(heating, thicker_gauge=thicker.get(case)) for case, heating in enumerate(done))


def _marched(
    firsts: Group, walls: tuple[float, ...]
) -> tuple[dict[int, Recipes], dict[int, OvenSetting], tuple[float, ...], Way]:
    """Recipes by the place of those that reach their window in the oven, settings of those that miss it, dwells, ways.

    What is physically alike is marched once.
    """
    places: dict[tuple, int] = {}
    at = np.array(
        [places.setdefault((o.polymer.name, o.gauge, o.machine.code, o.plant.code), len(places)) for o in firsts], int
    )
    alike = np.unique(at, return_index=True)[1]
    load = oven_load(tuple(oven_case(firsts[place]) for place in alike))
    settings, load = setting_table(load).taken(at), load.taken(at)
    dwells = _dwells(firsts, walls, settings, load.sheets)
    way = way_of(firsts, dwells)
    place = choose(settings, np.array(dwells) - (way.stations - 1) * way.index)
    everyone = np.arange(len(firsts))
    upper, lower, time = (column[everyone, place] for column in (settings.upper, settings.lower, settings.time))
    able = np.flatnonzero(settings.feasible[everyone, place])
    recipes = recipes_of(load.taken(able), upper[able], lower[able], time[able], way.taken(able))
    found = dict(zip(able.tolist(), recipes.one_by_one(), strict=True))
    missed = {case: chosen_setting(settings, case, int(place[case])) for case in everyone.tolist() if case not in found}
    return found, missed, dwells, way


def _dwells(firsts: Group, walls: tuple[float, ...], settings: SettingTable, sheets: Sheets) -> tuple[float, ...]:
    """Heating time that costs nothing [s]: what the other stations need after the gentlest heating of all."""
    everyone = np.arange(len(firsts))
    mean = settings.mean[everyone, choose(settings, np.full(len(firsts), inf))]
    way = way_of(firsts, (0.0,) * len(firsts))
    around = open_air(sheets, way.room)
    lost = -2 * way.to_contact * net_flux(around.upper, sheets.emissivity, mean, way.room, around.film)
    starts = mean - lost / (sheets.density * sheets.gauge * sheets.heat.specific_heat_hot)
    starts = np.maximum(starts, way.room)  # a straight line would take a thin sheet on a long way below its room
    times = coolings(firsts, walls, tuple(starts.tolist()), rough=True)
    return tuple(dwell_available(one.machine, time, one.process) for one, time in zip(firsts, times, strict=True))


def coolings(
    firsts: Group, walls: tuple[float, ...], starts: tuple[float, ...], rough: bool = False
) -> tuple[float, ...]:
    """Times on the tool; ``LONGEST_COOLING`` where a part never gets cool enough, which the rules refuse.

    Parameters
    ----------
    firsts : tuple of Candidate
        [-]
    walls : tuple of float
        For each, the wall that governs [m].
    starts : tuple of float
        For each, its mean temperature when it meets the tool [K].
    rough : bool
        Within 3 % only, in half of the work [-].

    Returns
    -------
    times : tuple of float
        [s]
    """
    cases = tuple(cooling_case(one, wall, start) for one, wall, start in zip(firsts, walls, starts, strict=True))
    return tuple(min(time, LONGEST_COOLING) for time in cooling_times(cases, **(ROUGH if rough else {})))


def _thickest_gauges(firsts: Group, cases: tuple[int, ...]) -> dict[int, float | None]:
    """For those that miss their window, the thickest stocked gauge that would not."""
    distinct = {(firsts[c].polymer.name, firsts[c].machine.code, firsts[c].plant.code): c for c in cases}
    gauges = thickest_gauges_reached(tuple(oven_case(firsts[case]) for case in distinct.values()))
    known = dict(zip(distinct, gauges, strict=True))
    return {c: known[firsts[c].polymer.name, firsts[c].machine.code, firsts[c].plant.code] for c in cases}


def _gauges_that_arrive(firsts: Group, walls: tuple[float, ...], cases: tuple[int, ...]) -> dict[int, float | None]:
    """For those that reach their window and lose it on the way to the tool, the thinnest stocked gauge that would not.

    Of those thicker ones that the machine takes; None where none would. Mostly the next one does, so that it is marched
    first, for all cases at once; where it does not, the two after it, then four, and so on.
    """
    sheets = {case: _sheet_on_its_way(firsts[case]) for case in cases}
    asked = {sheet: case for case, sheet in sheets.items()}
    thicker = {sheet: _thicker_gauges(firsts[case]) for sheet, case in asked.items()}
    arrive: dict[tuple, float] = {}
    step = 1
    while asked := {sheet: case for sheet, case in asked.items() if thicker[sheet] and sheet not in arrive}:
        tried = [(sheet, case, gauge) for sheet, case in asked.items() for gauge in thicker[sheet][:step]]
        others = tuple(replace(firsts[case], gauge=gauge) for _, case, gauge in tried)
        grown = tuple(walls[case] * gauge / firsts[case].gauge for _, case, gauge in tried)
        found = _marched(others, grown)[0]
        for place, (sheet, _, gauge) in enumerate(tried):  # thinnest first
            if place in found and not _spoilt(others[place], found[place]):
                arrive.setdefault(sheet, gauge)
        thicker = {sheet: gauges[step:] for sheet, gauges in thicker.items()}
        step *= 2
    return {case: arrive.get(sheet) for case, sheet in sheets.items()}


def _sheet_on_its_way(candidate: Candidate) -> tuple:
    """What tells of two candidates of one part whether their sheets fare alike between oven and tool."""
    return candidate.polymer.name, candidate.gauge, candidate.machine.code, candidate.plant.code, candidate.process


def _thicker_gauges(candidate: Candidate) -> tuple[float, ...]:
    least = max(candidate.gauge + FUZZ, candidate.machine.thinnest_gauge - FUZZ)
    return tuple(gauge for gauge in STOCKED_GAUGES if least < gauge < candidate.machine.thickest_gauge + FUZZ)


def _spoilt(candidate: Candidate, recipe: Recipes) -> bool:
    """Whether a sheet is too cold at the tool, or scorched so as not to be."""
    scorched = recipe.surface_peak > candidate.polymer.upper_forming_temperature + GOOD_TO
    cold = recipe.coldest_at_contact < candidate.polymer.lower_forming_temperature - GOOD_TO
    return bool(scorched or cold or not recipe.reached)


def _heating_by_recipe(candidate: Candidate, recipe: Recipes, dwell: float, transfer: float) -> Heating:
    stations, spoilt = heating_stations(candidate.machine), _spoilt(candidate, recipe)
    skin = min(recipe.upper_skin_at_contact, recipe.lower_skin_at_contact)
    return Heating(
        time=recipe.time,
        preheat_time=recipe.preheat_time,
        oven_time=recipe.oven_time,
        wait=max(dwell - recipe.time, 0.0),
        preheat_upper=recipe.preheat_upper if stations > 1 else None,
        preheat_lower=recipe.preheat_lower if stations > 1 else None,
        upper_heater=recipe.upper,
        lower_heater=recipe.lower,
        surface_peak=recipe.surface_peak,
        core_at_exit=recipe.core_at_exit,
        mean_at_exit=recipe.mean_at_exit,
        transfer_time=transfer,
        coldest_at_contact=recipe.coldest_at_contact,
        skin_at_contact=skin,
        mean_at_contact=recipe.mean_at_contact,
        energy_per_area=recipe.energy,
        reaches_window=not spoilt,
        limited_by=LOST_ON_THE_WAY if spoilt else "",
        governed_by="" if spoilt else _governed_by(candidate, recipe, dwell),
        thickest_gauge=None,
        rule_of_thumb_time=_rule_of_thumb(candidate),
    )


def _heating_that_misses(
    candidate: Candidate, setting: OvenSetting, thickest: float | None, transfer: float
) -> Heating:
    stations = heating_stations(candidate.machine)
    oven_time = setting.time / stations
    return Heating(
        time=setting.time,
        preheat_time=setting.time - oven_time,
        oven_time=oven_time,
        wait=0.0,
        preheat_upper=setting.upper_heater if stations > 1 else None,
        preheat_lower=setting.lower_heater if stations > 1 else None,
        upper_heater=setting.upper_heater,
        lower_heater=setting.lower_heater,
        surface_peak=setting.surface_peak,
        core_at_exit=setting.core_at_exit,
        mean_at_exit=setting.mean_at_exit,
        transfer_time=transfer,
        coldest_at_contact=None,
        skin_at_contact=None,
        mean_at_contact=None,
        energy_per_area=setting.energy_per_area,
        reaches_window=False,
        limited_by=setting.limited_by,
        governed_by="",
        thickest_gauge=thickest,
        rule_of_thumb_time=_rule_of_thumb(candidate),
    )


def _governed_by(candidate: Candidate, recipe: Recipes, dwell: float) -> str:
    oven, scorch = candidate.machine.oven, candidate.polymer.upper_forming_temperature
    if recipe.time < dwell:
        return "pace"
    if recipe.upper >= oven.upper.highest_temperature and recipe.lower >= oven.lower.highest_temperature:
        return "power"
    return "skin" if recipe.surface_peak >= scorch - NEAR else "core"


def _rule_of_thumb(candidate: Candidate) -> float:
    polymer = candidate.polymer
    return rule_of_thumb_heating_time(polymer.name, candidate.gauge, polymer.semicrystalline)
