"""A target price: met, reached by something that was priced anew, or plainly out of reach."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from machines.machine import Booking
from materials.sheet import INCH, PriceTier, SheetOffer
from quoting.answering import answered
from quoting.contract import to_contract
from quoting.costing.advice import price_advice
from quoting.costing.landed import landed_cost
from quoting.intake.part import Secondary
from quoting.intake.reading_result import Reading
from quoting.units import spoken
from tests.quoting.costing.shop import some_rates
from tests.quoting.routing.routing_catalog import TODAY, catalog, part, request

SMALL = part(length=18 * INCH, width=12 * INCH, depth=4 * INCH, surface_area=456 * INCH**2)


def house():
    return catalog(rates=some_rates())


def answer_to(asked, shop=None):
    return answered(Reading(asked, (), (), ()), shop or house(), TODAY)


def price_of(asked, shop=None) -> Decimal:
    return answer_to(replace(asked, target_price=None), shop).chosen.cost.ranking_price


def aimed(asked, share: str, shop=None):
    """The answer to the same inquiry with a target at a share of its price."""
    return answer_to(replace(asked, target_price=round(price_of(asked, shop) * Decimal(share), 2)), shop)


def about_target(answer) -> list[str]:
    return [spoken(one.why) for one in answer.conditions if one.what.text == "the target price is not met"]


def named(target, word):
    return next((one for one in target.levers if word in one.said.text), None)


def test_without_a_target_nothing_is_said_of_one():
    found = answer_to(request(SMALL))
    assert found.advice.target is None
    assert about_target(found) == []


def test_a_target_at_the_price_itself_is_met_and_no_condition():
    found = aimed(request(SMALL), "1")
    assert found.advice.target.met
    assert "is met, landed, from 1,200 parts a release" in spoken(found.advice.target.said)
    assert found.advice.target.levers == ()
    assert about_target(found) == []


def test_a_target_met_by_smaller_releases_says_from_which():
    first = answer_to(request(SMALL)).chosen.cost.breaks[0].landed_unit_price
    found = answer_to(request(SMALL, target_price=first))
    assert "from 100 parts a release" in spoken(found.advice.target.said)


def test_a_target_just_missed_is_answered_by_what_reaches_it_each_with_its_price():
    target = aimed(request(SMALL), "0.97").advice.target
    reaching = [one for one in target.levers if one.reaches]
    assert reaching
    assert all(one.landed_unit_price <= target.target for one in reaching)
    assert f"${reaching[0].landed_unit_price:,.2f}" in spoken(target.said)
    assert "landed it would be reached by" in spoken(target.said)


def test_levers_come_cheapest_first_and_are_a_handful_and_all_below_the_price():
    target = aimed(request(SMALL, annual=4000, polymers=("ABS",), secondary=(Secondary("insert", 6),)), "0.9")
    levers, price = target.advice.target.levers, target.advice.target.landed_unit_price
    assert 0 < len(levers) <= 6
    assert [one.landed_unit_price for one in levers] == sorted(one.landed_unit_price for one in levers)
    assert all(one.landed_unit_price < price for one in levers)


def test_a_target_out_of_reach_is_called_so_with_the_gap_to_the_nearest():
    found = aimed(request(SMALL), "0.10")
    target = found.advice.target
    nearest = target.levers[0].landed_unit_price
    assert not any(one.reaches for one in target.levers)
    assert "nothing in our hands reaches it" in spoken(target.said)
    assert f"${nearest - target.target:,.2f} above the target" in spoken(target.said)
    assert about_target(found) == [spoken(target.said)]


def test_a_larger_release_costs_what_it_costs_when_it_is_asked_for():
    asked = request(SMALL, annual=5000, releases=(100, 300))
    lever = named(aimed(asked, "0.99").advice.target, "releases of")
    assert lever.quantity > 300
    again = answer_to(replace(asked, releases=(100, lever.quantity)))
    chosen = aimed(asked, "0.99").chosen.judged.planned
    shop = house()
    assert landed_cost(chosen, shop, TODAY, (lever.quantity,)).ranking_price == lever.landed_unit_price
    assert again.chosen.cost.ranking_price <= lever.landed_unit_price  # another route may be cheaper still


def test_a_thinner_gauge_costs_what_the_same_inquiry_with_that_gauge_costs():
    asked = request(SMALL, polymers=("ABS",))
    target = aimed(asked, "0.9").advice.target
    lever = named(target, "sheet of")
    figures = {figure.name: figure.value for figure in lever.said.figures}
    thinner = answer_to(replace(asked, part=replace(SMALL, gauge=figures["thinner"])))
    assert figures["thinner"] <= 0.95 * figures["gauge"]
    assert figures["wall"] == pytest.approx(thinner.chosen.judged.planned.plan.thinning.thinnest_wall)
    assert lever.landed_unit_price == thinner.chosen.cost.ranking_price


def test_another_polymer_is_named_only_where_the_customer_narrowed_the_choice():
    narrowed = aimed(request(SMALL, polymers=("ABS",)), "0.5").advice.target
    free = aimed(request(SMALL), "0.5").advice.target
    assert named(free, "if you can use it") is None
    other = named(narrowed, "if you can use it")
    assert other is None or "in place of ABS" in spoken(other.said)


def cheap_polymer():
    """The same house, where a mill sells another polymer for a song."""
    plain = house()
    other = next(one.name for one in plain.polymers if one.name != "ABS")
    offer = next(one for one in plain.offers if one.polymer == "ABS" and one.colour == "stock")
    song = replace(offer, name="song", polymer=other, tiers=(PriceTier(0.0, Decimal("0.40")),))
    return replace(plain, offers=(*plain.offers, song)), other


def test_a_cheaper_polymer_costs_what_it_costs_when_it_is_allowed():
    shop, other = cheap_polymer()
    asked = request(SMALL, polymers=("ABS",))
    found = aimed(asked, "0.9", shop)
    lever = named(found.advice.target, f"{other}, if you can use it")
    same_machine = replace(shop, machines=(found.chosen.judged.planned.candidate.machine,))
    assert lever.landed_unit_price == price_of(replace(asked, polymers=(other,)), same_machine)
    assert "more" in lever.said.text  # a part that goes on shrinking needs a cooling fixture


def test_stock_colour_is_a_way_where_a_custom_one_was_asked():
    plain = house()
    offer = next(one for one in plain.offers if one.polymer == "ABS" and one.colour == "stock")
    custom: SheetOffer = replace(offer, name="own colour", colour="custom", colour_charge=Decimal(900))
    shop = replace(plain, offers=(*plain.offers, custom))
    asked = request(SMALL, polymers=("ABS",), colour="custom")
    lever = named(aimed(asked, "0.97", shop).advice.target, "colour that the mill keeps in stock")
    assert lever.landed_unit_price == price_of(replace(asked, colour="stock"), shop)


def test_a_part_without_its_inserts_costs_what_it_costs_without():
    asked = request(SMALL, polymers=("ABS",), secondary=(Secondary("insert", 6),))
    lever = named(aimed(asked, "0.97").advice.target, "without the work after forming")
    assert lever.landed_unit_price == price_of(replace(asked, secondary=()))


def test_a_cheaper_route_that_comes_too_late_is_named_with_its_weeks():
    plain = house()
    cheapest = answer_to(request(SMALL)).chosen.judged.planned.candidate.machine.code
    full = tuple(Booking(cheapest, TODAY + timedelta(weeks=week), 120.0, firm=True) for week in range(30))
    shop = replace(plain, workload=full)
    asked = request(SMALL, needed_by=TODAY + timedelta(weeks=16))
    found = aimed(asked, "0.99", shop)
    lever = named(found.advice.target, "a later date")
    assert found.chosen.judged.planned.candidate.machine.code != cheapest
    assert lever.landed_unit_price == min(one.cost.ranking_price for one in found.candidates if one.cost)


def test_a_target_that_the_dock_price_meets_says_so_and_does_not_count_as_reached():
    asked = request(SMALL)
    dock = answer_to(asked).chosen.cost.breaks[-1].unit_price
    target = answer_to(replace(asked, target_price=dock)).advice.target
    assert not target.met
    assert f"met at our dock, ${dock:,.2f} without freight" in spoken(target.said)


def test_what_the_customer_reads_of_a_target_has_no_cost_and_is_short_enough_to_print():
    for share in ("0.97", "0.9", "0.5"):
        said = aimed(request(SMALL, polymers=("ABS",), secondary=(Secondary("insert", 6),)), share).advice.target.said
        assert len(said.text) < 500  # a document cuts longer texts
        assert not [word for word in ("margin", "overhead", "cost") if word in spoken(said)]


def test_the_command_line_tells_the_advice_and_money_is_text():
    told = to_contract(aimed(request(SMALL), "0.9"))["price_advice"]
    assert told["target"]["met"] is False
    assert Decimal(told["target"]["gap"]) > 0
    assert [one["quantity"] for one in told["resin"]["effects"]] == [100, 300, 1200]
    assert {one["plant"] for one in told["freight_from_plants"]} == {one.code for one in house().plants}
    best = told["release_size"]["cheapest_in_a_year"]
    assert best in [one["quantity"] for one in told["release_size"]["yearly"]]


def test_tools_paid_in_the_price_may_be_billed_by_themselves():
    asked = request(SMALL, amortise_over=2400)
    found = aimed(asked, "0.97")
    lever = named(found.advice.target, "billed by themselves")
    assert lever.landed_unit_price == found.chosen.cost.ranking_price - found.chosen.cost.amortised.per_part
    assert {figure.value for figure in lever.said.figures} == {float(found.chosen.cost.amortised.tooling)}


def test_sizes_are_compared_with_the_tooling_that_is_in_the_price():
    found = answer_to(request(SMALL, amortise_over=2400))
    assert [one.landed_unit_price for one in found.advice.release.asked] == [
        one.landed_unit_price for one in found.chosen.cost.breaks
    ]
    plan = found.chosen.judged.planned
    apart = replace(plan, request=replace(plan.request, amortise_over=None))
    advice = price_advice(apart, landed_cost(apart, house(), TODAY), house())
    assert found.advice.resin.effects == advice.resin.effects  # resin is not in the tools
