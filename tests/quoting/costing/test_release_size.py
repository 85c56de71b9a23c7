"""The release size that is cheapest in a year, against the classic lot size where that applies."""

from dataclasses import replace
from decimal import Decimal

import pytest

from materials.sheet import PriceTier
from quoting.costing.advice import price_advice
from quoting.costing.inputs import release_inputs
from quoting.costing.landed import landed_cost
from quoting.costing.price_breaks import price_release
from quoting.costing.release_size import (
    cheapest,
    least_for_order,
    priced_sizes,
    sizes_worth_pricing,
    square_root_lot,
    yearly_cost,
)
from quoting.costing.sheet import need_of
from tests.quoting.costing.shop import POUND, TODAY

ANNUAL = 2400


def advice_of(planned, catalog):
    return price_advice(planned, landed_cost(planned, catalog, TODAY), catalog)


def with_tiers(planned, *tiers, **fields):
    offer = replace(
        planned.candidate.offer, tiers=tuple(PriceTier(at, Decimal(price)) for at, price in tiers), **fields
    )
    return replace(planned, candidate=replace(planned.candidate, offer=offer))


def test_the_square_root_lot_is_that_of_two_printed_examples():
    # musicbyscottsmith.com, accounting lesson: D 1200, K 100, holding 1.5 a unit: 400 units, 600 in all
    assert square_root_lot(1200, 100, 1.0, 1.5) == pytest.approx(400)
    # norton-guides.davep.dev, a handbook of functions: EOQ of 100 a period, order 10.00, price 17.95, 5 %: 47
    assert round(square_root_lot(100, 10.00, 0.05, 17.95)) == 47


def test_a_lot_without_use_or_cost_of_stock_is_refused():
    for wrong in ((0, 100, 0.25, 6.0), (1200, 100, 0.0, 6.0), (1200, 100, 0.25, 0.0)):
        with pytest.raises(ValueError, match="above 0"):
            square_root_lot(*wrong)


@pytest.mark.parametrize(("per_release", "unit"), [(800, 45), (100, 6), (3000, 250)])
def test_with_a_fixed_cost_per_release_and_one_price_the_search_finds_the_square_root(per_release, unit):
    # Where a release costs S and each part C: sqrt(2 D S / (i C)), as printed in "Economic Ordering Quantity",
    # a calculator's manufacturing booklet quoted at hpmuseum.org/forum (thread 11733).
    carrying = Decimal("0.25")
    expected = square_root_lot(ANNUAL, per_release, 0.25, unit)
    sizes = sizes_worth_pricing(ANNUAL, (100, 300, 1200), 46, 1000, (), 47)

    curve = priced_sizes(lambda size: Decimal(unit) + Decimal(per_release) / size, sizes, ANNUAL, carrying, 47)
    best = cheapest(curve)

    exact = yearly_cost(round(expected), Decimal(unit) + Decimal(per_release) / round(expected), ANNUAL, carrying)
    assert best.quantity == pytest.approx(expected, rel=0.08)
    assert best.yearly == pytest.approx(exact.yearly, rel=Decimal("0.0005"))  # the minimum is flat


def test_the_real_price_of_sheet_without_tiers_is_cheapest_near_the_square_root(planned, catalog):
    # Same formula on the worked cover: set-up 796 $, start-up 6 shots, one sheet price, freight and foam taken out.
    freight = replace(
        catalog.rates.freight, ltl_minimum=Decimal(0), ltl_base=Decimal(0), ltl_per_mile=Decimal(0),
        truckload_minimum=Decimal(0), linehaul_per_mile=Decimal(0), diesel_per_gallon=Decimal(0),
    )  # fmt: skip
    packing = replace(catalog.rates.packing, ltl_foam_cost=Decimal(0))
    plain = replace(catalog, rates=replace(catalog.rates, freight=freight, packing=packing))
    one_price = with_tiers(planned, (0.0, "2.05"), minimum_order=0.0)

    release = advice_of(one_price, plain).release

    assert release.best.quantity == pytest.approx(release.square_root, rel=0.10)
    at_root = yearly_cost(
        round(release.square_root), exact_price(one_price, round(release.square_root), plain), ANNUAL, release.carrying
    )
    assert release.best.yearly <= at_root.yearly * Decimal("1.0005")


def exact_price(planned, quantity, catalog):
    inputs, _ = release_inputs(planned, quantity, catalog)
    return price_release(inputs, catalog.rates).exact_price


def test_half_a_release_lies_in_stock_on_average():
    # By hand: 1,200 a year at 6.25 are 7,500; 200 parts of 6.25 in stock at 25 % are 312.50.
    year = yearly_cost(400, Decimal("6.25"), 1200, Decimal("0.25"))
    assert (year.parts, year.stock, year.yearly) == (7500, Decimal("312.5"), Decimal("7812.5"))


def test_a_deep_price_tier_pulls_the_release_to_where_it_begins(planned, catalog):
    tier = with_tiers(planned, (0.0, "2.25"), (9000 * POUND, "1.20"), minimum_order=0.0)
    first = least_for_order(9000 * POUND, "vacuum", release_inputs(tier, 100, catalog)[0].sheet, catalog.rates)

    best = advice_of(tier, catalog).release.best

    assert first <= best.quantity < 2 * first


def test_a_tier_begins_at_the_first_size_whose_order_reaches_it(planned, catalog):
    sheet, rates = release_inputs(planned, 100, catalog)[0].sheet, catalog.rates
    for pounds in (500, 2000, 10000):
        least = least_for_order(pounds * POUND, "vacuum", sheet, rates)
        assert float(need_of(least, "vacuum", sheet, rates).order_mass) >= pounds * POUND
        assert least == 1 or float(need_of(least - 1, "vacuum", sheet, rates).order_mass) < pounds * POUND


def test_prices_on_the_curve_are_those_of_the_price_breaks(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)
    release = price_advice(planned, cost, catalog).release
    assert [(one.quantity, one.landed_unit_price) for one in release.asked] == [
        (one.quantity, one.landed_unit_price) for one in cost.breaks
    ]
    again = landed_cost(planned, catalog, TODAY, (release.best.quantity,))
    assert again.ranking_price == release.best.landed_unit_price


def test_the_cheapest_size_is_no_dearer_than_any_asked_for_and_the_saving_is_the_difference(planned, catalog):
    release = advice_of(planned, catalog).release
    assert all(release.best.yearly <= one.yearly for one in release.asked)
    assert release.saving == min(one.yearly for one in release.asked) - release.best.yearly
    assert release.smallest <= release.best.quantity <= release.annual


def test_a_release_beyond_the_year_is_priced_but_not_advised(planned, catalog):
    few = replace(planned, request=replace(planned.request, annual=150, releases=(100, 300)))
    release = price_advice(few, landed_cost(few, catalog, TODAY), catalog).release
    assert [one.quantity for one in release.asked] == [100, 300]
    assert release.best.quantity <= 150


def test_dearer_stock_makes_smaller_releases(planned, catalog):
    rates = catalog.rates
    dear = replace(catalog, rates=replace(rates, advice=replace(rates.advice, stock_carrying=Decimal("0.9"))))
    free = replace(catalog, rates=replace(rates, advice=replace(rates.advice, stock_carrying=Decimal(0))))
    sizes = [advice_of(planned, one).release.best.quantity for one in (dear, catalog, free)]
    assert sizes[0] < sizes[1] < sizes[2]
    assert advice_of(planned, free).release.square_root is None
