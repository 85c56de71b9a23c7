"""What an oven does to a sheet at each heater setting, and which setting to run."""

from dataclasses import dataclass, fields, replace

import numpy as np

from machines.machine import Oven
from materials.heating import Heaters, Sheets, Surroundings, heated_to_window, net_flux, sheets_of
from materials.polymer import Polymer
from materials.ranges import OutsideRangeError, positive
from materials.remembered import Remembered
from materials.sheet import INCH, STOCKED_GAUGES

SETTING_LEVELS = 9  # heater settings compared, evenly spaced over the range of the banks
# Beyond these: each bank as hot as its own face bears by the levels compared. How far apart the two are set for it, and
# how far below they stay, as a share of a level.
AT_THE_EDGE = ((1.0, 0.0), (1.0, 0.25), (1.0, 0.6), (0.7, 0.0), (0.4, 0.0))

# Then beyond the fastest of all these, in two rounds: shares of what the upper and the lower face still bear. With them
# nine of ten ovens of unequal banks are as fast as the best of 17 x 17 settings, the worst of 150 some 5 % slower.
REFINED = (((1.0, 1.0), (0.5, 0.5), (0.25, 0.25)), ((0.7, 0.7), (0.3, 0.3), (0.7, 0.0), (0.0, 0.7)))
SCORCH_MARGIN = 1.0  # K
WORTH_RAISING = 5.0  # K of a heater
LIKELY_SLOPES = (0.15, 2.0)  # K of a face for each kelvin of its bank

REFERENCE_GAUGE = 0.125 * INCH  # m, gauge for which the table below holds
GAUGE_EXPONENT = 1.4  # -, common practice, no source

# Heating time of a sheet of the reference gauge, both sides [s]; common practice, no source.
REFERENCE_TIMES = {
    "HIPS": 80.0,
    "ABS": 90.0,
    "PVC": 85.0,
    "ABS/PVC": 85.0,
    "PETG": 75.0,
    "PMMA": 110.0,
    "PC": 100.0,
    "PPO/PS": 100.0,
    "TPO": 120.0,
    "HDPE": 130.0,
    "PP": 140.0,
}
AMORPHOUS_REFERENCE_TIME = 90.0  # s, a polymer that is not in the table is taken as ABS
SEMICRYSTALLINE_REFERENCE_TIME = 130.0  # s, likewise as HDPE

Array = np.ndarray


@dataclass(frozen=True)
class OvenCase:
    """A sheet of one polymer and gauge that enters an oven at ``start`` [K]. ``gauge`` [m]."""

    polymer: Polymer
    gauge: float
    oven: Oven
    start: float


@dataclass(frozen=True)
class OvenSetting:
    """What a pair of heater settings does. ``limited_by`` is '' when feasible, else skin, core or power.

    Not feasible: ``time`` is when the core was ready, or the longest heating allowed where it never was.
    ``off_by`` [K] is how far the sheet stays from its window: skin above scorching, core and mean below forming.
    """

    upper_heater: float  # K
    lower_heater: float  # K
    time: float  # s
    surface_peak: float  # K
    core_at_exit: float  # K, the coldest point
    mean_at_exit: float  # K
    energy_per_area: float  # J/m2, into the sheet through both faces
    feasible: bool
    limited_by: str
    off_by: float = 0.0


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
        two = (part[:, which] for part in (self.lowest, self.highest, self.emissivity, self.view_factor))
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


def oven_load(cases: tuple[OvenCase, ...]) -> OvenLoad:
    """Put cases side by side.

    Parameters
    ----------
    cases : tuple of OvenCase
        One or more [SI].

    Returns
    -------
    load : OvenLoad
        [SI]

    Raises
    ------
    OutsideRangeError
        A gauge is not above 0, or a sheet starts above its normal forming temperature.
    """
    for case in cases:
        normal = case.polymer.normal_forming_temperature
        if not 0 < case.start < normal:
            raise OutsideRangeError("start", case.start, f"above 0 K and below the forming temperature {normal} K")
    ovens = [case.oven for case in cases]
    names = ("lowest_temperature", "highest_temperature", "emissivity", "view_factor")
    of_banks = (np.array([[getattr(bank, name) for bank in side] for side in _sides(ovens)], float) for name in names)
    return OvenLoad(
        sheets_of(tuple(case.polymer for case in cases), tuple(case.gauge for case in cases)),
        np.array([case.start for case in cases], float),
        *of_banks,
        np.array([oven.air_temperature for oven in ovens], float),
        np.array([oven.air_film_coefficient for oven in ovens], float),
    )


def _sides(ovens: list[Oven]) -> tuple[list, list]:
    return [oven.upper for oven in ovens], [oven.lower for oven in ovens]


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
    rows = _known.get(physical_rows(load), lambda new: _solved(load.taken(new)))
    return SettingTable(*rows.reshape(count, len(fields(SettingTable)), -1).transpose(1, 0, 2))


def choose(table: SettingTable, dwell_available: Array) -> Array:
    """For each case the gentlest setting that costs no time, else the fastest.

    The coolest feasible setting whose time fits the dwell that other stations leave; where none fits, the feasible
    setting with the least time. Where none is feasible, the one that comes closest to the window.

    Parameters
    ----------
    table : SettingTable
        [SI]
    dwell_available : array
        For each case, the time that the sheet has in the heat without slowing the machine [s].

    Returns
    -------
    setting : array of int
        Its place along the second axis [-].
    """
    feasible = table.feasible
    fits = feasible & (table.time <= dwell_available[:, None])
    coolest = np.where(fits, table.upper + table.lower, np.inf)
    fastest = np.where(feasible, table.time, np.inf)
    some = feasible.any(axis=1)[:, None]
    keys = np.where(fits.any(axis=1)[:, None], coolest, np.where(some, fastest, table.off_by))
    return keys.argmin(axis=1)


def limit_of(table: SettingTable, case: int) -> str:
    """What keeps every setting of one case from the window; '' where one is feasible.

    - power: the hottest setting does not reach the window either;
    - skin: the slowest lacks power and a hotter one scorches;
    - core: the slowest setting already scorches, or does not get the core ready in the longest heating allowed.

    Parameters
    ----------
    table : SettingTable
        [SI]
    case : int
        Its place along the first axis [-].

    Returns
    -------
    limited_by : str
        [-]
    """
    if table.feasible[case].any():
        return ""
    slowest, hottest = (_limit_of_setting(table, case, level) for level in (0, SETTING_LEVELS - 1))
    if hottest == "power":
        return "power"
    return "skin" if slowest == "power" else "core"


def oven_settings(cases: tuple[OvenCase, ...]) -> tuple[tuple[OvenSetting, ...], ...]:
    """What every heater setting does to every sheet, setting by setting; see `setting_table`.

    Parameters
    ----------
    cases : tuple of OvenCase
        Any number [SI].

    Returns
    -------
    settings : tuple of tuple of OvenSetting
        For each case the even levels in ascending order, then those at the edge of scorching [SI].

    Raises
    ------
    OutsideRangeError
        A gauge is not above 0, or a sheet starts above its normal forming temperature.
    """
    if not cases:
        return ()
    table = setting_table(oven_load(cases))
    return tuple(
        tuple(
            _setting(table, case, place, _limit_of_setting(table, case, place)) for place in range(table.time.shape[1])
        )
        for case in range(len(cases))
    )


def chosen_setting(table: SettingTable, case: int, place: int) -> OvenSetting:
    """One setting of one case; where it is not feasible, with what limits the case.

    Parameters
    ----------
    table : SettingTable
        [SI]
    case, place : int
        Where it stands in the table [-].

    Returns
    -------
    setting : OvenSetting
        [SI]
    """
    return _setting(table, case, place, limit_of(table, case))


def _setting(table: SettingTable, case: int, place: int, limited_by: str) -> OvenSetting:
    at = (case, place)
    return OvenSetting(
        upper_heater=float(table.upper[at]),
        lower_heater=float(table.lower[at]),
        time=float(table.time[at]),
        surface_peak=float(max(table.upper_peak[at], table.lower_peak[at])),
        core_at_exit=float(table.core[at]),
        mean_at_exit=float(table.mean[at]),
        energy_per_area=float(table.energy[at]),
        feasible=not limited_by,
        limited_by=limited_by,
        off_by=float(table.off_by[at]),
    )


def _limit_of_setting(table: SettingTable, case: int, place: int) -> str:
    at = (case, place)
    if table.scorched[at] > 0:
        return "skin"
    if table.cold[at] == 0:
        return ""
    return "core" if table.draws[at] > 0 else "power"


def thickest_gauges_reached(cases: tuple[OvenCase, ...]) -> tuple[float | None, ...]:
    """For each case the thickest stocked gauge that some setting of its oven brings into the forming window.

    Found by halving the list of gauges: what holds for one gauge holds for every thinner one.

    Parameters
    ----------
    cases : tuple of OvenCase
        Each at a gauge that is not reached [SI].

    Returns
    -------
    gauges : tuple of float or None
        [m]; None where not even the thinnest is reached.
    """
    if not cases:
        return ()
    load = oven_load(cases)
    gauges = np.array(STOCKED_GAUGES)
    reached, missed = np.full(len(cases), -1), np.searchsorted(gauges, load.sheets.gauge)
    while (missed - reached > 1).any():
        middle = np.clip((reached + missed) // 2, 0, gauges.size - 1)
        tried = replace(load, sheets=replace(load.sheets, gauge=gauges[middle]))
        good = setting_table(tried).feasible.any(axis=1)
        undecided = missed - reached > 1
        reached, missed = np.where(undecided & good, middle, reached), np.where(undecided & ~good, middle, missed)
    return tuple(float(gauges[place]) if place >= 0 else None for place in reached)


def rule_of_thumb_heating_time(polymer_name: str, gauge: float, semicrystalline: bool = False) -> float:
    """Heating time by the power law of the trade, to see whether a computed one is plausible.

    ``t = kh (gauge/0.125 in)^1.4``, heated from both sides

    Parameters
    ----------
    polymer_name : str
        Name or the beginning of a name, such as 'ABS' or 'ABS, acrylic capped' [-].
    gauge : float
        [m], above 0.
    semicrystalline : bool
        What to take a polymer for that is not in the table: HDPE if True, else ABS [-].

    Returns
    -------
    time : float
        [s]

    Raises
    ------
    OutsideRangeError
        The gauge is not above 0.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> round(rule_of_thumb_heating_time("ABS", 0.187 * INCH), 1)
    158.2
    """
    positive(gauge=gauge)
    otherwise = SEMICRYSTALLINE_REFERENCE_TIME if semicrystalline else AMORPHOUS_REFERENCE_TIME
    name = polymer_name.upper()
    begins = [known for known in REFERENCE_TIMES if name == known or name.startswith((f"{known} ", f"{known},"))]
    reference = REFERENCE_TIMES[max(begins, key=len)] if begins else otherwise
    return reference * (gauge / REFERENCE_GAUGE) ** GAUGE_EXPONENT


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
    even = _columns(load, *levels)
    found = np.concatenate((even, _columns(load, *_edge_levels(load, levels, even))), axis=2)
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
        columns[:, worth] = _columns(load.taken(worth), *settings)
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


def _columns(load: OvenLoad, upper: Array, lower: Array) -> Array:
    """The columns of the setting table for some settings of every case: columns, cases, settings."""
    cases = np.repeat(np.arange(upper.shape[0]), upper.shape[1])
    # Where both faces are heated alike, several settings at the edge of scorching are the same.
    rows, places = np.unique(np.column_stack((cases, upper.ravel(), lower.ravel())), axis=0, return_inverse=True)
    columns = _columns_of(load.taken(rows[:, 0].astype(int)), *rows[:, 1:].T)
    return columns[:, places.reshape(upper.shape)]


def _columns_of(many: OvenLoad, upper: Array, lower: Array) -> Array:
    around = many.around(upper, lower)
    marched = heated_to_window(many.sheets, many.start, around)
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
