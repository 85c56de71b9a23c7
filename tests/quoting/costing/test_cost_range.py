"""The range of error: against closed forms, against more draws, and against the estimate that it surrounds."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from quoting.catalog import DRAWN, SPREAD_INPUTS, Spread
from quoting.costing.cost_range import MEANING, cost_range, drawn_factors
from quoting.costing.inputs import plant_that_trims, release_inputs
from quoting.costing.landed import landed_cost
from quoting.costing.money import to_cent
from quoting.costing.price_breaks import price_release
from quoting.costing.shipping import sent_release
from quoting.costing.varied import varied
from tests.quoting.costing.shop import TODAY
from tests.quoting.costing.test_landed import with_offer

# Inputs in which the cost is linear while no order crosses a tier and nothing is rounded up.
LINEAR = (
    Spread("setup_time", 0.8, 1.3), Spread("trim_time", 0.88, 1.15), Spread("sheet_price", 0.95, 1.06),
    Spread("regrind", 0.7, 1.2), Spread("pack_time", 0.85, 1.2), Spread("freight_rate", 0.85, 1.2),
)  # fmt: skip
ALL = (
    *LINEAR, Spread("cycle", 0.9, 1.12), Spread("press_efficiency", 0.93, 1.06), Spread("startup_shots", 0.5, 1.67),
    Spread("form_scrap", 0.5, 1.75), Spread("trim_scrap", 0.5, 1.75), Spread("sheet_mass", 0.97, 1.03),
    Spread("operation_time", 0.85, 1.2), Spread("operation_material", 0.96, 1.06), Spread("pack_material", 0.94, 1.08),
    Spread("diesel", 0.85, 1.33),
)  # fmt: skip


def spread(catalog, *spreads):
    return replace(catalog, rates=replace(catalog.rates, spreads=spreads))


def found(planned, catalog, *spreads, draws=4096):
    return cost_range(planned, landed_cost(planned, catalog, TODAY), spread(catalog, *spreads), draws)


def mean_of(each):
    return (each.least + 1 + each.most) / 3


def variance_of(each):
    low, high = each.least, each.most
    return (low**2 + 1 + high**2 - low - low * high - high) / 18


def drawn_costs(planned, catalog, spreads, quantity):
    """(manufacturing cost of the release, weights of each factor in it), the weights by the estimate itself."""
    rates = replace(catalog.rates, spreads=spreads)
    inputs, _ = release_inputs(planned, quantity, catalog)
    sent = sent_release(planned, quantity, plant_that_trims(planned, catalog), rates)
    factors = drawn_factors(rates)
    costs = varied(inputs, sent, factors, rates).manufacturing
    count = len(spreads)
    slopes = [
        (costs[1 + count + place] - costs[1 + place]) / (each.most - each.least) for place, each in enumerate(spreads)
    ]
    return costs[0], costs[1 + 2 * count :], slopes


def test_the_mean_is_the_analytic_one_where_the_cost_is_linear(planned, catalog):
    likely, drawn, slopes = drawn_costs(planned, catalog, LINEAR, 300)
    # mean of a sum: E[sum a_i f_i] = sum a_i E[f_i], with the mean of a triangular distribution (a + b + c)/3
    analytic = likely + sum(slope * (mean_of(each) - 1) for slope, each in zip(slopes, LINEAR, strict=True))
    assert drawn.mean() == pytest.approx(analytic, rel=2e-6)


def test_the_variance_is_the_analytic_one_of_independent_inputs(planned, catalog):
    _, drawn, slopes = drawn_costs(planned, catalog, LINEAR, 300)
    # variance of a sum of independent terms: sum a_i^2 Var[f_i]
    analytic = sum(slope**2 * variance_of(each) for slope, each in zip(slopes, LINEAR, strict=True))
    assert drawn.var() == pytest.approx(analytic, rel=0.03)


def test_the_shares_of_variance_are_the_analytic_ones(planned, catalog):
    _, _, slopes = drawn_costs(planned, catalog, LINEAR[:5], 300)
    parts = [slope**2 * variance_of(each) for slope, each in zip(slopes, LINEAR[:5], strict=True)]
    middle = found(planned, catalog, *LINEAR[:5]).releases[1]
    shares = {effect.name: effect.share for effect in middle.effects}
    for part, each in zip(parts, LINEAR[:5], strict=True):
        assert shares[each.name] == pytest.approx(part / sum(parts), abs=0.02)
    assert sum(shares.values()) == pytest.approx(1.0, abs=0.04)


def test_one_input_alone_gives_the_percentiles_of_its_own_distribution(planned, catalog):
    from scipy.stats import triang

    only = Spread("sheet_price", 0.9, 1.2)
    release = found(planned, catalog, only).releases[1]
    likely, _, slopes = drawn_costs(planned, catalog, (only,), 300)
    # scipy.stats.triang, its own inverse; the cost is linear in the price of sheet
    low, high = triang.ppf([0.1, 0.9], c=0.1 / 0.3, loc=0.9, scale=0.3)
    for ours, factor in ((release.cost.low, low), (release.cost.high, high)):
        assert float(ours) == pytest.approx((likely + slopes[0] * (factor - 1)) / 300, abs=0.011)


def test_likely_is_the_estimate_itself_to_the_cent(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)
    for one, estimate in zip(found(planned, catalog, *ALL).releases, cost.breaks, strict=True):
        inputs, _ = release_inputs(planned, one.quantity, catalog)
        made = price_release(inputs, catalog.rates).manufacturing_cost
        assert one.landed.likely == estimate.landed_unit_price
        assert one.cost.likely == to_cent(made / one.quantity)
        assert float(one.margin.likely) == pytest.approx(float(catalog.rates.price.margin), abs=0.001)


def test_inputs_without_spread_leave_no_range_around_the_estimate(planned, catalog):
    exact = found(planned, catalog, *(Spread(name, 1.0, 1.0) for name in SPREAD_INPUTS))
    for one in exact.releases:
        assert abs(one.landed.low - one.landed.likely) <= Decimal("0.01")
        assert one.landed.low == one.landed.high
        assert one.dearer == 0
        assert all(effect.share == 0 and effect.swing == 0 for effect in one.effects)


def test_tooling_in_the_price_moves_the_range_and_leaves_the_margin(planned, catalog):
    within = replace(planned, request=replace(planned.request, amortise_over=2400))
    apart, paid = (found(one, catalog, *LINEAR) for one in (planned, within))

    for before, after in zip(apart.releases, paid.releases, strict=True):
        for band in ("low", "likely", "high"):
            # 18,600 $ x 1.04 over 2,400 parts, by hand
            assert getattr(after.landed, band) - getattr(before.landed, band) == Decimal("8.06")
        assert after.margin == before.margin and after.cost == before.cost


def test_wider_spreads_make_a_wider_range(planned, catalog):
    narrow = found(planned, catalog, Spread("trim_time", 0.95, 1.05)).releases[1].landed
    wide = found(planned, catalog, Spread("trim_time", 0.8, 1.2)).releases[1].landed
    assert wide.low < narrow.low < narrow.high < wide.high


def test_more_draws_do_not_move_the_range(planned, catalog):
    few, many = (found(planned, catalog, *ALL, draws=draws) for draws in (4096, 65_536))
    for one, other in zip(few.releases, many.releases, strict=True):
        for band, same in ((one.cost, other.cost), (one.landed, other.landed)):
            assert float(band.low) == pytest.approx(float(same.low), rel=2e-3)
            assert float(band.high) == pytest.approx(float(same.high), rel=2e-3)
        assert [effect.name for effect in one.effects[:2]] == [effect.name for effect in other.effects[:2]]


def test_the_same_answer_has_the_same_range(planned, catalog):
    assert found(planned, catalog, *ALL) == found(planned, catalog, *ALL)


def test_an_input_draws_the_same_whether_or_not_others_are_varied(catalog):
    alone = drawn_factors(replace(catalog.rates, spreads=(ALL[6],)), 64)["cycle"][3:]
    together = drawn_factors(replace(catalog.rates, spreads=ALL), 64)["cycle"][1 + 2 * len(ALL) :]
    assert (alone == together).all()


def test_without_any_spread_there_is_no_range(planned, catalog):
    assert found(planned, catalog) is None


def test_what_is_not_varied_is_named(planned, catalog):
    partly = found(planned, catalog, *LINEAR)
    assert len(partly.not_varied) == len(SPREAD_INPUTS) - len(LINEAR)
    assert MEANING["cycle"][0] in partly.not_varied


def test_every_input_has_a_name_and_says_what_it_moves():
    assert tuple(MEANING) == DRAWN
    assert len({label for label, _ in MEANING.values()}) == len(DRAWN)


def test_the_source_of_a_spread_is_that_of_its_rate(planned, catalog):
    rates = replace(catalog.rates, sources=(("error.trim_time", "time study", TODAY),))
    one = found(planned, replace(catalog, rates=rates), Spread("trim_time", 0.9, 1.1)).inputs[0]
    assert one.source == "time study (rate error.trim_time, valid from 2026-03-04)"


def test_a_release_at_the_least_price_keeps_it_while_its_cost_varies(planned, catalog):
    dear = replace(catalog.rates.price, minimum_release_price=Decimal(1_000_000))
    held = replace(catalog, rates=replace(catalog.rates, price=dear))
    no_freight = tuple(each for each in ALL if each.name not in ("freight_rate", "diesel", "sheet_mass"))
    one = found(planned, held, *no_freight).releases[0]
    assert one.landed.low == one.landed.high
    assert one.cost.low < one.cost.likely < one.cost.high
    assert one.effects[0].share > 0


def test_a_dearer_draw_leaves_less_of_the_quoted_price(planned, catalog):
    # with an interleaf for each part a load of 300 stands at the edge of a freight step, where most draws are dearer
    unseen = replace(planned.request, part=replace(planned.request.part, show_side="none"))
    for one in found(replace(planned, request=unseen), catalog, *ALL).releases:
        assert one.margin.low < one.margin.likely < one.margin.high


def test_an_order_on_the_edge_of_a_tier_falls_on_both_sides_of_it(planned, catalog):
    inputs, _ = release_inputs(planned, 300, catalog)
    need = price_release(inputs, catalog.rates).need
    tiers = planned.candidate.offer.tiers
    edge = float(need.order_mass) * 1.005
    split = with_offer(planned, tiers=(tiers[0], replace(tiers[-1], from_mass=edge)))
    one = found(split, catalog, Spread("sheet_mass", 0.97, 1.03)).releases[1]
    assert one.landed.low < one.landed.likely
    effect = one.effects[0]
    assert effect.at_most < effect.at_least  # heavier sheet reaches the cheaper tier


def test_the_amounts_are_in_whole_cents(planned, catalog):
    for one in found(planned, catalog, *ALL).releases:
        for band in (one.cost, one.landed):
            assert all(amount.as_tuple().exponent == -2 for amount in (band.low, band.likely, band.high))
        assert np.isfinite([effect.share for effect in one.effects]).all()
