"""LTL, truckload and the choice between them."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quoting.costing.freight import (
    MILE,
    Shipment,
    choose_freight,
    floor_length,
    freight_class,
    ltl_price,
    ltl_refusals,
    shipment_of,
    truckload_price,
    trucks_needed,
)
from quoting.costing.packing import LoadedPallet, PackedPart, loaded_pallets, pack
from tests.quoting.costing.shop import CUBIC_FOOT, INCH, POUND, some_rates

RATES = some_rates().freight
NONE = Decimal(0)


def full_pallets(
    count: int, pounds: float = 261, height: float = 84, length: float = 48, width: float = 40
) -> Shipment:
    pallet = LoadedPallet(28, length * INCH, width * INCH, height * INCH, pounds * POUND)
    return shipment_of((pallet,) * count)


def cents(money: Decimal) -> str:
    return f"{money:.2f}"


def test_worked_pallet_over_300_miles_costs_265_by_ltl_and_768_by_truck():
    # Worked pallet: 597.6 lb in 104.222 ft3, 5.734 lb/ft3, class 175;
    # 5.976 x (12 + .020 x 300) x 1.75 x 1.10 = 207.07, x 1.28 = 265.05; truck 650 + 117.69 = 767.69.
    packing = some_rates().packing
    part = PackedPart(46 * INCH, 38 * INCH, 14 * INCH, 9 * POUND, 1.25 * INCH)
    shipment = shipment_of(loaded_pallets(pack(part, packing), 60, packing))

    choice = choose_freight(shipment, 300 * MILE, NONE, RATES)

    assert shipment.density_pcf == pytest.approx(5.734, abs=5e-4)
    assert (choice.freight_class, choice.mode) == ("175", "ltl")
    assert (cents(choice.ltl), cents(choice.truckload)) == ("265.05", "767.69")
    assert choice.total == choice.ltl


def test_full_pallet_of_the_worked_cover_is_2_8_pounds_a_cubic_foot():
    # Worked cover: 28 x 7.722 + 45 = 261 lb in 93.3 ft3.
    shipment = full_pallets(1)

    assert shipment.volume / CUBIC_FOOT == pytest.approx(93.3, abs=0.05)
    assert shipment.density_pcf == pytest.approx(2.80, abs=0.005)
    assert freight_class(shipment.density_pcf) == "250"  # 300 on the older carrier's table


def test_the_ninth_full_pallet_of_the_worked_cover_trips_the_cube_rule():
    # Worked cover: 9 x 93.3 = 840 ft3 above 750 ft3, at less than 6 lb/ft3.
    by_cube = "it is so large and light that LTL carriers re-rate it by its cube"

    assert by_cube not in ltl_refusals(full_pallets(8), RATES)
    assert by_cube in ltl_refusals(full_pallets(9), RATES)
    assert by_cube not in ltl_refusals(full_pallets(9, pounds=800), RATES)


def test_a_53_foot_trailer_takes_30_pallets_turned():
    # Trailer inside 630 x 100 in: floor(630/40) x floor(100/48) = 15 x 2.
    assert trucks_needed(full_pallets(30), RATES) == 1
    assert trucks_needed(full_pallets(31), RATES) == 2


def test_heavy_pallets_need_trucks_by_payload():
    assert trucks_needed(full_pallets(22, pounds=4000), RATES) == 2
    assert trucks_needed(full_pallets(11, pounds=4000), RATES) == 1


def test_a_pallet_wider_than_half_the_trailer_pays_for_the_empty_strip():
    assert floor_length(full_pallets(4, length=60, width=52), RATES) / INCH == pytest.approx(4 * 52)


def test_floor_length_takes_the_better_turn():
    # 4 pallets 48 x 40: two across either way; rows of 40 in
    assert floor_length(full_pallets(4), RATES) / INCH == pytest.approx(80)


@pytest.mark.parametrize(
    ("shipment", "reason"),
    [
        (full_pallets(11, pounds=900), "it has more pallets than LTL allows"),
        (full_pallets(6, length=90, width=80), "its pallets take more trailer floor than LTL allows"),
        (full_pallets(9, pounds=2500), "it is heavier than LTL allows"),
    ],
)
def test_each_cap_refuses_ltl_and_says_why(shipment, reason):
    choice = choose_freight(shipment, 300 * MILE, NONE, RATES)

    assert reason in ltl_refusals(shipment, RATES)
    assert (choice.mode, choice.ltl) == ("truckload", None)
    assert reason in choice.why


def test_a_weight_just_below_a_break_is_charged_at_the_break():
    # 990 lb at 1.10 is dearer than 1000 lb at 1.00
    at_break = ltl_price(Decimal(1000), "100", Decimal(300), RATES)

    assert ltl_price(Decimal(990), "100", Decimal(300), RATES) == at_break
    assert ltl_price(Decimal(700), "100", Decimal(300), RATES) < at_break


def test_a_break_belongs_to_its_own_weight():
    rate = Decimal(18) * Decimal("1.28")

    assert ltl_price(Decimal(1000), "100", Decimal(300), RATES) == 10 * rate


def test_a_light_shipment_pays_the_minimum():
    assert ltl_price(Decimal(50), "100", Decimal(10), RATES) == Decimal(165) * Decimal("1.28")


def test_diesel_below_the_peg_gives_no_rebate():
    cheap = replace(RATES, diesel_per_gallon=Decimal("1.00"))

    assert truckload_price(1, Decimal(1000), cheap) == Decimal(2100)


def test_two_trucks_cost_twice_one():
    assert truckload_price(2, Decimal(500), RATES) == 2 * truckload_price(1, Decimal(500), RATES)


def test_foam_that_ltl_needs_can_tip_the_choice_to_a_truck():
    shipment = full_pallets(4)
    bare, padded = (choose_freight(shipment, 300 * MILE, Decimal(foam), RATES) for foam in (0, 400))

    assert (bare.mode, padded.mode) == ("ltl", "truckload")
    assert padded.ltl == bare.ltl
    assert padded.total == padded.truckload


def test_a_pallet_that_no_trailer_takes_is_said_to_need_an_open_deck():
    choice = choose_freight(full_pallets(1, length=150, width=120), 300 * MILE, NONE, RATES)

    assert "open deck" in choice.why
    assert "open deck" not in choose_freight(full_pallets(1), 300 * MILE, NONE, RATES).why
