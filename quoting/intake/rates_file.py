"""The rate file: dated rows of key, value and source to the rates in force on one day."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from quoting.catalog import (
    SPREAD_INPUTS,
    AdviceRates,
    CoatingRate,
    FormingRates,
    FreightRates,
    MarginRates,
    OperationRate,
    PackingRates,
    PriceRates,
    Rates,
    SecondaryRates,
    SheetRates,
    Spread,
    ToolingRate,
    ToolRoomRate,
    ToolRoomRates,
    ToolWorkRates,
    TransferRates,
    TransitRates,
    TrimRates,
)
from quoting.intake.catalog_fields import Shape
from quoting.intake.catalog_objects import read_entries, read_fields, refuse_doubles
from quoting.intake.catalog_values import ABSENT, OPERATION_FIXTURES, Problems, RefusedError, accepted, read_value
from quoting.intake.coatings import COATED
from quoting.intake.part import SECONDARY_OPERATIONS
from quoting.intake.planning_keys import planning_kind

TOOLS = (
    "prototype", "cast_aluminium", "machined_aluminium", "pressure_tool", "pressure_box", "twin_sheet_pair", "plug",
    "trim_fixture", "hand_trim_jig", "drill_fixture", "check_fixture", "cooling_fixture", *OPERATION_FIXTURES,
)  # fmt: skip

SECTIONS: Mapping[str, tuple[type, Mapping[str, str]]] = {
    "forming": (
        FormingRates,
        {
            "scrap_vacuum": "exact_share",
            "scrap_pressure": "exact_share",
            "scrap_twin_sheet": "exact_share",
            "startup_shots_vacuum": "exact_number",
            "startup_shots_pressure": "exact_number",
            "startup_shots_twin_sheet": "exact_number",
            "setup_inspection": "money",
        },
    ),
    "sheet": (
        SheetRates,
        {
            "billed_weight_factor": "exact_number",
            "regrind_recovery": "exact_part_of_one",
            "material_handling": "exact_share",
            "regrind_share_food_contact": "exact_share",
            "regrind_share_flame_v0": "exact_share",
        },
    ),
    "trim": (
        TrimRates,
        {
            "scrap": "exact_share",
            "hole_time": "exact_time",
            "opening_time": "exact_time",
            "tool_changes": "exact_number",
            "tool_change_time": "exact_time",
            "rapid_time": "exact_time",
            "load_time": "exact_time",
            "swap_time": "exact_time",
            "deburr_time_per_metre": "exact_time",
            "heavy_gauge": "size",
            "hand_feed": "feed",
            "hand_hole_time": "exact_time",
        },
    ),
    "secondary": (SecondaryRates, {"standard_at": "count_text"}),
    "packing": (
        PackingRates,
        {
            "pallet_length": "size",
            "pallet_width": "size",
            "pallet_height": "length",
            "pallet_mass": "mass",
            "wrap_mass": "mass",
            "interleaf_mass": "mass",
            "interleaf_thickness": "length",
            "parts_per_interleaf": "count_text",
            "highest_load": "size",
            "heaviest_load": "mass_above_zero",
            "least_nesting_pitch": "size",
            "pallet_cost": "money",
            "wrap_and_label_cost": "money",
            "interleaf_cost": "money",
            "ltl_foam_cost": "money",
            "pack_time": "exact_time",
        },
    ),
    "freight": (
        FreightRates,
        {
            "circuity": "ratio_from_one",
            "least_distance": "length",
            "ltl_base": "money",
            "ltl_per_mile": "money",
            "ltl_minimum": "money",
            "ltl_fuel_surcharge": "exact_share",
            "ltl_longest": "size",
            "ltl_heaviest": "mass_above_zero",
            "ltl_most_pallets": "count_text",
            "cubic_volume": "volume",
            "cubic_density_pcf": "pcf",
            "linehaul_per_mile": "money",
            "truckload_minimum": "money",
            "diesel_per_gallon": "money",
            "diesel_peg": "money",
            "miles_per_gallon": "exact_number_above_zero",
            "truck_length": "size",
            "truck_width": "size",
            "truck_height": "size",
            "truck_payload": "mass_above_zero",
        },
    ),
    "tool_work": (
        ToolWorkRates,
        {
            "texture_per_square_foot": "money",
            "texture_least": "money",
            "texture_weeks": "weeks",
            "slide_price": "money",
            "prototype_shots": "count_text",
            "small_programme": "count_text",
        },
    ),
    "transfer": (
        TransferRates,
        {"sampling_shots": "count_text", "repairs_low": "exact_share", "repairs_high": "exact_share"},
    ),
    "price": (
        PriceRates,
        {
            "overhead": "exact_share",
            "margin": "exact_share",
            "programme_years": "exact_number_above_zero",
            "minimum_release_price": "money",
            "validity_days": "count_text",
            "trim_and_pack_weeks": "weeks",
            "first_article_weeks": "weeks",
            "transfer_inspection": "money",
            "transfer_weeks": "weeks",
            "tooling_carrying_rate": "exact_share",
            "margin_floor": "exact_share",
            "manager_limit": "money",
        },
    ),
    "margin": (
        MarginRates,
        {
            "twin_sheet": "exact_share",
            "tight_tolerance": "exact_share",
            "transferred_tool": "exact_share",
            "deep_draw": "exact_share",
            "custom_colour": "exact_share",
            "agency": "exact_share",
            "near_limit": "exact_part_of_one",
            "most": "exact_share",
        },
    ),
    "advice": (
        AdviceRates,
        {
            "stock_carrying": "exact_part_of_one",
            "resin_share": "exact_part_of_one",
            "resin_threshold": "exact_share",
        },
    ),
}

OPERATION = {
    "seconds": "exact_time",
    "material": "money",
    "learning": "exact_learning",
    "fixture": "operation_fixture",
}
COATING = {
    "film": "size",
    "solids": "exact_part_of_one",
    "transfer": "exact_part_of_one",
    "price_per_gallon": "money",
    "spray_seconds_per_square_metre": "exact_time",
    "mask_seconds_per_metre": "exact_time",
    "dry_time": "exact_time",
    "dry_rate": "money",
    "dry_floor": "area",
}
TOOL = {"price": "money", "reference_area": "area", "cavity_share": "exact_share", "lead_time_weeks": "weeks"}

LTL_BREAK = re.compile(r"freight\.ltl_breaks\.(0|[1-9][0-9]{0,5})", re.ASCII)
LTL_BREAK_KIND = "exact_number_above_zero"
FIRST_LTL_BREAK = "freight.ltl_breaks.0"
SPREAD_KIND = "factors"


def _rate_kinds() -> dict[str, str]:
    kinds = {f"{section}.{field}": kind for section, (_, table) in SECTIONS.items() for field, kind in table.items()}
    kinds |= {f"operations.{name}.{field}": kind for name in SECONDARY_OPERATIONS for field, kind in OPERATION.items()}
    kinds |= {f"coating.{name}.{field}": kind for name in COATED for field, kind in COATING.items()}
    kinds |= {f"tooling.{name}.{field}": kind for name in TOOLS for field, kind in TOOL.items()}
    return kinds | {FIRST_LTL_BREAK: LTL_BREAK_KIND}


# Every key a rate file must have; further ones may only be freight.ltl_breaks.<pounds>, those of SPREAD_KEYS and
# all or none of TRANSIT_KEYS and of TOOL_ROOM_KEYS; those of planning_keys are read for planning alone.
RATE_KINDS: Mapping[str, str] = MappingProxyType(_rate_kinds())
# An input without such a row is not varied in the range of error, and the range says so.
SPREAD_KEYS: Mapping[str, str] = MappingProxyType({f"error.{name}": name for name in SPREAD_INPUTS})


@dataclass(frozen=True)
class RateRow:
    """One dated rate as read."""

    key: str
    value: Any
    valid_from: date
    source: str


ROW = Shape(RateRow, MappingProxyType({"key": "text", "value": "rate_text", "valid_from": "date", "source": "text"}))


# Without these rows no date counts the way to the customer.
TRANSIT = {"truckload_per_day": "size", "ltl_per_day": "size", "ltl_terminal_weeks": "weeks"}
TRANSIT_KEYS: Mapping[str, str] = MappingProxyType({f"transit.{name}": kind for name, kind in TRANSIT.items()})

# Without these rows no tool takes hours of a tool room. A prototype tool is none of the programme.
IN_TOOL_ROOM = tuple(sorted(name for name in TOOLS if name != "prototype"))
TOOL_IN_ROOM = ("fitting", "try_out")
ROOM_WORK = ("texture_per_square_foot", "moving_section", "transferred_tool")
TOOL_ROOM_KEYS: Mapping[str, str] = MappingProxyType(
    {f"tool_room.{name}.{field}": "hours_or_none" for name in IN_TOOL_ROOM for field in TOOL_IN_ROOM}
    | {f"tool_room.{field}": "hours_or_none" for field in ROOM_WORK}
)
ALL_OR_NONE: Mapping[str, Mapping[str, str]] = MappingProxyType({"transit": TRANSIT_KEYS, "tool_room": TOOL_ROOM_KEYS})


def rate_kind(key: str) -> str | None:
    """The kind of value that a rate key takes.

    Parameters
    ----------
    key : str
        Section and field, such as ``trim.hole_time`` [-].

    Returns
    -------
    kind : str or None
        None for a key that is not known [-].

    Examples
    --------
    >>> rate_kind("trim.hole_time"), rate_kind("freight.ltl_breaks.500"), rate_kind("trim.hole_tim")
    ('exact_time', 'exact_number_above_zero', None)
    """
    if key in SPREAD_KEYS:
        return SPREAD_KIND
    for keys in ALL_OR_NONE.values():
        if key in keys:
            return keys[key]
    return RATE_KINDS.get(key) or (LTL_BREAK_KIND if LTL_BREAK.fullmatch(key) else planning_kind(key))


def _row(raw: Any, path: str, problems: Problems) -> RateRow | None:
    values = read_fields(raw, ROW, path, problems)
    kind = rate_kind(values.get("key", ""))
    if "key" in values and kind is None:
        problems.add(f"{path}.key", values["key"], "the key of a rate, such as trim.hole_time")
    if kind is None or "value" not in values:
        return None
    try:
        values["value"] = read_value(values["value"], kind)
    except RefusedError as refused:
        problems.add(f"{path}.value", values["value"], refused.accepted)
        return None
    return RateRow(**values) if len(values) == len(ROW.kinds) else None


def _in_force(rows: list[RateRow], on: date) -> dict[str, RateRow]:
    newest: dict[str, RateRow] = {}
    for row in sorted(rows, key=lambda row: row.valid_from):
        if row.valid_from <= on:
            newest[row.key] = row
    return newest


def _refuse_missing(rows: list[RateRow], now: Mapping[str, RateRow], named: set[str], on: date, problems: Problems):
    later = {row.key for row in rows} - set(now)
    for key, kind in RATE_KINDS.items():
        if key in later:
            problems.add(f"rates.{key}", "only values for later days", f"a row valid on {on.isoformat()}")
        elif key not in named:
            problems.add(f"rates.{key}", ABSENT, accepted(kind))


def _section(name: str, values: Mapping[str, Any], **further: Any) -> Any:
    becomes, table = SECTIONS[name]
    return becomes(**{field: values[f"{name}.{field}"] for field in table}, **further)


def _ltl_breaks(values: Mapping[str, Any]) -> tuple[tuple[int, Decimal], ...]:
    found = ((LTL_BREAK.fullmatch(key), factor) for key, factor in values.items())
    return tuple(sorted((int(match[1]), factor) for match, factor in found if match))


def _transit(values: Mapping[str, Any]) -> TransitRates | None:
    known = {name: values[f"transit.{name}"] for name in TRANSIT if f"transit.{name}" in values}
    return TransitRates(**known) if len(known) == len(TRANSIT) else None


def _tool_room(values: Mapping[str, Any]) -> ToolRoomRates | None:
    if not all(key in values for key in TOOL_ROOM_KEYS):
        return None
    tools = tuple(
        ToolRoomRate(name, **{field: values[f"tool_room.{name}.{field}"] for field in TOOL_IN_ROOM})
        for name in IN_TOOL_ROOM
    )
    return ToolRoomRates(tools, **{field: values[f"tool_room.{field}"] for field in ROOM_WORK})


def _rates(now: Mapping[str, RateRow]) -> Rates:
    values = {key: row.value for key, row in now.items()}
    return Rates(
        forming=_section("forming", values),
        sheet=_section("sheet", values),
        trim=_section("trim", values),
        operations=tuple(
            OperationRate(name, **{field: values[f"operations.{name}.{field}"] for field in OPERATION})
            for name in sorted(SECONDARY_OPERATIONS)
        ),
        secondary=_section("secondary", values),
        packing=_section("packing", values),
        freight=_section("freight", values, ltl_breaks=_ltl_breaks(values)),
        tooling=tuple(
            ToolingRate(name, **{field: values[f"tooling.{name}.{field}"] for field in TOOL}) for name in sorted(TOOLS)
        ),
        tool_work=_section("tool_work", values),
        transfer=_section("transfer", values),
        price=_section("price", values),
        margin=_section("margin", values),
        advice=_section("advice", values),
        sources=tuple((key, now[key].source, now[key].valid_from) for key in sorted(now) if not planning_kind(key)),
        coatings=tuple(
            CoatingRate(name, **{field: values[f"coating.{name}.{field}"] for field in COATING}) for name in COATED
        ),
        tool_room=_tool_room(values),
        transit=_transit(values),
        spreads=tuple(Spread(name, *values[key]) for key, name in SPREAD_KEYS.items() if key in values),
    )


SCRAPS = {
    "error.trim_scrap": ("trim.scrap",),
    "error.form_scrap": ("forming.scrap_vacuum", "forming.scrap_pressure", "forming.scrap_twin_sheet"),
}


def _refuse_all_scrap(now: Mapping[str, RateRow], problems: Problems) -> None:
    """A scrap share times its most factor that leaves no good part."""
    for key, shares in SCRAPS.items():
        scrap = max((float(now[share].value) for share in shares if share in now), default=0.0)
        if key in now and scrap * now[key].value[1] >= 1:
            given = f"up to {now[key].value[1]:g}"
            problems.add(f"rates.{key}", given, f"a most below {1 / scrap:.3g}, at which everything would be scrap")


def _refuse_halves(now: Mapping[str, RateRow], problems: Problems) -> None:
    for section, keys in ALL_OR_NONE.items():
        lacking = [key for key in keys if key not in now]
        for key in lacking if len(lacking) < len(keys) else ():
            problems.add(f"rates.{key}", ABSENT, f"{accepted(keys[key])}, or none of the rows {section}.*")


def read_rates(raw: Any, on: date) -> Rates:
    """The rates in force on a day: of several rows for one key the newest that is valid by then.

    Parameters
    ----------
    raw : Any
        The parsed JSON: ``{"rates": [{"key", "value", "valid_from", "source"}, ...]}`` [-].
    on : date
        Day of the answer [-].

    Returns
    -------
    rates : Rates
        Money, shares and counted times as Decimal, lengths and masses SI [-].

    Raises
    ------
    InputErrors
        Naming every wrong row, every unknown key, and every key without a value on that day.
    """
    problems = Problems()
    entries = read_entries(raw, ("rates",), problems)["rates"]
    read = [(path, _row(item, path, problems)) for path, item in entries]
    rows = [(path, row) for path, row in read if row]
    dated = ((f"{path}.valid_from", f"{row.key} from {row.valid_from.isoformat()}") for path, row in rows)
    refuse_doubles(dated, problems)
    now = _in_force([row for _, row in rows], on)
    named = {item.get("key") for _, item in entries if isinstance(item, dict) and isinstance(item.get("key"), str)}
    _refuse_missing([row for _, row in rows], now, named, on, problems)
    _refuse_all_scrap(now, problems)
    _refuse_halves(now, problems)
    problems.raise_if_any()
    return _rates(now)
