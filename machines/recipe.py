"""The way of a sheet through the heat: so long in preheat and oven, then through open air to the tool.

On a machine with several heating stations a sheet stays in each for the same dwell, unless other stations set the pace:
then it stays in the oven for the whole dwell and the preheat comes on late, since a cold sheet loses nothing by
waiting. Between stations it hangs in open air for one index.
"""

from dataclasses import dataclass, fields, replace

import numpy as np

from machines.heater_settings import SETTING_LEVELS, OvenLoad, physical_rows
from materials.exposure import Sheets
from materials.heat_content import columns, enthalpy
from materials.heating import LONGEST_HEATING, NO_TIME, carried, heated_for, heated_to_window
from materials.remembered import Remembered
from materials.slab import Marched, mean_temperature

Array = np.ndarray

_known = Remembered()

SHORTEST = 0.5  # s; a stay below it is none
SPARE = 1.0  # s of the dwell that is left, so that the heat never sets the pace by a hair
WORTH_WHILE = 1.0  # s of dwell that a hotter preheat must save to be set apart from the oven
# Preheat above, and oven below, the setting that is best for both, in levels: a sheet that is still cold bears more.
# The first shares a time out anew that was only guessed, or that heating further has lengthened in the oven alone.
APART = ((0.0, 0.0), (0.5, 0.0), (1.0, 0.5), (2.0, 0.5), (2.0, 1.0))
# Of what is missing at the tool this much is added to the target: a hotter sheet loses more, and one that has begun to
# freeze gets no warmer until it has all been molten again.
FURTHER, FURTHER_WHERE_IT_MELTS = 1.3, 3.0
ROUNDS = 4  # of that
EASED = (0.25, 0.5, 1.0, 2.0, 3.0)  # levels below the setting chosen, tried where heating further scorches the skin
GOOD_TO = 0.5  # K, to which a march is good
# How the recipe chosen is marched: nodes through the thickness, about so many steps, and the longest one over the first
# full one. Recipes of 399 random sheets (1 to 12 mm, nearly half of them clear, ovens of unequal banks, one to four
# stations), marched again on 81 nodes in 200 steps: no skin is more than 0.4 K over its limit, the mean at the exit at
# most 0.6 K short of its target (0.25 K for 99 of 100), the coldest point at the tool by 0.6 K (0.2 K).
FINE = {"nodes": 17, "steps": 14, "stretch": 2.0}
BEFORE = {"steps": 7, "growth": 1.3}  # in each station before the oven, where a sheet is far from done
FIRST_STEP_ON = 1 / 4  # of a full one, where a sheet stays on in its oven: nothing jumps at its faces
ROUGH = {"nodes": 9, "steps": 6}  # where only a time to share out among the stations is sought
SETTLED = 4  # rounds in which a time and the stay that follows from it agree


@dataclass(frozen=True)
class Way:
    """How sheets travel, one array element for each case.

    Twin-sheet machines give their two sheets dwells of unlike length in turn; here every station has the mean of them.
    """

    stations: Array  # count of those that heat, 1 or more
    index: Array  # s in open air between two stations
    to_contact: Array  # s in open air from leaving the oven until the sheet meets the tool
    room: Array  # K
    dwell: Array  # s that other stations leave in each heating station; 0 where they leave none

    def taken(self, which: Array) -> "Way":
        return Way(*(getattr(self, field.name)[which] for field in fields(self)))


@dataclass(frozen=True)
class Recipes:
    """What to set and what comes of it, one array element for each case, or one case in plain numbers [SI]."""

    preheat_upper: Array  # K; as the oven where there is no preheat
    preheat_lower: Array
    upper: Array
    lower: Array
    preheat_time: Array  # s in all stations before the oven together
    oven_time: Array
    surface_peak: Array  # K, on either face, ever
    core_at_exit: Array  # K, the coldest point
    mean_at_exit: Array
    energy: Array  # J/m2, held at the exit more than at the start
    upper_skin_at_contact: Array
    lower_skin_at_contact: Array
    coldest_at_contact: Array
    mean_at_contact: Array
    reached: Array  # above 0: the window was reached in time

    @property
    def time(self) -> Array:
        return self.preheat_time + self.oven_time

    def taken(self, which: Array) -> "Recipes":
        return Recipes(*(getattr(self, field.name)[which] for field in fields(self)))

    def one_by_one(self) -> list["Recipes"]:
        """The same, each case a recipe of its own with plain numbers."""
        return [Recipes(*row) for row in np.column_stack([getattr(self, f.name) for f in fields(self)]).tolist()]

    def replaced(self, which: Array, others: "Recipes") -> "Recipes":
        """These recipes with others in some places."""
        parts = {field.name: getattr(self, field.name).copy() for field in fields(self)}
        for name, part in parts.items():
            part[which] = getattr(others, name)
        return Recipes(**parts)


def dwell_of(recipes: Recipes, way: Way) -> Array:
    """Time that the heat takes at the station which needs longest [s].

    Parameters
    ----------
    recipes : Recipes
        [SI]
    way : Way
        [SI]

    Returns
    -------
    dwell : array
        [s]
    """
    before = np.where(way.stations > 1, recipes.preheat_time / np.maximum(way.stations - 1, 1), 0.0)
    return np.maximum(before, recipes.oven_time)


def recipes_of(load: OvenLoad, upper: Array, lower: Array, time: Array, way: Way) -> Recipes:
    """Recipes for settings that were chosen, with preheat set apart where that turns the machine faster.

    Parameters
    ----------
    load : OvenLoad
        Sheets in their ovens [SI].
    upper, lower : array
        Heater temperatures chosen for each [K].
    time : array
        How long they take in one go [s].
    way : Way
        Stations and open air [SI].

    Returns
    -------
    recipes : Recipes
        [SI]
    """
    way = replace(way, dwell=np.where(way.stations > 1, way.dwell, 0.0))  # a single station has nothing to share out
    inputs = np.column_stack((physical_rows(load), upper, lower, time, *(getattr(way, f.name) for f in fields(Way))))

    def solve(new: Array) -> Array:
        found = _solved(load.taken(new), upper[new], lower[new], time[new], way.taken(new))
        return np.column_stack([getattr(found, field.name) for field in fields(Recipes)])

    return Recipes(*_known.get(inputs, solve).reshape(-1, len(fields(Recipes))).T)


def _solved(load: OvenLoad, upper: Array, lower: Array, time: Array, way: Way) -> Recipes:
    found, further = _run(load, (upper, lower), (upper, lower), time, way)
    # One that these heaters do not get there, milder ones do not either.
    spoilt = np.flatnonzero((found.reached > 0) & ~_in_window(load.sheets, found))
    if spoilt.size:
        some = load.taken(spoilt), found.taken(spoilt), further[spoilt], way.taken(spoilt)
        milder, further[spoilt] = _eased(*some)
        found = found.replaced(spoilt, milder)
    governed = np.flatnonzero(
        (way.stations > 1) & (found.reached > 0) & (dwell_of(found, way) > way.dwell + WORTH_WHILE)
    )
    if not governed.size:
        return found
    apart = _set_apart(load.taken(governed), found.taken(governed), further[governed], way.taken(governed))
    return found.replaced(governed, apart)


def _in_window(sheets: Sheets, runs: Recipes) -> Array:
    """Whether no skin scorched, and all is warm enough at the tool, to what a march is good to."""
    warm = runs.coldest_at_contact >= sheets.lower_forming - GOOD_TO
    return (runs.reached > 0) & warm & (runs.surface_peak <= sheets.upper_forming + GOOD_TO)


def _eased(load: OvenLoad, spoilt: Recipes, hotter: Array, way: Way) -> tuple[Recipes, Array]:
    """The fastest of some milder settings for sheets that were heated further and scorched by it, if one will do.

    Also by how much hotter than their targets the sheets were made [K].
    """
    level = (load.highest.max(axis=0) - load.lowest.min(axis=0)) / (SETTING_LEVELS - 1)
    count = level.size
    tried = np.tile(np.arange(count), len(EASED))
    many, ways = load.taken(tried), way.taken(tried)
    cooler = -np.repeat(EASED, count) * level[tried]
    zone = _within_banks(many, (spoilt.upper[tried], spoilt.lower[tried]), cooler)
    runs, further = _run(many, zone, zone, spoilt.time[tried], ways)
    dwell = np.where(_in_window(many.sheets, runs), dwell_of(runs, ways), np.inf).reshape(len(EASED), count)
    places = np.flatnonzero(np.isfinite(dwell.min(axis=0)))
    best = dwell.argmin(axis=0)[places] * count + places
    hotter[places] = further[best]
    return spoilt.replaced(places, runs.taken(best)), hotter


def _set_apart(load: OvenLoad, together: Recipes, further: Array, way: Way) -> Recipes:
    """The fastest of several pairs of preheat and oven settings, or one setting for both where none is faster."""
    level = (load.highest.max(axis=0) - load.lowest.min(axis=0)) / (SETTING_LEVELS - 1)
    count = level.size
    tried = np.tile(np.arange(count), len(APART))
    above, below = (np.repeat([pair[side] for pair in APART], count) for side in (0, 1))
    many, steps, ways = load.taken(tried), level[tried], way.taken(tried)
    aimed = replace(many, sheets=_aimed(many.sheets, further[tried]))
    base = (together.upper[tried], together.lower[tried])
    before = _within_banks(many, base, above * steps)
    last = _within_banks(many, base, -below * steps)
    guess = _time_of_way(aimed, before, last, together.time[tried], ways)
    guess *= np.tile(together.time / guess[:count], len(APART))  # by as much as it errs for the time that is known
    runs, _ = _to_contact(aimed, before, last, guess, ways)
    good = (runs.reached > 0) & (runs.surface_peak <= many.sheets.upper_forming)
    good &= runs.coldest_at_contact >= many.sheets.lower_forming - GOOD_TO
    # Nothing is gained by less than other stations leave: of those that fit it, the gentlest comes first.
    dwell = np.where(good, np.maximum(dwell_of(runs, ways), ways.dwell), np.inf).reshape(len(APART), count)
    best = dwell.argmin(axis=0)
    faster = dwell.min(axis=0) < dwell_of(together, way) - WORTH_WHILE
    places = np.flatnonzero(faster)
    return together.replaced(places, runs.taken(best[places] * count + places))


def _within_banks(load: OvenLoad, base: tuple[Array, Array], change: Array) -> tuple[Array, Array]:
    upper, lower = (np.clip(base[side] + change, load.lowest[side], load.highest[side]) for side in (0, 1))
    return upper, lower


def _run(load: OvenLoad, before: tuple, last: tuple, time: Array, way: Way) -> tuple[Recipes, Array]:
    """March every sheet to the tool; one that gets there too cold stays on in the oven until it is not.

    Also how much hotter [K] than its target each was made for it.
    """
    found, at_exit = _to_contact(load, before, last, _time_of_way(load, before, last, time, way), way)
    hotter = np.zeros_like(time)
    further = np.where(load.sheets.heat.latent_heat > 0.0, FURTHER_WHERE_IT_MELTS, FURTHER)
    for _ in range(ROUNDS):
        missing = np.maximum(load.sheets.lower_forming - found.coldest_at_contact, 0.0)
        cold = np.flatnonzero((missing > 0.0) & (found.reached > 0))
        if not cold.size:
            break
        hotter[cold] += (further * missing)[cold]
        some = load.taken(cold)
        some = replace(some, sheets=_aimed(some.sheets, hotter[cold]))
        longer, at_exit[:, cold] = _heated_on(some, found.taken(cold), columns(at_exit, cold), way.taken(cold))
        found = found.replaced(cold, longer)
    return found, hotter


def _aimed(sheets: Sheets, hotter: Array) -> Sheets:
    """Sheets to be made hotter [K] than they need be in the oven, for what they lose on the way to the tool."""
    return replace(
        sheets,
        lower_forming=sheets.lower_forming + hotter,
        normal_forming=np.minimum(sheets.normal_forming + hotter, sheets.upper_forming),
    )


def _heated_on(load: OvenLoad, found: Recipes, at_exit: Array, way: Way) -> tuple[Recipes, Array]:
    """Recipes of sheets that stay in the oven until they are hotter; their profiles at the exit [K]."""
    limit = np.maximum(LONGEST_HEATING - found.oven_time, NO_TIME)
    how = {"limit": limit, "first_step": FIRST_STEP_ON} | FINE
    heat = heated_to_window(load.sheets, at_exit, load.around(found.upper, found.lower), **how)
    zones = (found.preheat_upper, found.preheat_lower), (found.upper, found.lower)
    peak = np.maximum(found.surface_peak, heat.hottest_ever.max(axis=0))
    longer = _finished(load, *zones, found.preheat_time, peak, replace(heat, time=found.oven_time + heat.time), way)
    return longer, heat.profile


def _time_of_way(load: OvenLoad, before: tuple, last: tuple, time: Array, way: Way) -> Array:
    """Time [s] in all stations together, found for machines with several from the time in one go.

    One march is enough: between no stay before the oven and the stay marched, the time is taken to grow evenly.
    """
    several = np.flatnonzero(way.stations > 1)
    if not several.size:
        return time
    before, last = (tuple(side[several] for side in zone) for zone in (before, last))
    load, way, in_one_go = load.taken(several), way.taken(several), time[several]
    stay = _stay_before(in_one_go, way)
    marched = stay + _heated_on_the_way(load, before, last, stay, way, ROUGH)[1].time
    growth = (marched - in_one_go) / np.maximum(stay, SHORTEST)
    found = time.copy()
    found[several] = marched
    for _ in range(SETTLED):
        found[several] = in_one_go + growth * _stay_before(found[several], way)
    return found


def _to_contact(load: OvenLoad, before: tuple, last: tuple, time: Array, way: Way) -> tuple[Recipes, Array]:
    """March to the tool; all machines together. Also the profiles at the exit [K].

    The stay before the oven is set by the time in all stations together, so that the oven has its dwell: an even
    share, or what other stations leave.
    """
    stay = _stay_before(time, way)
    peak, heat = _heated_on_the_way(load, before, last, stay, way, FINE)
    peak = np.maximum(peak, heat.hottest_ever.max(axis=0))
    return _finished(load, before, last, stay, peak, heat, way), heat.profile


def _stay_before(time: Array, way: Way) -> Array:
    """Share [s] of a heating time that is spent before the oven."""
    return time - np.clip(np.maximum(time / way.stations, way.dwell - SPARE), 0.0, time)


def _heated_on_the_way(
    load: OvenLoad, before: tuple, last: tuple, stay: Array, way: Way, how: dict[str, int]
) -> tuple[Array, Marched]:
    """Hottest skin before the oven [K], and the march in the oven."""
    profile, peak = np.tile(load.start, (how["nodes"], 1)), load.start.copy()
    each = np.maximum(stay / np.maximum(way.stations - 1, 1), SHORTEST)
    for station in range(1, int(way.stations.max())):
        some = np.flatnonzero(way.stations > station)
        here = load.taken(some)
        around = here.around(*(side[some] for side in before))
        heat = heated_for(here.sheets, columns(profile, some), around, each[some], **BEFORE)
        peak[some] = np.maximum(peak[some], heat.hottest_ever.max(axis=0))
        profile[:, some] = carried(here.sheets, heat.profile, way.room[some], way.index[some]).profile
    return peak, heated_to_window(load.sheets, profile, load.around(*last), **how)


def _finished(load: OvenLoad, before: tuple, last: tuple, stay: Array, peak: Array, heat: Marched, way: Way) -> Recipes:
    sheets = load.sheets
    out = carried(sheets, heat.profile, way.room, way.to_contact)
    held = mean_temperature(enthalpy(sheets.heat, heat.profile)) - enthalpy(sheets.heat, load.start)
    return Recipes(
        *before, *last, stay, heat.time, peak, heat.profile.min(axis=0), heat.mean,
        sheets.density * sheets.gauge * held, out.profile[0], out.profile[-1], out.profile.min(axis=0),
        mean_temperature(out.profile), heat.done,
    )  # fmt: skip
