"""What the values of one entry must be to each other, whatever each is alone."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from machines.machine import HeaterBank, Machine, Trimmer
from materials.polymer import NeedMet, Polymer
from materials.sheet import SheetOffer

Inconsistency = tuple[str, Any, str]  # key, what is given, what is accepted

# (dataclass, lower key, higher key, may they be equal)
ORDER: tuple[tuple[type, str, str, bool], ...] = (
    (HeaterBank, "lowest_temperature", "highest_temperature", False),
    (Machine, "smallest_opening_length", "largest_opening_length", True),
    (Machine, "smallest_opening_width", "largest_opening_width", True),
    (Machine, "thinnest_gauge", "thickest_gauge", True),
    (Polymer, "lower_forming_temperature", "normal_forming_temperature", True),
    (Polymer, "normal_forming_temperature", "upper_forming_temperature", True),
    (Polymer, "tool_temperature", "demould_temperature", False),
    (Polymer, "demould_temperature", "upper_forming_temperature", False),
    (SheetOffer, "thinnest_gauge", "thickest_gauge", True),
    (SheetOffer, "valid_from", "valid_to", True),
)

STATIONS: Mapping[str, tuple[int, int]] = {
    "single_station_shuttle": (1, 4),
    "three_station_rotary": (3, 3),
    "four_station_rotary": (4, 4),
    "twin_sheet_rotary": (3, 4),
}


def _out_of_order(becomes: type, values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    for owner, lower, higher, equal in ORDER:
        low, high = values.get(lower), values.get(higher)
        if owner is becomes and low is not None and high is not None and not (low < high or (equal and low == high)):
            yield higher, str(high), f"a value {'not below' if equal else 'above'} {lower}"


def _stations(values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    stations, kind = values.get("stations"), values.get("kind")
    if not isinstance(stations, tuple):
        return
    work = [job for station in stations for job in station.work]
    if any(work.count(job) != 1 for job in ("load", "form", "unload")) or "oven" not in work:
        yield "stations", "", "stations whose work holds load, form and unload once each, and an oven"
    if len({station.name for station in stations}) < len(stations):
        yield "stations", "", "stations with names of their own"
    least, most = STATIONS.get(kind, (1, len(stations)))
    if not least <= len(stations) <= most:
        number = f"{least}" if least == most else f"{least} to {most}"
        yield "stations", "", f"{number} stations for a {kind}"


def _machine(values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    yield from _stations(values)
    kind, twin, lock = values.get("kind"), values.get("twin_sheet"), values.get("lock_force")
    if kind == "twin_sheet_rotary" and twin is False:
        yield "twin_sheet", False, "true for a twin_sheet_rotary"
    if kind in ("single_station_shuttle", "three_station_rotary") and twin is True:
        yield "twin_sheet", True, f"false for a {kind}"
    if lock == 0 and (twin or values.get("pressure_capability", 0) > 0):
        yield "lock_force", "", "a force above zero on a machine that presses or joins two sheets"


def _trimmer(values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    for side in ("table_length", "table_width", "table_height"):
        if values.get("kind") == "five_axis" and values.get(side) == 0:
            yield side, "", "a length above zero for a five_axis router"


def _polymer(values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    semicrystalline, latent = values.get("semicrystalline"), values.get("latent_heat")
    if semicrystalline is True and latent == 0:
        yield "latent_heat", "", "a latent heat above zero for a semicrystalline polymer"
    if semicrystalline is False and latent:
        yield "latent_heat", "", "0 kJ/kg for a polymer that is not semicrystalline"


def _need(values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    if values.get("need") == "flame_v0" and values.get("thinnest_wall", 0) is None:
        yield "thinnest_wall", None, "the wall down to which the flame class holds"
    if values.get("expires") is not None and values.get("certificate", "") is None:
        yield "certificate", None, "the paper that expires"


def _offer(values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    tiers = values.get("tiers")
    if not isinstance(tiers, tuple):
        return
    starts = [tier.from_mass for tier in tiers]
    if starts[0] != 0 or any(later <= earlier for earlier, later in zip(starts, starts[1:], strict=False)):
        yield "tiers", "", "tiers that ascend by from_mass, the first from 0 lb"


_CHECKS: Mapping[type, Callable[[Mapping[str, Any]], Iterator[Inconsistency]]] = {
    Machine: _machine,
    Trimmer: _trimmer,
    Polymer: _polymer,
    NeedMet: _need,
    SheetOffer: _offer,
}


def inconsistencies(becomes: type, values: Mapping[str, Any]) -> Iterator[Inconsistency]:
    """Every way in which the values of one entry contradict each other; values that are absent are passed over.

    Parameters
    ----------
    becomes : type
        The dataclass the entry is for [-].
    values : Mapping
        What could be read of it, in SI [-].

    Returns
    -------
    inconsistencies : Iterator
        (key, what is given, what is accepted) [-].
    """
    yield from _out_of_order(becomes, values)
    if becomes in _CHECKS:
        yield from _CHECKS[becomes](values)
