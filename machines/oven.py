"""What an oven does to a sheet at each heater setting, and which setting to run."""

from dataclasses import dataclass, replace

import numpy as np

from machines.machine import HeaterBank, Oven
from materials.heating import HeatedSheet, Heaters, heated, net_flux
from materials.polymer import Polymer
from materials.ranges import OutsideRangeError, positive
from materials.sheet import INCH, STOCKED_GAUGES

SETTING_LEVELS = 9  # heater settings compared, evenly spaced over the range of the banks

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

CACHED_CASES = 20_000  # about 30 MB; emptied when full


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


_known: dict[tuple, tuple[OvenSetting, ...]] = {}


def oven_settings(cases: tuple[OvenCase, ...]) -> tuple[tuple[OvenSetting, ...], ...]:
    """What every heater setting does to every sheet, all of them marched at once.

    The settings run from the lowest to the highest temperature of the two banks; a bank that does not reach a level
    stays at the end of its own range. Physically equal cases are solved once and remembered.

    Parameters
    ----------
    cases : tuple of OvenCase
        Any number [SI].

    Returns
    -------
    settings : tuple of tuple of OvenSetting
        For each case its settings in ascending order [SI].

    Raises
    ------
    OutsideRangeError
        A gauge is not above 0, or a sheet starts above its normal forming temperature.
    """
    keys = [_physical(case) for case in cases]
    new = {key: case for key, case in zip(keys, cases, strict=True) if key not in _known}
    solved = dict(zip(new, _solved(tuple(new.values())), strict=True)) if new else {}
    found = tuple(solved[key] if key in solved else _known[key] for key in keys)
    if len(_known) + len(solved) > CACHED_CASES:
        _known.clear()
    _known.update(solved)
    return found


def choose_setting(settings: tuple[OvenSetting, ...], dwell_available: float) -> OvenSetting:
    """The gentlest setting that costs no time, else the fastest.

    The lowest feasible setting whose time fits the dwell that other stations leave; where none fits, the feasible
    setting with the least time. Where none is feasible, the one that comes closest to the window, limited by

    - power: the hottest setting does not reach the window either;
    - core: the slowest setting already scorches, or does not get the core ready in the longest heating allowed;
    - skin: the slowest lacks power and a hotter one scorches.

    Parameters
    ----------
    settings : tuple of OvenSetting
        In ascending order, one or more [SI].
    dwell_available : float
        Time that the sheet has in the oven without slowing the machine [s].

    Returns
    -------
    setting : OvenSetting
        [SI]

    Raises
    ------
    OutsideRangeError
        There are no settings.
    """
    if not settings:
        raise OutsideRangeError("settings", settings, "one or more")
    feasible = [setting for setting in settings if setting.feasible]
    fitting = [setting for setting in feasible if setting.time <= dwell_available]
    if fitting:
        return fitting[0]
    if feasible:
        return min(feasible, key=lambda setting: setting.time)
    closest = min(settings, key=lambda setting: setting.off_by)
    return replace(closest, limited_by=_limit_of_all(settings))


def thickest_gauge_reached(polymer: Polymer, oven: Oven, start: float) -> float | None:
    """Thickest stocked gauge that some setting of this oven brings into the forming window.

    Parameters
    ----------
    polymer : Polymer
        What is heated [SI].
    oven : Oven
        Where [SI].
    start : float
        Temperature of the sheet before [K].

    Returns
    -------
    gauge : float or None
        [m]; None where not even the thinnest is reached.
    """
    cases = tuple(OvenCase(polymer, gauge, oven, start) for gauge in STOCKED_GAUGES)
    reached = [
        case.gauge
        for case, settings in zip(cases, oven_settings(cases), strict=True)
        if any(setting.feasible for setting in settings)
    ]
    return max(reached, default=None)


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


def setting_levels(oven: Oven) -> tuple[tuple[float, float], ...]:
    """Upper and lower heater temperature at each setting.

    Parameters
    ----------
    oven : Oven
        [SI]

    Returns
    -------
    levels : tuple of (float, float)
        Ascending [K]. A single pair where the banks have but one temperature.
    """
    lowest = min(oven.upper.lowest_temperature, oven.lower.lowest_temperature)
    highest = max(oven.upper.highest_temperature, oven.lower.highest_temperature)
    levels = np.linspace(lowest, highest, SETTING_LEVELS).tolist() if highest > lowest else [lowest]
    return tuple((_clipped(oven.upper, level), _clipped(oven.lower, level)) for level in levels)


def _clipped(bank: HeaterBank, level: float) -> float:
    return min(max(level, bank.lowest_temperature), bank.highest_temperature)


def _physical(case: OvenCase) -> tuple:
    """Everything the answer depends on: not the names."""
    p, oven = case.polymer, case.oven
    banks = tuple(
        (bank.lowest_temperature, bank.highest_temperature, bank.emissivity, bank.view_factor)
        for bank in (oven.upper, oven.lower)
    )
    heat = (p.specific_heat_solid, p.specific_heat_hot, p.step_temperature)
    melting = (p.latent_heat, p.melting_temperature, p.melting_width)
    window = (p.lower_forming_temperature, p.normal_forming_temperature, p.upper_forming_temperature)
    sheet = (case.gauge, case.start, p.density, p.conductivity, p.emissivity)
    return (*sheet, *heat, *melting, *window, oven.air_temperature, oven.air_film_coefficient, *banks)


def _solved(cases: tuple[OvenCase, ...]) -> tuple[tuple[OvenSetting, ...], ...]:
    pairs = [(case, level) for case in cases for level in setting_levels(case.oven)]
    sheets = tuple(_sheet(case, level) for case, level in pairs)
    marched = heated(sheets)
    columns = zip(
        marched.time.tolist(),
        marched.hottest_ever.tolist(),
        marched.profile.min(axis=0).tolist(),
        marched.mean.tolist(),
        marched.energy.tolist(),
        marched.done.tolist(),
        strict=True,
    )
    settings = (_setting(sheet, *column) for sheet, column in zip(sheets, columns, strict=True))
    return tuple(tuple(next(settings) for _ in setting_levels(case.oven)) for case in cases)


def _sheet(case: OvenCase, level: tuple[float, float]) -> HeatedSheet:
    upper, lower = (
        Heaters(temperature, bank.emissivity, bank.view_factor)
        for temperature, bank in zip(level, (case.oven.upper, case.oven.lower), strict=True)
    )
    oven = case.oven
    return HeatedSheet(
        case.polymer, case.gauge, case.start, upper, lower, oven.air_temperature, oven.air_film_coefficient
    )


def _setting(
    sheet: HeatedSheet, time: float, peak: float, core: float, mean: float, energy: float, done: bool
) -> OvenSetting:
    polymer = sheet.polymer
    scorched = max(peak - polymer.upper_forming_temperature, 0.0)
    cold = 0.0 if done else _cold(polymer, core, mean)
    limited_by = "skin" if scorched else "" if done else _slow_or_weak(sheet)
    return OvenSetting(
        upper_heater=sheet.upper.temperature,
        lower_heater=sheet.lower.temperature,
        time=time,
        surface_peak=peak,
        core_at_exit=core,
        mean_at_exit=mean,
        energy_per_area=energy,
        feasible=not limited_by,
        limited_by=limited_by,
        off_by=scorched + cold,
    )


def _cold(polymer: Polymer, core: float, mean: float) -> float:
    return max(polymer.lower_forming_temperature - core, 0.0) + max(polymer.normal_forming_temperature - mean, 0.0)


def _slow_or_weak(sheet: HeatedSheet) -> str:
    """'power' where no heat flows into a sheet at its normal forming temperature, 'core' where it is merely slow."""
    target = sheet.polymer.normal_forming_temperature
    flow = sum(
        net_flux(bank, sheet.polymer.emissivity, target, sheet.air_temperature, sheet.air_film_coefficient)
        for bank in (sheet.upper, sheet.lower)
    )
    return "core" if flow > 0 else "power"


def _limit_of_all(settings: tuple[OvenSetting, ...]) -> str:
    slowest, hottest = settings[0].limited_by, settings[-1].limited_by
    if hottest == "power":
        return "power"
    return "skin" if slowest == "power" else "core"
