"""The trailer and the pallet of the shipped rates against what the trade publishes of them."""

import json
from datetime import date
from pathlib import Path

import pytest

from quoting.costing.freight import CUBIC_FOOT, Shipment, pallets_per_truck, trucks_needed
from quoting.intake.rates_file import read_rates

INCH, POUND = 0.0254, 0.45359237  # m, kg: exact
FIXTURES = Path(__file__).parents[2] / "fixtures"
RATES = read_rates(json.loads((FIXTURES / "reference" / "rates.json").read_text(encoding="utf-8")), date(2026, 11, 25))


def pallets(count: int, pounds: float) -> Shipment:
    """Standard pallets of 48 x 40 in, 90 in high."""
    sides = 48 * INCH, 40 * INCH, 90 * INCH
    volume = count * sides[0] * sides[1] * sides[2]
    return Shipment(count, *sides, pounds * POUND, count * pounds * POUND, volume)


def test_the_trailer_is_that_of_a_published_guide():
    # haletrailer.com, "Dry Van Dimensions & Capacity Guide" (26 August 2025), 53 ft van: inside about 630 in long,
    # about 100 in wide, 108 to 110 in high; 3,800 to 4,000 ft3; up to about 45,000 lb.
    freight = RATES.freight
    assert freight.truck_length / INCH == pytest.approx(630)
    assert freight.truck_width / INCH == pytest.approx(100)
    assert 108 - 1e-9 <= freight.truck_height / INCH <= 110
    volume = freight.truck_length * freight.truck_width * freight.truck_height / CUBIC_FOOT
    assert 3800 <= volume <= 4000
    assert freight.truck_payload / POUND <= 45_000


def test_the_pallet_is_the_north_american_one():
    # cargoguide.com, "North American pallet", and a copy of the list in ISO 6780: 1016 x 1219 mm, 40 x 48 in.
    # oggpallet.com: about 6 in (150 mm) high, 33 to 48 lb.
    packing = RATES.packing
    assert (packing.pallet_length * 1000, packing.pallet_width * 1000) == pytest.approx((1219, 1016), abs=0.5)
    assert 5 <= packing.pallet_height / INCH <= 6.5
    assert 33 <= packing.pallet_mass / POUND <= 48


def test_a_trailer_takes_at_least_the_26_pallets_that_the_guide_counts_straight():
    # the same guide: 26 of 48 x 40 in set straight (630/48 = 13 rows of two); turned, 630/40 = 15 rows of two
    assert pallets_per_truck(pallets(30, 500), RATES.freight) == 30 >= 26


@pytest.mark.parametrize(("pounds", "trucks"), [(1466, 1), (1467, 2)])
def test_the_payload_limits_what_the_floor_would_take(pounds, trucks):
    # by hand: 30 pallets x 1,466 lb = 43,980 lb below 44,000 lb; x 1,467 lb = 44,010 lb above it
    assert trucks_needed(pallets(30, pounds), RATES.freight) == trucks


def test_a_loaded_pallet_goes_through_the_door():
    # the same guide: door opening 108 to 110 in high
    assert RATES.packing.highest_load / INCH <= 108
