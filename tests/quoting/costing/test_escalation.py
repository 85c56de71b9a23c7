"""What a move of resin does to a price, and the clause that says so."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quoting.costing.escalation import escalation, resin_effect, with_resin
from quoting.costing.inputs import release_inputs
from quoting.costing.landed import landed_cost
from quoting.units import spoken
from tests.quoting.costing.shop import TODAY, some_offer


def inputs_at(planned, catalog, quantity=300):
    return release_inputs(planned, quantity, catalog)[0]


def without_regrind(inputs):
    offer = replace(inputs.sheet.offer, regrind_value_per_pound=Decimal(0))
    return replace(inputs, sheet=replace(inputs.sheet, offer=offer))


def test_a_cent_a_pound_moves_the_worked_cover_by_fifteen_and_a_half_cents(planned, catalog):
    # Worked cover at 300: 11.308 lb bought per part; ten cents a pound are 1.131 $ of sheet and 1.55 $ of price.
    effect = resin_effect(without_regrind(inputs_at(planned, catalog)), catalog.rates)
    assert effect.per_cent_a_pound == pytest.approx(Decimal("0.155"), abs=Decimal("0.0005"))


def test_ten_percent_are_as_many_cents_as_a_tenth_of_the_resin_price(planned, catalog):
    effect = resin_effect(inputs_at(planned, catalog), catalog.rates)
    assert effect.resin_price == Decimal("0.60") * effect.sheet_price
    cents = effect.resin_price * 10  # a tenth of the price, in cents
    assert effect.per_ten_percent == pytest.approx(effect.per_cent_a_pound * cents, rel=Decimal("0.001"))


def test_regrind_gains_with_resin_and_takes_some_of_the_rise_back(planned, catalog):
    inputs = inputs_at(planned, catalog)
    with_credit, without = (resin_effect(one, catalog.rates) for one in (inputs, without_regrind(inputs)))
    assert with_credit.per_ten_percent < without.per_ten_percent
    assert with_credit.sheet_only < with_credit.per_ten_percent  # handling, overhead and margin come on top


def test_every_tier_moves_by_the_same_amount_and_regrind_in_proportion():
    offer = some_offer()
    moved = with_resin(offer, Decimal("0.10"), Decimal("1.20"))
    assert {new.price_per_pound - old.price_per_pound for new, old in zip(moved.tiers, offer.tiers, strict=True)} == {
        Decimal("0.12")
    }
    assert moved.regrind_value_per_pound == offer.regrind_value_per_pound * Decimal("1.1")


def test_sheet_that_holds_no_resin_price_does_not_move(planned, catalog):
    rates = replace(catalog.rates, advice=replace(catalog.rates.advice, resin_share=Decimal(0)))
    effect = resin_effect(inputs_at(planned, catalog), rates)
    # regrind still follows resin, so that a rise of resin can only help
    assert effect.per_cent_a_pound == 0
    assert effect.per_ten_percent <= 0


def test_the_clause_names_threshold_and_each_release_and_fits_on_the_quote(planned, catalog):
    releases = tuple(inputs_at(planned, catalog, 100 * (number + 1)) for number in range(12))
    found = escalation(releases, catalog.rates, catalog.rates.told)
    assert "3.0 %" in spoken(found.clause)
    assert spoken(found.clause).endswith("subject to contract")
    amounts = spoken(found.amounts)
    assert all(f"of {100 * (number + 1):,} by $" in amounts for number in range(12))
    assert max(len(found.clause.text), len(found.amounts.text)) < 500  # a document cuts longer texts


def test_the_effect_is_that_of_answering_with_dearer_sheet(planned, catalog):
    effect = resin_effect(inputs_at(planned, catalog), catalog.rates)
    dear = with_resin(planned.candidate.offer, Decimal("0.10"), effect.resin_price)
    moved = replace(planned, candidate=replace(planned.candidate, offer=dear))
    before, after = (landed_cost(one, catalog, TODAY).breaks[1].unit_price for one in (planned, moved))
    assert after - before == pytest.approx(effect.per_ten_percent, abs=Decimal("0.01"))
