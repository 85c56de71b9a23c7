"""Every heater setting of every sheet in its oven, marched at once: even levels, the edge of scorching, and beyond."""

from dataclasses import dataclass, fields

import numpy as np

from materials.exposure import Heaters, Sheets, Surroundings, net_flux
from materials.heat_content import columns
from materials.heating import heated_to_window
from materials.remembered import Remembered

Array = np.ndarray

SETTING_LEVELS = 9  # heater settings compared, evenly spaced over the range of the banks
# Beyond these: each bank as hot as its own face bears by the levels compared. How far apart the two are set for it, and
# how far below they stay, as a share of a level.
AT_THE_EDGE = ((1.0, 0.0), (1.0, 0.25), (1.0, 0.6), (0.7, 0.0), (0.4, 0.0))
# Then beyond the fastest of all these, in two rounds: shares of what the upper and the lower face still bear. With them
# 95 of 100 ovens of unequal banks are within 0.6 % of the best of 17 x 17 settings, the worst of 150 is 7 % slower.
REFINED = (((1.0, 1.0), (0.5, 0.5), (0.25, 0.25)), ((0.7, 0.7), (0.3, 0.3), (0.7, 0.0), (0.0, 0.7)))
SCORCH_MARGIN = 1.0  # K
# Settings are compared by a coarser march than the one that the recipe chosen is marched by. Against 41 nodes and 80
# steps it is within 1.2 K in the hottest skin for 98 of 100 random settings, and within 1.4 K for all.
SCAN = {"nodes": 9, "steps": 9}
WORTH_RAISING = 5.0  # K of a heater
LIKELY_SLOPES = (0.15, 2.0)  # K of a face for each kelvin of its bank


@dataclass(frozen=True)
class OvenLoad:
    """Sheets in their ovens, side by side: one array element for each case [SI]."""

    sheets: Sheets
    start: Array
    lowest: Array  # K, of both banks: upper first
    highest: Array
    emissivity: Array
    view_factor: Array
    air_temperature: Array
    film: Array

    def taken(self, which: Array) -> "OvenLoad":
        two = (columns(part, which) for part in (self.lowest, self.highest, self.emissivity, self.view_factor))
        return OvenLoad(
            self.sheets.taken(which), self.start[which], *two, self.air_temperature[which], self.film[which]
        )

    def around(self, upper: Array, lower: Array) -> Surroundings:
        """What the sheets see with their banks at these temperatures [K]."""
        banks = (
            Heaters(temperature, self.emissivity[side], self.view_factor[side])
            for side, temperature in enumerate((upper, lower))
        )
        return Surroundings(*banks, self.air_temperature, self.film)


@dataclass(frozen=True)
class SettingTable:
    """Every setting of every case: arrays with cases along the first axis and settings along the second [SI].

    The first `SETTING_LEVELS` are the even levels, ascending; the others lie about where the skin bears no more.
    """

    upper: Array
    lower: Array
    time: Array
    upper_peak: Array
    lower_peak: Array
    core: Array
    mean: Array
    energy: Array
    scorched: Array  # K above the upper forming temperature
    cold: Array  # K that core and mean lack of theirs
    draws: Array  # above 0: heat still flows into a sheet at its normal forming temperature

    def taken(self, which: Array) -> "SettingTable":
        """Rows of some cases, in any order and as often as asked."""
        return SettingTable(*(getattr(self, field.name)[which] for field in fields(self)))

    @property
    def feasible(self) -> Array:
        return self.off_by == 0.0

    @property
    def off_by(self) -> Array:
        return self.scorched + self.cold

    @property
    def surface_peak(self) -> Array:
        return np.maximum(self.upper_peak, self.lower_peak)


_known = Remembered()


def setting_table(load: OvenLoad) -> SettingTable:
    """What every heater setting does to every sheet, all of them marched at once.

    Both banks at the same level, from the lowest to the highest that either reaches (a bank that does not reach a
    level stays at the end of its own range); then each bank as hot as its own face bears; then, from the fastest of
    these, further toward what either face still bears. Equal physics is solved once and remembered.

    Parameters
    ----------
    load : OvenLoad
        Any number of cases [SI].

    Returns
    -------
    table : SettingTable
        [SI]
    """
    count = load.start.size
    if not count:
        settings = SETTING_LEVELS + len(AT_THE_EDGE) + sum(map(len, REFINED))
        return SettingTable(*np.zeros((len(fields(SettingTable)), 0, settings)))
    rows = _known.get(physical_rows(load), lambda new: _solved(load.taken(new)))
    return SettingTable(*rows.reshape(count, len(fields(SettingTable)), -1).transpose(1, 0, 2))


def physical_rows(load: OvenLoad) -> Array:
    """Everything the heating depends on, one row for each case: not the names.

    Parameters
    ----------
    load : OvenLoad
        [SI]

    Returns
    -------
    rows : array
        [SI]
    """
    sheets, heat = load.sheets, load.sheets.heat
    of_sheet = [getattr(sheets, field.name) for field in fields(sheets) if field.name != "heat"]
    of_heat = [getattr(heat, field.name) for field in fields(heat)]
    banks = (*load.lowest, *load.highest, *load.emissivity, *load.view_factor)
    return np.stack((*of_sheet, *of_heat, load.start, *banks, load.air_temperature, load.film), axis=1)


def _solved(load: OvenLoad) -> Array:
    """Rows of the setting table, one for each case, its columns one after another."""
    levels = _clipped(load, _even_levels(load))
    even = _columns(load, *levels, **SCAN)
    found = np.concatenate((even, _columns(load, *_edge_levels(load, levels, even), **SCAN)), axis=2)
    for shares in REFINED:
        found = np.concatenate((found, _refined(load, found, np.array(shares))), axis=2)
    return found.transpose(1, 0, 2).reshape(load.start.size, -1)


def _refined(load: OvenLoad, found: Array, shares: Array) -> Array:
    """Settings beyond the fastest so far, toward what each face still bears; that one again where neither bears more.

    What a kelvin on a bank does to its face is taken from the even levels.
    """
    everyone, limit = np.arange(load.start.size), load.sheets.upper_forming - SCORCH_MARGIN
    feasible = found[8] + found[9] == 0.0
    best = np.where(feasible, found[2], np.inf).argmin(axis=1)
    fastest = found[:, everyone, best]
    raised = []
    for side in range(2):
        level, peak = found[side, :, :SETTING_LEVELS], found[3 + side, :, :SETTING_LEVELS]
        slope = (peak[:, -1] - peak[:, 0]) / np.maximum(level[:, -1] - level[:, 0], 1e-9)
        bears = np.maximum(limit - fastest[3 + side], 0.0) / np.clip(slope, *LIKELY_SLOPES)
        raised.append(np.minimum(bears, load.highest[side] - fastest[side]))
    worth = np.flatnonzero(feasible.any(axis=1) & (np.maximum(*raised) > WORTH_RAISING))
    columns = np.repeat(fastest[..., None], len(shares), axis=2)
    if worth.size:
        settings = (fastest[side][worth, None] + raised[side][worth, None] * shares[:, side] for side in range(2))
        columns[:, worth] = _columns(load.taken(worth), *settings, **SCAN)
    return columns


def _even_levels(load: OvenLoad) -> Array:
    """Levels [K] from the lowest to the highest of both banks, settings along the second axis."""
    lowest, highest = load.lowest.min(axis=0), load.highest.max(axis=0)
    return lowest[:, None] + (highest - lowest)[:, None] * np.linspace(0.0, 1.0, SETTING_LEVELS)


def _clipped(load: OvenLoad, levels: Array) -> tuple[Array, Array]:
    upper, lower = (np.clip(levels, load.lowest[side][:, None], load.highest[side][:, None]) for side in range(2))
    return upper, lower


def _edge_levels(load: OvenLoad, levels: tuple[Array, Array], even: Array) -> tuple[Array, Array]:
    """Each bank where its own face just does not scorch, and somewhat below."""
    step = (levels[0][:, -1:] - levels[0][:, :1]) / (SETTING_LEVELS - 1)
    limit = load.sheets.upper_forming[:, None]
    edges = [_crossing(level, peak - limit)[:, None] for level, peak in zip(levels, even[3:5], strict=True)]
    common = np.minimum(*edges)
    apart, below = np.array(AT_THE_EDGE).T
    upper, lower = (common + apart * (edge - common) - below * step for edge in edges)
    low, high = load.lowest[..., None], load.highest[..., None]
    return np.clip(upper, low[0], high[0]), np.clip(lower, low[1], high[1])


def _crossing(level: Array, excess: Array) -> Array:
    """Level where the excess of each row passes 0, by straight lines; an end where it never does."""
    last = np.clip((excess <= 0.0).sum(axis=1) - 1, 0, level.shape[1] - 2)
    rows = np.arange(level.shape[0])
    low, high = excess[rows, last], excess[rows, last + 1]
    share = np.clip(-low / np.where(high == low, 1.0, high - low), 0.0, 1.0)
    return level[rows, last] + share * (level[rows, last + 1] - level[rows, last])


def _columns(load: OvenLoad, upper: Array, lower: Array, **how: int) -> Array:
    """The columns of the setting table for some settings of every case: columns, cases, settings."""
    cases = np.repeat(np.arange(upper.shape[0]), upper.shape[1])
    # Where both faces are heated alike, several settings at the edge of scorching are the same.
    rows, places = np.unique(np.column_stack((cases, upper.ravel(), lower.ravel())), axis=0, return_inverse=True)
    columns = _columns_of(load.taken(rows[:, 0].astype(int)), *rows[:, 1:].T, **how)
    return columns[:, places.reshape(upper.shape)]


def _columns_of(many: OvenLoad, upper: Array, lower: Array, **how: int) -> Array:
    around = many.around(upper, lower)
    marched = heated_to_window(many.sheets, many.start, around, **how)
    core, sheets = marched.profile.min(axis=0), many.sheets
    scorched = np.maximum(marched.hottest_ever.max(axis=0) - sheets.upper_forming, 0.0)
    lacking = np.maximum(sheets.lower_forming - core, 0.0) + np.maximum(sheets.normal_forming - marched.mean, 0.0)
    columns = (
        upper, lower, marched.time, *marched.hottest_ever, core, marched.mean, marched.energy,
        scorched, np.where(marched.done, 0.0, lacking), _draws(sheets, around),
    )  # fmt: skip
    return np.stack([np.broadcast_to(column, upper.shape) for column in columns])


def _draws(sheets: Sheets, around: Surroundings) -> Array:
    """Flux [W/m2] into both faces of a sheet at its normal forming temperature."""
    return sum(
        net_flux(bank, sheets.emissivity, sheets.normal_forming, around.air_temperature, around.film)
        for bank in (around.upper, around.lower)
    )
