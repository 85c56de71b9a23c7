"""Margin by risk: which candidate carries which adder, and what the price makes of it."""

from dataclasses import replace
from decimal import Decimal

import pytest

from materials.sheet import INCH
from quoting.costing.landed import landed_cost
from quoting.costing.risk import margin_share, risks_of
from tests.quoting.costing.shop import TODAY, with_part


def names(planned, rates):
    return [one.name for one in risks_of(planned, rates.margin)]


def asked(planned, **fields):
    return replace(planned, request=replace(planned.request, **fields))


def margin_line(cost, quantity=300):
    return next(one for one in cost.lines if (one.name, one.quantity) == ("margin", quantity))


def test_a_plain_part_carries_no_adder_and_the_base_margin(planned, catalog):
    assert names(planned, catalog.rates) == []
    assert margin_share((), catalog.rates.price, catalog.rates.margin) == catalog.rates.price.margin


@pytest.mark.parametrize(
    ("changed", "name"),
    [({"tooling": "transfer"}, "transferred tool"), ({"colour": "custom"}, "custom colour"),
     ({"needs": ("flame_v0",)}, "certified sheet"), ({"needs": ("food_contact",)}, "certified sheet")],
)  # fmt: skip
def test_what_the_customer_asks_for_may_be_a_risk(planned, rates, changed, name):
    assert names(asked(planned, **changed), rates) == [name]


def test_twin_sheet_is_a_risk_of_the_process(planned, rates):
    twin = replace(planned, candidate=replace(planned.candidate, process="twin_sheet"))
    assert "twin-sheet" in names(twin, rates)


def test_a_tolerance_that_a_cast_tool_holds_is_no_risk_and_a_tighter_one_is(planned, rates):
    # "Thermoforming Dimensions and Tolerances", a thermoformer: over 40 in a cast tool holds .058 in
    assert names(with_part(planned, tolerance=0.058 * INCH), rates) == []
    assert names(with_part(planned, tolerance=0.057 * INCH), rates) == ["tight tolerance"]


@pytest.mark.parametrize(("ratio", "near"), [(3.39, False), (3.40, True), (4.0, True)])
def test_a_draw_is_near_its_limit_from_the_share_in_the_rates(planned, rates, ratio, near):
    # The limit is 4 for vacuum, 85 % of it are 3.4.
    drawn = replace(
        planned, plan=replace(planned.plan, thinning=replace(planned.plan.thinning, areal_draw_ratio=ratio))
    )
    assert ("draw near its limit" in names(drawn, rates)) == near


def test_the_reason_of_a_deep_draw_carries_measured_and_limit(planned, rates):
    (risk,) = risks_of(with_part(planned, depth=26 * INCH), rates.margin)
    figures = {figure.name: figure.value for figure in risk.why.figures}
    assert figures["measured"] == pytest.approx(26 / 28)
    assert figures["limit"] == 1.0


def test_margin_is_a_share_of_the_price_with_its_adders_and_opens_to_them(planned, catalog):
    risky = asked(planned, tooling="transfer", colour="custom")
    line = margin_line(landed_cost(risky, catalog, TODAY))
    inputs = {one.name: Decimal(one.value) for one in line.inputs}

    assert inputs["base margin"] == Decimal("0.12")
    assert inputs["added for risk: transferred tool"] == Decimal("0.02")
    assert inputs["added for risk: custom colour"] == Decimal("0.01")
    assert inputs["margin"] == Decimal("0.15")
    # margin over price, by hand: total cost / (1 - .15) less itself
    assert line.total / (inputs["total cost"] + line.total) == pytest.approx(Decimal("0.15"))


def test_adders_stop_at_the_most_and_never_take_from_the_base(planned, rates):
    risks = risks_of(asked(planned, tooling="transfer", colour="custom", needs=("flame_v0",)), rates.margin)
    low, none = replace(rates.margin, most=Decimal("0.13")), replace(rates.margin, most=Decimal("0.05"))

    assert margin_share(risks, rates.price, rates.margin) == Decimal("0.16")
    assert margin_share(risks, rates.price, low) == Decimal("0.13")
    assert margin_share(risks, rates.price, none) == rates.price.margin


def test_the_risks_are_kept_with_the_cost(planned, catalog):
    cost = landed_cost(asked(planned, colour="custom"), catalog, TODAY)
    assert [(one.name, one.adder) for one in cost.risks] == [("custom colour", Decimal("0.01"))]
