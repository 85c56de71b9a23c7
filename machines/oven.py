"""What an oven does to a sheet at each heater setting, and which setting to run."""

from dataclasses import dataclass, replace

import numpy as np

from machines.heater_settings import SETTING_LEVELS, OvenLoad, SettingTable, setting_table
from machines.machine import Oven
from materials.exposure import sheets_of
from materials.polymer import Polymer
from materials.ranges import OutsideRangeError, positive
from materials.sheet import INCH, STOCKED_GAUGES

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
