"""Paint and shielding by the area that they cover."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.catalog import CoatingRate, OperationRate
from quoting.costing.coating import GALLON, coat_work, gallons_sprayed
from quoting.costing.money import CannotPriceError
from quoting.costing.secondary import BenchInputs, secondary_line, worked
from quoting.intake.part import Coat, Secondary
from tests.quoting.costing.shop import some_rates

FOOT, MIL = Decimal("0.3048"), Decimal("0.0000254")
PAINT = CoatingRate(
    "paint", 38.1e-6, Decimal("0.40"), Decimal("0.65"), Decimal(85), Decimal(30), Decimal(20), Decimal(1800),
    Decimal(8), 6.0,
)  # fmt: skip
RATES = replace(
    some_rates(),
    operations=(OperationRate("paint", Decimal(45), Decimal("0.15")),),
    coatings=(PAINT,),
)
BENCH = BenchInputs(Decimal(34), 0.85)
COVER = Coat("tool", 1.42, 4.27, 0.7226)  # the worked cover: 2,208 in2, 168 in of edge, 40 x 28 in


def test_a_gallon_of_solids_covers_1604_square_feet_at_one_mil():
    # US gallon: 231 in3 (NIST Handbook 44, appendix C); 231/0.001/144 = 1604.17 ft2, the painters' figure
    assert 231 * Decimal("0.0254") ** 3 == GALLON
    area = Decimal("1604.1667") * FOOT**2
    assert gallons_sprayed(area, MIL, Decimal(1), Decimal(1)) == pytest.approx(1, rel=1e-6)


def test_half_of_what_lands_and_half_of_what_stays_take_four_times_the_paint():
    whole = gallons_sprayed(Decimal(10), MIL, Decimal(1), Decimal(1))
    assert gallons_sprayed(Decimal(10), MIL, Decimal("0.5"), Decimal("0.5")) == 4 * whole


def test_two_coats_on_the_worked_cover_are_what_a_calculator_gives():
    work = coat_work(Secondary("paint", 2, COVER), RATES)
    # by hand: 2 x 1.42 m2 x 38.1 um/(0.40 x 0.65) = 4.162e-4 m3 = 0.10994 gal, x 85; 4.27 x 20 + 2 x 1.42 x 30 s;
    # 2 x 0.5 h x 8 x 0.7226/6
    assert float(work.gallons) == pytest.approx(0.10994, rel=1e-4)
    assert float(work.material) == pytest.approx(9.345, rel=1e-3)
    assert float(work.seconds) == pytest.approx(85.4 + 85.2)
    assert float(work.drying) == pytest.approx(0.9635, rel=1e-3)


def test_the_line_adds_labour_paint_and_drying_and_opens_to_all_of_it():
    asked = Secondary("paint", 2, COVER)
    line = secondary_line(300, 304, (asked,), BENCH, RATES, RATES.told)
    work = coat_work(asked, RATES)
    by_hand = 300 * ((90 + work.seconds) / Decimal("0.85") * 34 / 3600 + Decimal("0.30") + work.material + work.drying)

    assert float(line.total) == pytest.approx(float(by_hand))
    opened = {one.name: one.number for one in line.inputs}
    assert float(opened["paint, area covered"]) == 1.42
    assert float(opened["paint, dry film of a coat, mil"]) == pytest.approx(1.5)
    assert "drying" in line.basis


def test_masking_is_done_once_and_each_coat_sprayed():
    one, two = (coat_work(Secondary("paint", count, COVER), RATES) for count in (1, 2))
    masked = Decimal("4.27") * 20
    assert two.seconds - masked == 2 * (one.seconds - masked)
    assert (float(two.material), float(two.drying)) == pytest.approx((2 * float(one.material), 2 * float(one.drying)))


@given(st.floats(0.01, 30), st.floats(0.01, 30))
def test_more_area_never_costs_less(area, more):
    small, large = (
        coat_work(Secondary("paint", 1, replace(COVER, area=covered)), RATES) for covered in (area, area + more)
    )
    assert large.seconds > small.seconds and large.material > small.material


def test_painting_by_hand_is_learnt_in_a_small_release():
    learnt = replace(RATES, operations=(OperationRate("paint", Decimal(45), Decimal("0.15"), Decimal("0.90")),))
    few, many = (worked(count, count, (Secondary("paint", 1, COVER),), learnt)[0] for count in (25, 2500))
    assert few.seconds / 25 > many.seconds / 2500
    assert few.material / 25 == many.material / 2500


def test_a_coat_without_rates_cannot_be_priced():
    with pytest.raises(CannotPriceError, match="emi_coat"):
        coat_work(Secondary("emi_coat", 1, COVER), RATES)
