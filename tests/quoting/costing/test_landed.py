"""From a planned candidate to its landed cost."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from machines.machine import Booking
from materials.sheet import PriceTier
from quoting.costing.landed import landed_cost, release_inputs
from quoting.costing.money import CannotPriceError
from quoting.costing.shipping import packed_part
from tests.quoting.costing.shop import INCH, POUND, TODAY, some_catalog, some_plant, with_part


def with_offer(planned, **fields):
    candidate = planned.candidate
    return replace(planned, candidate=replace(candidate, offer=replace(candidate.offer, **fields)))


def moved_to_sister_plant(planned, catalog):
    sister = replace(some_plant(), code="P2", latitude=33.7490, longitude=-84.3880, labour_rate=Decimal(30))
    trim = replace(planned.plan.trim, plant="P2", moves=True)
    moved = replace(planned, plan=replace(planned.plan, trim=trim))
    return moved, replace(catalog, plants=(*catalog.plants, sister))


def test_lines_of_every_release_add_up_to_its_unit_price(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)

    for each in cost.breaks:
        lines = [line.per_part for line in cost.lines if line.quantity == each.quantity]
        assert sum(lines) == each.unit_price


def test_landed_price_is_unit_price_and_freight_at_the_largest_release(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)

    assert [each.quantity for each in cost.breaks] == [100, 300, 1200]
    assert all(each.landed_unit_price == each.unit_price + each.freight_per_part for each in cost.breaks)
    assert cost.ranking_price == cost.breaks[-1].landed_unit_price
    assert cost.packing == cost.packings[-1]


def test_hours_of_the_plan_are_those_of_the_worked_cover(planned, catalog):
    # Worked cover at 300: press 20.95 h, router 15.43 h; set-up 2.65 $ a part.
    middle = landed_cost(planned, catalog, TODAY).breaks[1]

    assert round(middle.press_hours, 2) == 20.95
    assert round(middle.trim_hours, 2) == 15.43
    assert round(middle.setup_per_part, 2) == Decimal("2.65")


def test_price_of_the_plan_is_near_the_worked_cover(planned, catalog):
    # Worked cover at 1,200: 51.76 $. Here a denser pallet, 46 parts for 28, saves some packing.
    assert landed_cost(planned, catalog, TODAY).breaks[-1].unit_price == pytest.approx(
        Decimal("51.76"), rel=Decimal("0.02")
    )


def test_lead_time_is_tool_first_article_queue_trim_and_pack(planned, catalog):
    # 8 weeks of tool, 1 of first article, 1 of queue and run, .6 to trim and pack
    assert landed_cost(planned, catalog, TODAY).breaks[0].lead_time_weeks == pytest.approx(10.6)


def test_booked_weeks_lengthen_the_lead_time(planned, catalog):
    full = tuple(Booking("M1", date(2026, 3, 9) + timedelta(weeks=week), 120, True) for week in range(4))

    busy = landed_cost(planned, replace(catalog, workload=full), TODAY)

    assert busy.breaks[0].lead_time_weeks == pytest.approx(14.6)


def test_sheet_that_comes_later_than_the_tool_sets_the_lead_time(planned, catalog):
    late = with_offer(planned, lead_time_weeks=12.0)

    assert landed_cost(late, catalog, TODAY).breaks[0].lead_time_weeks == pytest.approx(13.6)


def test_the_same_candidate_costs_the_same_twice(planned, catalog):
    assert landed_cost(planned, catalog, TODAY) == landed_cost(planned, some_catalog(), TODAY)


def test_a_mill_minimum_above_a_release_is_reported_for_that_release_only(planned, catalog):
    choosy = with_offer(planned, minimum_order=2000 * POUND)

    assert [each.quantity for each in landed_cost(choosy, catalog, TODAY).excess] == [100]


def test_cheaper_sheet_makes_a_cheaper_part(planned, catalog):
    cheap = with_offer(planned, tiers=(PriceTier(0.0, Decimal("1.00")),))

    assert landed_cost(cheap, catalog, TODAY).ranking_price < landed_cost(planned, catalog, TODAY).ranking_price


def test_a_nearer_customer_pays_less_freight(planned, catalog):
    to = planned.request.ship_to
    near = replace(planned, request=replace(planned.request, ship_to=replace(to, latitude=41.9, longitude=-87.9)))

    assert (
        landed_cost(near, catalog, TODAY).packing.freight_total
        < landed_cost(planned, catalog, TODAY).packing.freight_total
    )


def test_a_part_trimmed_at_a_sister_plant_ships_from_there_and_pays_the_transport(planned, catalog):
    moved, both = moved_to_sister_plant(planned, catalog)

    here, there = landed_cost(planned, catalog, TODAY), landed_cost(moved, both, TODAY)

    assert [line.quantity for line in there.lines if line.name == "transport between plants"] == [100, 300, 1200]
    assert "transport between plants" not in [line.name for line in here.lines]
    assert there.packing.distance < here.packing.distance  # Atlanta is nearer to Dallas than Chicago


def test_work_at_the_sister_plant_is_paid_at_its_rate(planned, catalog):
    moved, both = moved_to_sister_plant(planned, catalog)

    inputs, _ = release_inputs(moved, 300, both)

    assert inputs.press.labour_rate == 34
    assert inputs.trim.labour_rate == inputs.pack.bench.labour_rate == 30


def test_foam_is_in_the_packing_line_exactly_where_the_release_rides_ltl(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)
    packing_lines = [line for line in cost.lines if line.name == "packing"]

    modes = [each.mode for each in cost.packings]
    assert "ltl" in modes and "truckload" in modes
    assert ["foam" in line.basis for line in packing_lines] == [mode == "ltl" for mode in modes]


def test_closed_parts_do_not_nest(planned, catalog):
    hollow = with_part(planned, enclosed=True)
    twin = replace(planned, candidate=replace(planned.candidate, process="twin_sheet"))

    assert packed_part(planned, catalog.rates).pitch is not None
    assert packed_part(hollow, catalog.rates).pitch is None
    assert packed_part(twin, catalog.rates).pitch is None


def test_two_skins_are_cut_as_one_gauge(planned, catalog):
    one, _ = release_inputs(planned, 300, catalog)
    cycle = replace(planned.plan.cycle, blanks_per_part=2)
    two, _ = release_inputs(replace(planned, plan=replace(planned.plan, cycle=cycle)), 300, catalog)

    # .187 in in one pass, twice .187 in in two
    assert two.trim.time.path == pytest.approx(2 * one.trim.time.path)


def test_without_sheet_offer_trimmer_or_known_plant_there_is_no_price(planned, catalog):
    no_offer = replace(planned, candidate=replace(planned.candidate, offer=None))
    no_trimmer = replace(planned, plan=replace(planned.plan, trim=replace(planned.plan.trim, trimmer=None)))
    nowhere = replace(planned, plan=replace(planned.plan, trim=replace(planned.plan.trim, plant="P9", moves=True)))

    for each in (no_offer, no_trimmer, nowhere):
        with pytest.raises(CannotPriceError):
            landed_cost(each, catalog, TODAY)


def test_an_operation_without_a_standard_is_named(planned, catalog):
    with pytest.raises(CannotPriceError, match="insert"):
        landed_cost(planned, replace(catalog, rates=replace(catalog.rates, operations=())), TODAY)


def test_freight_money_is_in_cents(planned, catalog):
    for each in landed_cost(planned, catalog, TODAY).packings:
        for money in (each.freight_total, each.ltl_total, each.truckload_total):
            assert money is None or money.as_tuple().exponent == -2


def test_pallet_of_a_large_part_grows_to_it(planned, catalog):
    large = with_part(planned, length=80 * INCH, width=50 * INCH)
    inputs, _ = release_inputs(large, 100, catalog)

    assert inputs.pack.area_factor == pytest.approx(80 * 50 / (48 * 40))
