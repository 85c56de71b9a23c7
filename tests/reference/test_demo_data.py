"""The shipped plants, materials, rates and inquiries: complete, and sane against numbers from outside."""

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import ht
import pytest
import zipcodes

from materials.polymer import NEEDS
from quoting import units
from quoting.intake.catalog_file import read_materials, read_plants, read_rates
from quoting.intake.part import SECONDARY_OPERATIONS, SHOW_SIDES

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
DAY = date(2026, 11, 25)
INCH, PSI, TON = 0.0254, 6894.757293168, 2000 * 4.4482216152605  # m, Pa, N


def load(name):
    return json.loads((FIXTURES / name).read_text(encoding="utf-8"))


PLANTS, MACHINES = read_plants(load("demo/plants.json"))
POLYMERS, OFFERS = read_materials(load("demo/materials.json"))
RATES = read_rates(load("reference/rates.json"), DAY)
POLYMER = {polymer.name: polymer for polymer in POLYMERS}
MACHINE = {machine.code: machine for machine in MACHINES}
INQUIRIES = {path.stem: json.loads(path.read_text("utf-8")) for path in (FIXTURES / "demo/inquiries").glob("*.json")}

# Plants ---------------------------------------------------------------------------------------------------------------


def test_three_plants_in_three_states_run_at_least_ten_machines_of_four_kinds():
    assert len({plant.state for plant in PLANTS}) == 3
    assert len(MACHINES) >= 10
    assert len({machine.kind for machine in MACHINES}) == 4


def test_the_state_of_a_plant_is_that_of_its_postal_code():
    # package zipcodes, its own table of places
    for plant in PLANTS:
        place = zipcodes.matching(plant.postal_code)[0]
        assert (place["state"], place["timezone"]) == (plant.state, plant.time_zone)


def test_the_plants_differ_in_what_they_cost_and_can_do():
    for field in ("labour_rate", "inspector_rate", "shifts_per_day", "assembly", "shop_temperature"):
        assert len({getattr(plant, field) for plant in PLANTS}) == 3


def test_only_one_plant_routes_a_part_ten_feet_long_and_five_wide():
    large = {
        plant.code
        for plant in PLANTS
        for trimmer in plant.trimmers
        if trimmer.table_length >= 120 * INCH and trimmer.table_width >= 60.1 * INCH
    }
    assert large == {"ALDER"}


def test_one_plant_forms_twin_sheet_larger_than_its_router():
    rivers = next(plant for plant in PLANTS if plant.code == "RIVERS")
    widest = max(trimmer.table_length for trimmer in rivers.trimmers)
    assert any(m.twin_sheet and m.plant == "RIVERS" and m.largest_opening_length > widest for m in MACHINES)


def test_a_panel_of_four_metres_finds_a_frame_and_a_sheet():
    longest = 4.0 + 2 * (1.5 + 1.5) * INCH
    assert any(machine.largest_opening_length >= longest for machine in MACHINES)
    assert any(offer.longest >= longest for offer in OFFERS)


# By hand: 60 in x 72 in x 50 psi = 216,000 lbf = 108 short tons; 120 psi is 2.4 times that
def test_a_full_frame_of_sixty_by_seventy_two_inches_is_held_at_120_psi():
    machine = MACHINE["ALDER-T1"]
    assert 60 * 72 * 50 / 2000 == 108
    needed = 108 * 2.4 * TON
    assert machine.pressure_capability == pytest.approx(120 * PSI)
    assert machine.lock_force == pytest.approx(300 * TON)
    assert machine.lock_force >= 1.1 * needed


def test_the_lock_of_every_pressing_machine_holds_its_full_frame():
    for machine in MACHINES:
        area = machine.largest_opening_length * machine.largest_opening_width
        assert machine.lock_force >= area * machine.pressure_capability


def test_a_sheet_that_joins_two_is_held_against_vacuum_over_the_whole_frame():
    twins = [machine for machine in MACHINES if machine.twin_sheet]
    assert len(twins) >= 2
    for machine in twins:
        area = machine.largest_opening_length * machine.largest_opening_width
        assert machine.lock_force >= 1.1 * area * machine.vacuum_pressure


def test_vacuum_is_what_pumps_give_and_ovens_stay_where_plastic_sheet_is_heated():
    for machine in MACHINES:
        # 26 to 28 inHg of 29.92 is 12.8 to 13.8 psi, less losses: 11.5 psi and up, from memory, unverified
        assert 11.5 * PSI <= machine.vacuum_pressure <= 13.8 * PSI
        for bank in (machine.oven.upper, machine.oven.lower):
            # ceramic heaters 300-600 degC, catalytic 300-480 degC: from memory of handbooks, unverified
            assert 250 <= bank.lowest_temperature - 273.15 < bank.highest_temperature - 273.15 <= 600
            assert 0.5 <= bank.view_factor <= 0.9
            assert bank.heated_length >= machine.largest_opening_length
            assert bank.heated_width >= machine.largest_opening_width


# Materials ------------------------------------------------------------------------------------------------------------

# package ht, building material table, asked by exact full name; tolerance is ours
SAME_IN_HT = {
    "PP": "Plastics, polypropylene",
    "HDPE": "Plastics, polyethylene / polythene, high density",
    "HIPS": "Plastics, polystyrene",
    "PC": "Plastics, polycarbonates",
    "PMMA": "Plastics, polymethylmethacrylate (PMMA)",
    "PVC": "Plastics, Polyvinylchloride (PVC)",
}


@pytest.mark.parametrize(("name", "known_as"), SAME_IN_HT.items())
def test_density_agrees_with_a_general_heat_transfer_table(name, known_as):
    assert POLYMER[name].density == pytest.approx(ht.rho_material(known_as), rel=0.035)


@pytest.mark.parametrize(("name", "known_as"), SAME_IN_HT.items())
def test_conductivity_agrees_with_a_general_heat_transfer_table(name, known_as):
    # HDPE: published values run from 0.25 to 0.5 W/m/K
    assert POLYMER[name].conductivity == pytest.approx(ht.k_material(known_as), rel=0.25 if name == "HDPE" else 0.10)


# engineersedge.com, properties of plastic materials: specific gravity ABS 1.05, HDPE 0.97, PC 1.19-1.20
@pytest.mark.parametrize(("name", "gravity"), [("ABS", 1.05), ("HDPE", 0.97), ("PC", 1.195)])
def test_density_agrees_with_a_table_of_plastics(name, gravity):
    assert POLYMER[name].density == pytest.approx(1000 * gravity, rel=0.025)


# The table "Thermal Properties of Plastic Materials": ABS 98, PC 140 degC at 0.45 MPa
@pytest.mark.parametrize(("name", "celsius"), [("ABS", 98), ("PC", 140)])
def test_deflection_temperature_agrees_with_a_table_of_plastics(name, celsius):
    assert POLYMER[name].deflection_temperature - 273.15 == pytest.approx(celsius, abs=5)


# Mean specific heat from 20 degC to forming, without melting: handbook ranges from memory, unverified
@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("ABS", 1800, 2000), ("acrylic-capped ABS", 1800, 2000), ("HIPS", 1800, 2000), ("HDPE", 2300, 2300),
        ("PP", 2300, 2300), ("TPO", 2200, 2200), ("PC", 1600, 1700), ("PMMA", 1900, 2000), ("PETG", 1650, 1750),
        ("PVC", 1400, 1600), ("PVC/acrylic", 1450, 1550), ("PPO/PS", 1650, 1750),
    ],
)  # fmt: skip
def test_the_two_specific_heats_give_the_mean_up_to_forming(name, least, most):
    polymer, cold = POLYMER[name], 293.15
    step, end = min(polymer.step_temperature, polymer.normal_forming_temperature), polymer.normal_forming_temperature
    mean = (polymer.specific_heat_solid * (step - cold) + polymer.specific_heat_hot * (end - step)) / (end - cold)
    assert least - 1e-6 <= mean <= most + 1e-6


def test_twelve_polymers_each_with_stock_and_another_sheet_on_offer_today():
    assert len(POLYMERS) == 12
    for name in POLYMER:
        colours = {
            offer.colour
            for offer in OFFERS
            if offer.polymer == name and offer.valid_from <= DAY and (offer.valid_to is None or offer.valid_to >= DAY)
        }
        assert "stock" in colours
        assert len(colours) >= 2


def test_every_property_of_every_polymer_says_where_it_is_from():
    for polymer in POLYMERS:
        assert len(polymer.sources) == (19 if polymer.extinction is None else 20)
        assert all(len(source) > 3 for _, source in polymer.sources)


def test_every_need_is_met_by_some_polymer_on_paper_that_is_valid():
    met = {need.need for one in POLYMERS for need in one.needs if need.expires is None or need.expires >= DAY}
    assert met == set(NEEDS)


def test_some_certificates_have_run_out_as_they_do():
    expired = {(one.name, need.need) for one in POLYMERS for need in one.needs if need.expires and need.expires < DAY}
    assert expired == {("ABS", "food_contact"), ("PPO/PS", "flame_v0")}


def test_what_is_coextruded_or_flame_rated_earns_no_regrind_and_clean_sheet_earns_a_share():
    for offer in OFFERS:
        base = {round(tier.from_mass / 0.45359237): tier.price_per_pound for tier in offer.tiers}[2000]
        share = offer.regrind_value_per_pound / base
        if offer.polymer in ("acrylic-capped ABS", "PVC/acrylic", "PPO/PS"):
            assert share == 0
        elif offer.polymer in ("ABS", "HDPE", "HIPS"):
            assert Decimal("0.15") <= share <= Decimal("0.30")


def test_small_lots_cost_more_and_truckloads_less():
    for offer in OFFERS:
        prices = [tier.price_per_pound for tier in offer.tiers]
        assert prices == sorted(prices, reverse=True)
        assert prices[0] - prices[-1] == Decimal("0.60")


# Rates ----------------------------------------------------------------------------------------------------------------


def test_the_reference_tool_is_that_of_a_part_of_forty_by_twenty_eight_by_eight():
    for rate in RATES.tooling:
        assert rate.reference_area == pytest.approx((40 + 8) * (28 + 8) * INCH**2)


# 1.779 $/mile without fuel over 83.3 % loaded miles (trade press on an industry institute, 2024): 2.136 $/loaded mile
def test_the_linehaul_rate_is_near_what_carriers_spend_on_a_loaded_mile():
    assert float(RATES.freight.linehaul_per_mile) == pytest.approx(1.779 / (1 - 0.167), rel=0.05)


# rigzone.com quoting EIA: 3.66 for 2025, 3.624 on 2026-01-26; thinkingonenergy.com: 5.059 in June 2026
DIESEL = {
    date(2026, 1, 1): Decimal("3.66"),
    date(2026, 1, 26): Decimal("3.62"),
    date(2026, 6, 15): Decimal("5.06"),
    DAY: Decimal("3.80"),
}


def test_diesel_follows_its_dated_rows():
    prices = [read_rates(load("reference/rates.json"), day).freight.diesel_per_gallon for day in DIESEL]
    assert prices == list(DIESEL.values())


# Inquiries ------------------------------------------------------------------------------------------------------------

ALLOWED = {
    "": {"reference", "customer", "ship_to", "part", "material", "quantities", "tooling", "tool", "secondary",
         "replaces_metal", "needed_by", "target_price"},
    "customer": {"company", "contact", "email"},
    "ship_to": {"postal_code", "country"},
    "part": {"name", "length", "width", "depth", "model", "minimum_wall", "gauge", "surface_area", "trim_length",
             "draft_angle", "smallest_radius", "undercut_depth", "texture_depth", "tolerance", "show_side", "enclosed",
             "openings", "holes", "service_temperature"},
    "material": {"polymers", "colour", "needs"},
    "quantities": {"annual", "releases"},
}  # fmt: skip
MEASURED = {
    "length": "length", "width": "length", "depth": "length", "minimum_wall": "length", "gauge": "length",
    "surface_area": "area", "trim_length": "length", "draft_angle": "angle", "smallest_radius": "length",
    "undercut_depth": "length", "texture_depth": "length", "tolerance": "length", "service_temperature": "temperature",
}  # fmt: skip


def test_there_are_twenty_inquiries_from_invented_people():
    assert len(INQUIRIES) == 20
    # RFC 2606 reserves .example, so no such address can be anyone's
    assert all(inquiry["customer"]["email"].endswith(".example") for inquiry in INQUIRIES.values())


@pytest.mark.parametrize("name", sorted(INQUIRIES))
def test_an_inquiry_uses_only_keys_and_words_of_the_format(name):
    inquiry = INQUIRIES[name]
    assert set(inquiry) <= ALLOWED[""]
    for group in ("customer", "ship_to", "part", "material", "quantities"):
        assert set(inquiry.get(group, {})) <= ALLOWED[group]
    assert set(inquiry.get("material", {}).get("needs", [])) <= set(NEEDS)
    assert set(inquiry.get("material", {}).get("polymers", [])) <= set(POLYMER)
    assert {one["operation"] for one in inquiry.get("secondary", [])} <= set(SECONDARY_OPERATIONS)
    assert inquiry["part"].get("show_side", "tool") in SHOW_SIDES


@pytest.mark.parametrize("name", sorted(INQUIRIES))
def test_every_measure_of_an_inquiry_can_be_read(name):
    for key, kind in MEASURED.items():
        if key in INQUIRIES[name]["part"]:
            assert units.read(INQUIRIES[name]["part"][key], kind) > 0


def test_every_place_of_an_inquiry_is_known():
    codes = [inquiry["ship_to"]["postal_code"] for inquiry in INQUIRIES.values() if "ship_to" in inquiry]
    assert all(zipcodes.matching(code) for code in codes)
    assert len(set(codes)) >= 15


def test_the_inquiries_between_them_ask_for_everything():
    parts = [inquiry["part"] for inquiry in INQUIRIES.values()]
    needs = {need for inquiry in INQUIRIES.values() for need in inquiry.get("material", {}).get("needs", [])}
    assert needs == set(NEEDS)
    assert any("texture_depth" in part for part in parts)
    assert any(part.get("enclosed") for part in parts)
    assert any(units.read(part["length"], "length") > 3.8 for part in parts)
    assert any(inquiry.get("tooling") == "transfer" for inquiry in INQUIRIES.values())
    assert any("replaces_metal" in inquiry for inquiry in INQUIRIES.values())
    assert {inquiry.get("material", {}).get("colour") for inquiry in INQUIRIES.values()} >= {
        "natural",
        "stock",
        "custom",
    }
