"""Costing many draws at once is the estimate, said in arrays."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.catalog import DRAWN, SPREAD_INPUTS, CoatingRate, OperationRate
from quoting.costing.freight import freight_class, ltl_price, truckload_price
from quoting.costing.inputs import plant_that_trims, release_inputs
from quoting.costing.landed import landed_cost
from quoting.costing.price_breaks import NOT_MANUFACTURING, price_release
from quoting.costing.sheet import pieces_to_trim, shots_to_form, tier_price
from quoting.costing.shipping import sent_release
from quoting.costing.varied import class_of, ltl_charges, pieces_and_shots, tier_prices, varied
from quoting.intake.part import Coat, Secondary
from tests.quoting.costing.shop import TODAY, some_catalog, some_offer, some_planned, some_rates
from tests.quoting.costing.test_landed import moved_to_sister_plant, with_offer


def alike(**changed):
    """Factors of one draw: all 1 but those named."""
    return {name: np.array([changed.get(name, 1.0)]) for name in DRAWN}


def one(planned, catalog, quantity, **changed):
    inputs, _ = release_inputs(planned, quantity, catalog)
    sent = sent_release(planned, quantity, plant_that_trims(planned, catalog), catalog.rates)
    return varied(inputs, sent, alike(**changed), catalog.rates)


def scenes():
    planned, catalog = some_planned(), some_catalog()
    yield "plain", planned, catalog
    yield "colour", with_offer(planned, colour_charge=Decimal(350)), catalog
    yield "moved", *moved_to_sister_plant(planned, catalog)
    cycle = replace(planned.plan.cycle, blanks_per_part=2)
    yield "two sheets", replace(planned, plan=replace(planned.plan, cycle=cycle)), catalog
    risky = replace(planned.request, tooling="transfer", colour="custom")
    yield "risks in the margin", replace(planned, request=risky), catalog
    needs = replace(planned, request=replace(planned.request, needs=("food_contact",)))
    yield "limited regrind", needs, catalog
    learnt = tuple(OperationRate(name, Decimal(60), Decimal("0.45"), Decimal("0.85")) for name in ("fitting", "paint"))
    asked = replace(planned.request, secondary=(Secondary("fitting", 2), Secondary("paint", 1)))
    yield (
        "learnt, before trim",
        replace(planned, request=asked),
        replace(catalog, rates=replace(catalog.rates, operations=(*catalog.rates.operations, *learnt))),
    )
    asked = replace(planned.request, secondary=(Secondary("paint", 2, Coat("tool", 1.4, 4.3, 0.7)),))
    coats = CoatingRate(
        "paint",
        4e-5,
        Decimal("0.4"),
        Decimal("0.65"),
        Decimal(85),
        Decimal(30),
        Decimal(20),
        Decimal(1800),
        Decimal(8),
        6.0,
    )
    yield (
        "painted by area",
        replace(planned, request=asked),
        replace(
            catalog, rates=replace(catalog.rates, operations=(*catalog.rates.operations, *learnt), coatings=(coats,))
        ),
    )
    choosy = replace(planned.candidate.offer, minimum_order=9000.0)
    shared = replace(planned.request, surplus="shared")
    candidate = replace(planned.candidate, offer=choosy)
    yield "surplus shared", replace(planned, request=shared, candidate=candidate), catalog
    yield "no operations", replace(planned, request=replace(planned.request, secondary=())), catalog


@pytest.mark.parametrize(("planned", "catalog"), [one_[1:] for one_ in scenes()], ids=[one_[0] for one_ in scenes()])
@pytest.mark.parametrize("quantity", [1, 7, 100, 300, 1200, 9999])
def test_with_every_factor_at_one_each_line_and_the_price_are_the_estimates(planned, catalog, quantity):
    inputs, packing = release_inputs(planned, quantity, catalog)
    release, found = price_release(inputs, catalog.rates), one(planned, catalog, quantity)

    lines = {line.name: float(line.total) for line in release.lines if line.name not in NOT_MANUFACTURING}
    ours = {name: float(np.broadcast_to(amount, 1)[0]) for name, amount in found.lines.items() if np.any(amount)}
    assert ours == pytest.approx({name: total for name, total in lines.items() if total}, rel=1e-9)
    assert found.manufacturing[0] == pytest.approx(float(release.manufacturing_cost), rel=1e-9)
    floor = float(catalog.rates.price.minimum_release_price)
    assert max(found.price[0], floor) / quantity == pytest.approx(float(release.unit_price), abs=0.0100001)
    if found.price[0] >= floor:
        assert found.price[0] / quantity == pytest.approx(float(release.unit_price), abs=0.0050001)
    assert found.freight[0] == pytest.approx(float(packing.freight_total), abs=0.0050001)


scrap = st.integers(0, 400).map(lambda thousandths: Decimal(thousandths) / 1000)


@given(st.integers(1, 20_000), scrap, scrap, st.integers(0, 20), st.integers(1, 12))
@settings(max_examples=300)
def test_pieces_and_shots_round_up_as_the_estimate_does_in_fractions(quantity, trim, form, startup, cavities):
    rates = some_rates()
    rates = replace(
        rates,
        trim=replace(rates.trim, scrap=trim),
        forming=replace(rates.forming, scrap_vacuum=form, startup_shots_vacuum=Decimal(startup)),
    )
    inputs, _ = release_inputs(some_planned(), 100, some_catalog())
    inputs = replace(inputs, quantity=quantity, sheet=replace(inputs.sheet, cavities=cavities))

    pieces, shots = pieces_and_shots(inputs, alike(), rates)

    assert pieces[0] == pieces_to_trim(quantity, trim)
    assert shots[0] == shots_to_form(quantity, trim, form, Decimal(startup), cavities)


@given(st.decimals(1, 60_000, places=3))
def test_a_part_load_costs_what_it_costs_in_the_estimate_at_any_mass_and_class(mass):
    rates = some_rates().freight
    for density in (0.4, 3.99, 4.0, 7.0, 12.0, 60.0):
        name = freight_class(density)
        ours = ltl_charges(np.array([float(mass)]), class_of(np.array([density])), 923.4, rates)
        exactly = ltl_price(mass, name, Decimal("923.4"), rates) / (1 + rates.ltl_fuel_surcharge)
        assert ours[0] == pytest.approx(float(exactly), rel=1e-12)


@given(st.floats(0.0, 30_000.0))
def test_the_tier_of_an_order_is_that_of_the_estimate(mass):
    exact = Decimal(repr(mass))
    assert tier_prices(some_offer(), np.array([mass]))[0] == float(tier_price(some_offer(), exact))


def test_a_truck_pays_its_own_haul_and_its_own_diesel(planned, catalog):
    sent = sent_release(planned, 1200, catalog.plants[0], catalog.rates)
    assert sent.choice.mode == "truckload"
    found = one(planned, catalog, 1200, freight_rate=1.1, diesel=1.2)
    freight = catalog.rates.freight
    dearer = replace(
        freight,
        linehaul_per_mile=freight.linehaul_per_mile * Decimal("1.1"),
        truckload_minimum=freight.truckload_minimum * Decimal("1.1"),
        diesel_per_gallon=freight.diesel_per_gallon * Decimal("1.2"),
    )
    exactly = truckload_price(sent.choice.trucks, Decimal(repr(sent.miles)), dearer)
    assert found.freight[0] == pytest.approx(float(exactly), rel=1e-9)


# What each factor does to the estimate, where the estimate knows the same thing as a rate or as plant data.
SAME_AS = {
    "sheet_price": lambda planned, rates, by: (with_offer(planned, tiers=_dearer(planned, by)), rates),
    "setup_time": lambda planned, rates, by: (_machine(planned, by), rates),
    "form_scrap": lambda planned, rates, by: (
        planned,
        replace(rates, forming=replace(rates.forming, scrap_vacuum=rates.forming.scrap_vacuum * by)),
    ),
    "startup_shots": lambda planned, rates, by: (
        planned,
        replace(rates, forming=replace(rates.forming, startup_shots_vacuum=rates.forming.startup_shots_vacuum * by)),
    ),
    "trim_scrap": lambda planned, rates, by: (
        planned,
        replace(rates, trim=replace(rates.trim, scrap=rates.trim.scrap * by)),
    ),
    "pack_time": lambda planned, rates, by: (
        planned,
        replace(rates, packing=replace(rates.packing, pack_time=rates.packing.pack_time * by)),
    ),
    "operation_time": lambda planned, rates, by: (
        planned,
        replace(rates, operations=tuple(replace(each, seconds=each.seconds * by) for each in rates.operations)),
    ),
    "operation_material": lambda planned, rates, by: (
        planned,
        replace(rates, operations=tuple(replace(each, material=each.material * by) for each in rates.operations)),
    ),
    "cycle": lambda planned, rates, by: (_slower(planned, by), rates),
    "regrind": lambda planned, rates, by: (
        with_offer(planned, regrind_value_per_pound=planned.candidate.offer.regrind_value_per_pound * by),
        rates,
    ),
}


def _dearer(planned, by):
    return tuple(replace(tier, price_per_pound=tier.price_per_pound * by) for tier in planned.candidate.offer.tiers)


def _machine(planned, by):
    machine = planned.candidate.machine
    trimmer = replace(planned.plan.trim.trimmer, setup_hours=planned.plan.trim.trimmer.setup_hours * float(by))
    slower = replace(machine, setup_hours=machine.setup_hours * float(by))
    plan = replace(planned.plan, trim=replace(planned.plan.trim, trimmer=trimmer))
    return replace(planned, candidate=replace(planned.candidate, machine=slower), plan=plan)


def _slower(planned, by):
    cycle = replace(planned.plan.cycle, parts_per_hour=planned.plan.cycle.parts_per_hour / float(by))
    return replace(planned, plan=replace(planned.plan, cycle=cycle))


@pytest.mark.parametrize("name", sorted(SAME_AS))
@pytest.mark.parametrize("by", ["0.7", "1.3"])
def test_a_factor_does_what_the_same_change_of_the_rate_does_to_the_estimate(planned, catalog, name, by):
    changed, rates = SAME_AS[name](planned, catalog.rates, Decimal(by))
    inputs, _ = release_inputs(changed, 300, replace(catalog, rates=rates))
    exactly = float(price_release(inputs, rates).manufacturing_cost)

    assert one(planned, catalog, 300, **{name: float(by)}).manufacturing[0] == pytest.approx(exactly, rel=1e-9)


CHEAPER = {"press_efficiency", "regrind"}  # the more of these the better


@pytest.mark.parametrize("name", SPREAD_INPUTS)
@pytest.mark.parametrize("quantity", [100, 1200])
def test_the_more_of_an_input_the_dearer_the_part_unless_it_earns(planned, catalog, name, quantity):
    single = with_offer(planned, tiers=planned.candidate.offer.tiers[:1])  # no tier to climb into
    steps = [one(single, catalog, quantity, **{name: factor}) for factor in (0.8, 0.9, 1.0, 1.1, 1.2)]
    costs = [step.price[0] + step.freight[0] for step in steps]
    if name in CHEAPER:
        costs.reverse()
    if name == "sheet_mass" and quantity == 100:  # a denser pallet may ride in a cheaper class
        costs = [step.price[0] for step in steps]
    assert all(low <= high + 1e-9 for low, high in zip(costs, costs[1:], strict=False))


def test_each_input_moves_something_at_some_release(planned, catalog):
    for name in SPREAD_INPUTS:
        moved = [
            abs(one(planned, catalog, quantity, **{name: 1.3}).price[0] - one(planned, catalog, quantity).price[0])
            + abs(
                one(planned, catalog, quantity, **{name: 1.3}).freight[0] - one(planned, catalog, quantity).freight[0]
            )
            for quantity in (100, 1200)
        ]
        assert max(moved) > 0, name


def test_the_estimate_itself_is_left_alone(planned, catalog):
    before = landed_cost(planned, catalog, TODAY)
    one(planned, catalog, 300, cycle=2.0)
    assert landed_cost(planned, catalog, TODAY) == before
