"""The plant, material and rate files: what is read, and that nothing wrong passes or hides another wrong."""

import json
from copy import deepcopy
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from quoting.intake.catalog_fields import (
    HEATER_BANK,
    MACHINE,
    NEED,
    OFFER,
    OPTIONAL_PROPERTIES,
    OVEN,
    PLANT,
    POLYMER,
    TIER,
    TRIMMER,
)
from quoting.intake.catalog_file import POLYMER_PROPERTIES, read_materials, read_plants, read_rates
from quoting.intake.part import SECONDARY_OPERATIONS
from quoting.intake.rates_file import RATE_KINDS, SPREAD_KEYS, TOOLS
from quoting.intake.reading_result import InputErrors

FIXTURES = Path(__file__).resolve().parents[3] / "fixtures"
DAY = date(2026, 11, 25)


def load(name):
    return json.loads((FIXTURES / name).read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def shipped():
    return {name: load(name) for name in ("demo/plants.json", "demo/materials.json", "reference/rates.json")}


@pytest.fixture
def plants(shipped):
    return deepcopy(shipped["demo/plants.json"])


@pytest.fixture
def materials(shipped):
    return deepcopy(shipped["demo/materials.json"])


@pytest.fixture
def rates(shipped):
    return deepcopy(shipped["reference/rates.json"])


def errors(read, raw, *more):
    with pytest.raises(InputErrors) as caught:
        read(raw, *more)
    return {error.field: error for error in caught.value.errors}


def row(rates, key):
    return next(item for item in rates["rates"] if item["key"] == key)


def test_the_shipped_plants_are_read_in_order_of_their_codes(plants):
    read, machines = read_plants(plants)
    assert [plant.code for plant in read] == ["ALDER", "QUARRY", "RIVERS"]
    assert [machine.code for machine in machines] == sorted(machine.code for machine in machines)
    assert {machine.plant for machine in machines} == {"ALDER", "QUARRY", "RIVERS"}


def test_lengths_temperatures_money_and_shares_arrive_in_si_and_exact_decimals(plants):
    machine = plants["plants"][0]["machines"][0]
    machine |= {"platen_length": "18 ft", "lock_force": "100 ton", "efficiency": "80 %", "hour_rate": "155.25"}
    machine["oven"]["air_temperature"] = "212 degF"
    read = {one.code: one for one in read_plants(plants)[1]}[machine["code"]]
    assert read.platen_length == pytest.approx(18 * 0.3048)
    # 1 lbf = 4.4482216152605 N exactly; 100 short tons-force are 200,000 lbf
    assert read.lock_force == pytest.approx(200_000 * 4.4482216152605)
    assert (read.efficiency, read.hour_rate) == (pytest.approx(0.80), Decimal("155.25"))
    assert read.oven.air_temperature == pytest.approx(373.15)


def test_a_plant_is_placed_by_its_postal_code(plants):
    plants["plants"][0]["postal_code"] = "60601"
    moved = read_plants(plants)[0][0]
    assert (moved.latitude, moved.longitude) == pytest.approx((41.8858, -87.6181), abs=1e-4)


def test_hours_and_weeks_are_read_as_hours_and_weeks(plants, materials):
    plants["plants"][0]["machines"][0]["setup_hours"] = "90 min"
    materials["offers"][0]["lead_time_weeks"] = "14 days"
    assert 1.5 in {machine.setup_hours for machine in read_plants(plants)[1]}
    first = materials["offers"][0]["name"]
    assert {offer.name: offer.lead_time_weeks for offer in read_materials(materials)[1]}[first] == 2.0


def test_order_in_the_plant_file_changes_nothing(plants):
    before = read_plants(deepcopy(plants))
    plants["plants"].reverse()
    for plant in plants["plants"]:
        for key in ("machines", "trimmers", "assembly"):
            plant[key].reverse()
    assert read_plants(plants) == before


def test_order_in_the_material_file_changes_nothing(materials):
    before = read_materials(deepcopy(materials))
    materials["polymers"].reverse()
    materials["offers"].reverse()
    for polymer in materials["polymers"]:
        polymer["needs"].reverse()
        polymer["properties"] = dict(reversed(polymer["properties"].items()))
    assert read_materials(materials) == before


def test_order_in_the_rate_file_changes_nothing(rates):
    before = read_rates(deepcopy(rates), DAY)
    rates["rates"].reverse()
    assert read_rates(rates, DAY) == before


# Missing and unknown keys ---------------------------------------------------------------------------------------------

PLANT_PARTS = (
    (
        "plants[0]",
        lambda raw: raw["plants"][0],
        (*(key for key in PLANT.kinds if key not in PLANT.optional), "machines"),
    ),
    ("plants[0].trimmers[1]", lambda raw: raw["plants"][0]["trimmers"][1], tuple(TRIMMER.kinds)),
    ("plants[1].machines[2]", lambda raw: raw["plants"][1]["machines"][2], tuple(MACHINE.kinds)),
    ("plants[0].machines[0].stations[0]", lambda raw: raw["plants"][0]["machines"][0]["stations"][0], ("name", "work")),
    ("plants[0].machines[0].oven", lambda raw: raw["plants"][0]["machines"][0]["oven"], tuple(OVEN.kinds)),
    (
        "plants[0].machines[0].oven.lower",
        lambda raw: raw["plants"][0]["machines"][0]["oven"]["lower"],
        tuple(HEATER_BANK.kinds),
    ),
)
NEEDED_PROPERTIES = tuple(name for name in POLYMER_PROPERTIES if name not in OPTIONAL_PROPERTIES)

MATERIAL_PARTS = (
    ("polymers[0]", lambda raw: raw["polymers"][0], (*POLYMER.kinds, "properties")),
    ("polymers[3].properties", lambda raw: raw["polymers"][3]["properties"], NEEDED_PROPERTIES),
    (
        "polymers[0].properties.density",
        lambda raw: raw["polymers"][0]["properties"]["density"],
        ("value", "source"),
    ),
    ("polymers[0].needs[0]", lambda raw: raw["polymers"][0]["needs"][0], tuple(NEED.kinds)),
    ("offers[1]", lambda raw: raw["offers"][1], tuple(OFFER.kinds)),
    ("offers[1].tiers[0]", lambda raw: raw["offers"][1]["tiers"][0], tuple(TIER.kinds)),
)
EVERY_KEY = [
    (name, read, path, part, key)
    for name, read, parts in (
        ("demo/plants.json", read_plants, PLANT_PARTS),
        ("demo/materials.json", read_materials, MATERIAL_PARTS),
    )
    for path, part, keys in parts
    for key in keys
]


@pytest.mark.parametrize(
    ("name", "read", "path", "part", "key"), EVERY_KEY, ids=lambda value: value if isinstance(value, str) else ""
)
def test_each_missing_key_is_refused_by_name(shipped, name, read, path, part, key):
    raw = deepcopy(shipped[name])
    del part(raw)[key]
    found = errors(read, raw)
    assert list(found) == [f"{path}.{key}"]
    assert found[f"{path}.{key}"].given == "nothing"


@pytest.mark.parametrize(
    ("name", "read", "path", "part", "key"), EVERY_KEY, ids=lambda value: value if isinstance(value, str) else ""
)
def test_each_misspelt_key_is_refused_by_both_names(shipped, name, read, path, part, key):
    raw = deepcopy(shipped[name])
    owner = part(raw)
    owner[f"{key}z"] = owner.pop(key)
    found = errors(read, raw)
    assert set(found) == {f"{path}.{key}", f"{path}.{key}z"}
    assert key in found[f"{path}.{key}z"].accepted


@pytest.mark.parametrize("read", [read_plants, read_materials, lambda raw: read_rates(raw, DAY)])
@pytest.mark.parametrize("raw", [None, [], "plants", 7, {}])
def test_what_is_no_catalog_file_is_refused_as_input(read, raw):
    assert errors(read, raw)


def test_a_plant_says_how_many_work_at_bench_and_tool_room_at_once_or_has_one_and_none(plants):
    plants["plants"][0] |= {"assembly_places": 4, "tool_room_places": 3}
    for name in ("assembly_places", "tool_room_places"):
        plants["plants"][1].pop(name, None)
    read = {one.code: one for one in read_plants(plants)[0]}
    first, second = (read[each["code"]] for each in plants["plants"][:2])

    assert (first.assembly_places, first.tool_room_places) == (4, 3)
    assert (second.assembly_places, second.tool_room_places) == (1, 0)
    plants["plants"][0]["tool_room_places"] = 501
    assert list(errors(read_plants, plants)) == ["plants[0].tool_room_places"]


def test_an_unknown_list_beside_the_plants_is_refused_by_name(plants):
    plants["machines"] = []
    assert list(errors(read_plants, plants)) == ["machines"]


# Wrong values ---------------------------------------------------------------------------------------------------------


def machine(raw):
    return raw["plants"][0]["machines"][2]


MACHINE_PATH = "plants[0].machines[2]"

WRONG_PLANT_VALUES = [
    ("lock_force", "300"),
    ("lock_force", 300),
    ("lock_force", "300 psi"),
    ("platen_length", "0 in"),
    ("thinnest_gauge", "-1 mm"),
    ("vacuum_pressure", "20 psi"),
    ("efficiency", "120 %"),
    ("efficiency", "0 %"),
    ("hour_rate", 98),
    ("hour_rate", "98,00"),
    ("crew", "2"),
    ("crew", 0),
    ("crew", True),
    ("twin_sheet", "false"),
    ("kind", "two_station_rotary"),
    ("kind", ["three_station_rotary"]),
    ("index_time", "fast"),
    ("code", ""),
    ("stations", "load, oven, form"),
    ("oven", None),
]


@pytest.mark.parametrize(("key", "given"), WRONG_PLANT_VALUES)
def test_a_wrong_value_of_a_machine_is_refused_at_its_field(plants, key, given):
    machine(plants)[key] = given
    assert list(errors(read_plants, plants)) == [f"{MACHINE_PATH}.{key}"]


@pytest.mark.parametrize(
    ("key", "given"),
    [
        ("postal_code", "00000"),
        ("postal_code", 49503),
        ("country", "CA"),
        ("state", "Michigan"),
        ("time_zone", "America/Nowhere"),
        ("shifts_per_day", 0),
        ("shifts_per_day", "2"),
        ("days_per_week", 8),
        ("assembly", ["insert", "insert"]),
        ("assembly", ["glue"]),
        ("labour_rate", "-1"),
    ],
)
def test_a_wrong_value_of_a_plant_is_refused_at_its_field(plants, key, given):
    plants["plants"][0][key] = given
    assert list(errors(read_plants, plants)) == [f"plants[0].{key}"]


def test_every_wrong_value_is_listed_at_once(plants):
    machine(plants)["lock_force"] = "300"
    machine(plants)["oven"]["upper"]["view_factor"] = "2"
    plants["plants"][1]["postal_code"] = "1"
    plants["plants"][2]["trimmers"][0]["feed"] = "5"
    assert list(errors(read_plants, plants)) == [
        f"{MACHINE_PATH}.oven.upper.view_factor",
        f"{MACHINE_PATH}.lock_force",
        "plants[1].postal_code",
        "plants[2].trimmers[0].feed",
    ]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda m: m.update(smallest_opening_length="90 in"), "largest_opening_length"),
        (lambda m: m.update(smallest_opening_width="61 in"), "largest_opening_width"),
        (lambda m: m.update(thinnest_gauge="0.4 in"), "thickest_gauge"),
        (lambda m: m["oven"]["upper"].update(lowest_temperature="480 degC"), "oven.upper.highest_temperature"),
        (lambda m: m.update(lock_force="0 ton"), "lock_force"),
        (lambda m: m.update(twin_sheet=True), "twin_sheet"),
        (lambda m: m["stations"].pop(), "stations"),
        (lambda m: m["stations"][1].update(work=["preheat"]), "stations"),
        (lambda m: m["stations"][1].update(name=m["stations"][0]["name"]), "stations"),
        (lambda m: m["stations"][1].update(work=["oven", "load"]), "stations"),
        (lambda m: m.update(kind="four_station_rotary"), "stations"),
    ],
)
def test_values_of_a_machine_that_contradict_each_other_are_refused(plants, change, field):
    change(machine(plants))
    assert list(errors(read_plants, plants)) == [f"{MACHINE_PATH}.{field}"]


def test_a_machine_may_open_no_further_than_its_smallest_frame(plants):
    machine(plants)["smallest_opening_length"] = machine(plants)["largest_opening_length"]
    read_plants(plants)


def test_codes_used_twice_are_refused_at_the_second(plants):
    plants["plants"][1]["machines"][0]["code"] = plants["plants"][0]["machines"][0]["code"]
    plants["plants"][2]["code"] = plants["plants"][0]["code"]
    assert set(errors(read_plants, plants)) == {"plants[1].machines[0].code", "plants[2].code"}


def test_a_router_without_a_table_is_refused_but_a_bench_is_not(plants):
    plants["plants"][0]["trimmers"][0]["table_width"] = "0 in"
    assert list(errors(read_plants, plants)) == ["plants[0].trimmers[0].table_width"]


# Materials ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "given", "at"),
    [
        ("lower_forming_temperature", "160 degC", "normal_forming_temperature"),
        ("upper_forming_temperature", "140 degC", "upper_forming_temperature"),
        ("tool_temperature", "85 degC", "demould_temperature"),
        ("latent_heat", "20 kJ/kg", "latent_heat"),
        ("density", "0 kg/m^3", "density"),
        ("density", "1040", "density"),
        ("emissivity", "1.2", "emissivity"),
        ("melting_width", "0 delta_degC", "melting_width"),
        ("shrinkage", "100 %", "shrinkage"),
        ("tool_temperature", "65", "tool_temperature"),
    ],
)
def test_a_wrong_property_is_refused_at_its_value(materials, name, given, at):
    materials["polymers"][0]["properties"][name]["value"] = given
    assert list(errors(read_materials, materials)) == [f"polymers[0].properties.{at}.value"]


def test_a_property_without_words_for_its_source_is_refused(materials):
    materials["polymers"][0]["properties"]["density"]["source"] = " "
    assert list(errors(read_materials, materials)) == ["polymers[0].properties.density.source"]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda o: o.update(polymer="ABSS"), "polymer"),
        (lambda o: o.update(valid_to="2025-12-31"), "valid_to"),
        (lambda o: o.update(valid_from="1.1.2026"), "valid_from"),
        (lambda o: o.update(thickest_gauge="1 mm"), "thickest_gauge"),
        (lambda o: o.update(colour="blue"), "colour"),
        (lambda o: o.update(tiers=[]), "tiers"),
        (lambda o: o["tiers"].reverse(), "tiers"),
        (lambda o: o["tiers"][0].update(from_mass="1 lb"), "tiers"),
        (lambda o: o["tiers"][1].update(price_per_pound="2.05 $"), "tiers[1].price_per_pound"),
        (lambda o: o.update(minimum_order="-5 lb"), "minimum_order"),
        (lambda o: o.update(gauge_tolerance="10"), "gauge_tolerance"),
    ],
)
def test_a_wrong_offer_is_refused_at_its_field(materials, change, field):
    change(materials["offers"][0])
    assert list(errors(read_materials, materials)) == [f"offers[0].{field}"]


def test_offers_of_a_polymer_that_is_wrong_in_itself_are_not_called_unknown(materials):
    materials["polymers"][0]["properties"]["density"]["value"] = "heavy"
    assert list(errors(read_materials, materials)) == ["polymers[0].properties.density.value"]


def test_names_used_twice_are_refused_at_the_second(materials):
    materials["offers"][2]["name"] = materials["offers"][0]["name"]
    materials["polymers"][0]["needs"].append(materials["polymers"][0]["needs"][0])
    found = errors(read_materials, materials)
    last = len(materials["polymers"][0]["needs"]) - 1
    assert set(found) == {"offers[2].name", f"polymers[0].needs[{last}].need"}


def test_a_flame_class_without_its_thinnest_wall_is_refused(materials):
    number, need = next(
        (n, m)
        for n, polymer in enumerate(materials["polymers"])
        for m, need in enumerate(polymer["needs"])
        if need["need"] == "flame_v0"
    )
    materials["polymers"][number]["needs"][need]["thinnest_wall"] = None
    assert list(errors(read_materials, materials)) == [f"polymers[{number}].needs[{need}].thinnest_wall"]


def test_each_property_keeps_its_source(materials):
    abs_sheet = next(polymer for polymer in read_materials(materials)[0] if polymer.name == "ABS")
    assert [name for name, _ in abs_sheet.sources] == list(NEEDED_PROPERTIES)
    assert dict(abs_sheet.sources)["density"] == materials["polymers"][0]["properties"]["density"]["source"]


def test_a_sheet_is_opaque_unless_its_extinction_is_given(materials):
    by_name = {polymer.name: polymer for polymer in read_materials(materials)[0]}
    assert by_name["ABS"].extinction is None
    assert by_name["PMMA"].extinction == pytest.approx(2000.0)


# Rates ----------------------------------------------------------------------------------------------------------------


def test_rates_arrive_as_exact_decimals_and_si(rates):
    read = read_rates(rates, DAY)
    assert (read.forming.scrap_vacuum, read.trim.hole_time) == (Decimal("0.02"), Decimal("4"))
    assert read.packing.pallet_length == pytest.approx(48 * 0.0254)
    assert read.freight.ltl_breaks[:2] == ((0, Decimal("1.25")), (500, Decimal("1.10")))
    assert [rate.operation for rate in read.operations] == sorted(SECONDARY_OPERATIONS)
    assert [rate.name for rate in read.tooling] == sorted(TOOLS)
    assert isinstance(read.packing.parts_per_interleaf, int)
    assert isinstance(read.freight.circuity, float)


@pytest.mark.parametrize("share", ["7 %", "29 %", "57 %", "0.1 %"])
def test_a_share_enters_money_without_a_tail_of_digits(rates, share):
    row(rates, "price.margin")["value"] = share
    assert read_rates(rates, DAY).price.margin == Decimal(share.removesuffix(" %")) / 100


def test_the_newest_rate_that_is_valid_by_the_day_counts(rates):
    wanted = dict(row(rates, "trim.hole_time"))
    rates["rates"] += [
        wanted | {"value": "5 s", "valid_from": "2026-06-01"},
        wanted | {"value": "9 s", "valid_from": "2026-11-26"},
    ]
    seen = [read_rates(rates, day).trim.hole_time for day in (date(2026, 5, 31), date(2026, 6, 1), DAY)]
    assert seen == [Decimal(4), Decimal(5), Decimal(5)]
    assert read_rates(rates, date(2026, 11, 26)).trim.hole_time == Decimal(9)


@pytest.mark.parametrize("key", sorted(RATE_KINDS))
def test_each_missing_rate_is_refused_by_name(rates, key):
    rates["rates"] = [item for item in rates["rates"] if item["key"] != key]
    assert list(errors(read_rates, rates, DAY)) == [f"rates.{key}"]


@pytest.mark.parametrize("key", sorted(RATE_KINDS))
def test_each_rate_refuses_what_is_no_number(rates, key):
    number, item = next((n, item) for n, item in enumerate(rates["rates"]) if item["key"] == key)
    item["value"] = "plenty"
    assert list(errors(read_rates, rates, DAY)) == [f"rates[{number}].value"]


@pytest.mark.parametrize("key", ["trim.hole_tim", "trim", "freight.ltl_breaks.05", "operations.glue.seconds", ""])
def test_an_unknown_rate_is_refused_by_name(rates, key):
    rates["rates"].append(dict(rates["rates"][0], key=key))
    assert list(errors(read_rates, rates, DAY)) == [f"rates[{len(rates['rates']) - 1}].key"]


@pytest.mark.parametrize("key", ["key", "value", "valid_from", "source"])
def test_a_rate_row_without_one_of_its_keys_is_refused(rates, key):
    del rates["rates"][0][key]
    assert f"rates[0].{key}" in errors(read_rates, rates, DAY)


def test_two_rates_for_one_key_and_day_are_refused(rates):
    rates["rates"].append(dict(rates["rates"][0], value="3 %"))
    assert list(errors(read_rates, rates, DAY)) == [f"rates[{len(rates['rates']) - 1}].valid_from"]


def test_a_rate_that_begins_later_is_said_to_begin_later(rates):
    row(rates, "price.margin")["valid_from"] = "2027-01-01"
    found = errors(read_rates, rates, DAY)
    assert list(found) == ["rates.price.margin"]
    assert "2026-11-25" in found["rates.price.margin"].accepted


def test_every_rate_in_force_names_its_source_and_day(rates):
    sources = read_rates(rates, DAY).sources
    assert {key for key, _, _ in sources} >= set(RATE_KINDS)
    assert all(source and day <= DAY for _, source, day in sources)


@pytest.mark.parametrize("key", sorted(SPREAD_KEYS))
def test_a_spread_may_be_left_out_and_is_then_not_varied(rates, key):
    rates["rates"] = [item for item in rates["rates"] if item["key"] != key]
    assert SPREAD_KEYS[key] not in {one.name for one in read_rates(rates, DAY).spreads}
    assert len(read_rates(rates, DAY).spreads) == len(SPREAD_KEYS) - 1


def test_the_shipped_rates_hold_a_spread_of_every_input_with_its_source(rates):
    found = read_rates(rates, DAY)
    assert {f"error.{one.name}" for one in found.spreads} == set(SPREAD_KEYS)
    assert set(SPREAD_KEYS) <= {key for key, source, _ in found.sources if source}
    assert all(0 < one.least <= 1 <= one.most for one in found.spreads)


@pytest.mark.parametrize(
    "value",
    [
        "0.9",
        "1.1 to 1.2",
        "0.8 to 0.9",
        "0 to 1.2",
        "0.9 - 1.1",
        "-0.9 to 1.1",
        "90 % to 110 %",
        "0.9 to nan",
        "plenty",
    ],
)
def test_a_spread_that_does_not_lie_around_one_is_refused(rates, value):
    number, item = next((n, item) for n, item in enumerate(rates["rates"]) if item["key"] == "error.cycle")
    item["value"] = value
    found = errors(read_rates, rates, DAY)
    assert list(found) == [f"rates[{number}].value"]
    assert "0.9 to 1.25" in found[f"rates[{number}].value"].accepted


def test_a_spread_that_would_make_everything_scrap_is_refused(rates):
    row(rates, "error.form_scrap")["value"] = "0.5 to 25"
    found = errors(read_rates, rates, DAY)
    assert list(found) == ["rates.error.form_scrap"]
    assert "below 20" in found["rates.error.form_scrap"].accepted  # twin-sheet scraps 5 %


# Anything at all ------------------------------------------------------------------------------------------------------

JUNK = (None, True, -1, 1e999, 10**400, "", " ", "\x00", "9" * 5000, [], [[]], {}, {"a": 1}, [None], "٣ in")


def places(raw, path=()):
    """The path of every value in a file, objects and lists included."""
    items = raw.items() if isinstance(raw, dict) else enumerate(raw) if isinstance(raw, list) else ()
    for key, value in items:
        yield (*path, key)
        yield from places(value, (*path, key))


@pytest.mark.parametrize("junk", JUNK, ids=lambda value: repr(value)[:12])
@pytest.mark.parametrize(
    ("name", "read"),
    [
        ("demo/plants.json", read_plants),
        ("demo/materials.json", read_materials),
        ("reference/rates.json", lambda raw: read_rates(raw, DAY)),
    ],
)
def test_junk_in_any_place_is_refused_as_input_or_read_and_never_breaks_the_reader(shipped, name, read, junk):
    small = deepcopy(shipped[name])
    for key, kept in (("plants", 1), ("polymers", 1), ("offers", 1)):
        small[key] = small[key][:kept] if key in small else None
        if small[key] is None:
            del small[key]
    for place in list(places(small))[::7]:
        raw = deepcopy(small)
        owner = raw
        for step in place[:-1]:
            owner = owner[step]
        owner[place[-1]] = junk
        try:
            read(raw)
        except InputErrors as refused:
            assert refused.errors
