"""The same load from each plant, the pallet as it is drawn, and what the pack for LTL is in the price."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from materials.sheet import INCH
from quoting.costing.advice import price_advice
from quoting.costing.landed import landed_cost
from quoting.costing.packing import pack
from quoting.costing.pallet_load import pallet_load
from quoting.costing.shipping import packed_part
from tests.quoting.costing.shop import POUND, TODAY, some_plant, with_part


def advice_of(planned, catalog):
    return price_advice(planned, landed_cost(planned, catalog, TODAY), catalog)


def two_plants(catalog):
    sister = replace(some_plant(), code="P2", name="South", latitude=33.7490, longitude=-84.3880)
    return replace(catalog, plants=(*catalog.plants, sister))


def test_the_nearest_plant_comes_first_and_the_shipping_one_is_marked(planned, catalog):
    lanes = advice_of(planned, two_plants(catalog)).lanes.lanes
    assert [(one.plant, one.ships) for one in lanes] == [("P2", False), ("P1", True)]  # Atlanta is nearer to Dallas
    assert lanes[0].truckload < lanes[1].truckload


def test_the_lane_of_the_shipping_plant_is_the_freight_of_the_quote(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)
    lane = next(one for one in advice_of(planned, two_plants(catalog)).lanes.lanes if one.ships)
    assert (lane.mode, lane.distance) == (cost.packing.mode, cost.packing.distance)
    assert (lane.ltl, lane.truckload) == (cost.packing.ltl_total, cost.packing.truckload_total)


def test_fuel_stands_there_with_its_source_and_its_day(planned, catalog):
    day = ("freight.diesel_per_gallon", "weekly average", date(2026, 6, 15))
    dated = replace(catalog, rates=replace(catalog.rates, sources=(*catalog.rates.sources, day)))
    inputs = {one.name: one for one in advice_of(planned, dated).lanes.inputs}
    assert inputs["diesel"].value == "3.8"
    assert "valid from 2026-06-15" in inputs["diesel"].source
    assert inputs["fuel surcharge on LTL"].value == "0.28"


def test_the_pallet_of_the_cover_is_full_by_its_height(planned, catalog):
    # By hand: one column, 96 in less 5.5 in of pallet less 8 in of part leave 82.5 in for pitches and interleaf.
    load = pallet_load(pack(packed_part(planned, catalog.rates), catalog.rates.packing), catalog.rates.packing)
    assert (load.along, load.across, load.per_layer) == (1, 1, 1)
    assert load.limited_by == "height"
    assert load.height <= load.height_limit < load.height + load.pitch + 0.06 * INCH
    assert load.deck + load.part_height + (load.per_column - 1) * load.pitch == pytest.approx(load.height)
    assert load.mass - load.net_mass == pytest.approx(51 * POUND)  # pallet 45 lb and wrap 6 lb


def test_heavy_parts_fill_a_pallet_by_weight(planned, catalog):
    heavy = replace(packed_part(planned, catalog.rates), mass=400 * POUND, cosmetic=False)
    load = pallet_load(pack(heavy, catalog.rates.packing), catalog.rates.packing)
    assert (load.limited_by, load.per_column) == ("weight", 5)  # 2,000 lb hold five, which need no interleaf yet
    assert load.net_mass == pytest.approx(load.mass_limit)


def test_a_part_larger_than_the_pallet_lies_alone_on_one_of_its_size(planned, catalog):
    large = with_part(planned, length=80 * INCH, width=50 * INCH)
    load = pallet_load(pack(packed_part(large, catalog.rates), catalog.rates.packing), catalog.rates.packing)
    assert (load.length, load.width, load.per_layer) == pytest.approx((80 * INCH, 50 * INCH, 1))
    assert (load.place_length, load.place_width) == pytest.approx((80 * INCH, 50 * INCH))


def test_foam_for_ltl_is_in_the_price_with_all_that_comes_upon_it(planned, catalog):
    packs = advice_of(planned, catalog).ltl_packs
    modes = {one.quantity: way.mode for one, way in zip(*breaks_and_ways(planned, catalog), strict=True)}
    assert [one.quantity for one in packs] == [quantity for quantity, mode in modes.items() if mode == "ltl"]
    # By hand: 1.50 $ of foam x 1.08 handling x 1.12 overhead / .88 = 2.06 $
    assert {one.in_price for one in packs} == {Decimal("2.06")}


def breaks_and_ways(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)
    return cost.breaks, cost.packings
