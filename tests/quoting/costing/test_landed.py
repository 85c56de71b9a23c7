"""From a planned candidate to its landed cost."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from machines.calendar import default_calendar
from machines.free_time import free_by_day
from machines.machine import Booking
from machines.promise import Work, promised
from materials.sheet import PriceTier
from quoting.catalog import TransitRates
from quoting.costing.inputs import release_inputs
from quoting.costing.landed import landed_cost
from quoting.costing.money import CannotPriceError
from quoting.costing.shipping import packed_part
from tests.quoting.costing.shop import INCH, MILE, POUND, TODAY, some_catalog, some_plant, with_part

MONDAY = date(2026, 3, 2)


def with_offer(planned, **fields):
    candidate = planned.candidate
    return replace(planned, candidate=replace(candidate, offer=replace(candidate.offer, **fields)))


def moved_to_sister_plant(planned, catalog):
    sister = replace(some_plant(), code="P2", latitude=33.7490, longitude=-84.3880, labour_rate=Decimal(30))
    trim = replace(planned.plan.trim, plant="P2", moves=True)
    moved = replace(planned, plan=replace(planned.plan, trim=trim))
    return moved, replace(catalog, plants=(*catalog.plants, sister))


def test_lines_of_every_release_add_up_to_its_unit_price(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)

    for each in cost.breaks:
        lines = [line.per_part for line in cost.lines if line.quantity == each.quantity]
        assert sum(lines) == each.unit_price


def test_landed_price_is_unit_price_and_freight_at_the_largest_release(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)

    assert [each.quantity for each in cost.breaks] == [100, 300, 1200]
    assert all(each.landed_unit_price == each.unit_price + each.freight_per_part for each in cost.breaks)
    assert cost.ranking_price == cost.breaks[-1].landed_unit_price
    assert cost.packing == cost.packings[-1]


def test_hours_of_the_plan_are_those_of_the_worked_cover(planned, catalog):
    # Worked cover at 300: press 20.95 h, router 15.43 h; set-up 2.65 $ a part.
    middle = landed_cost(planned, catalog, TODAY).breaks[1]

    assert round(middle.press_hours, 2) == 20.95
    assert round(middle.trim_hours, 2) == 15.43
    assert round(middle.setup_per_part, 2) == Decimal("2.65")


def test_price_of_the_plan_is_near_the_worked_cover(planned, catalog):
    # Worked cover at 1,200: 51.76 $. Here a denser pallet, 46 parts for 28, saves some packing.
    assert landed_cost(planned, catalog, TODAY).breaks[-1].unit_price == pytest.approx(
        Decimal("51.76"), rel=Decimal("0.02")
    )


def test_lead_time_is_tool_first_article_forming_trim_and_pack(planned, catalog):
    # 8 weeks of tool and 1 of first article: 63 days, a Wednesday. The worked cover takes 9.90 h at the press, which
    # works 24 h a day: .4125 days. Then .6 weeks to trim and pack, in which 5.84 h at the router find their place.
    # It was 10.6 weeks while the queue was counted in whole weeks.
    first = landed_cost(planned, catalog, TODAY).breaks[0]

    assert first.lead_time_weeks == pytest.approx((63 + 9.90 / 24) / 7 + 0.6, abs=0.0005)
    assert first.arrives == TODAY + timedelta(days=68)  # 67.6, without rates of transit


def test_the_worked_queue_of_the_trade_holds_where_tool_and_sheet_are_there(planned, catalog):
    # shared rule of the trade: free 8, 14, 22, 40 h, a job of 20.95 h is through in week 2. The weeks here begin on a
    # Monday, days are even, and 8 + 14 = 22 h are reached by the end of the second.
    booked = tuple(
        Booking("M1", MONDAY + timedelta(weeks=n), 120 - free, True) for n, free in enumerate((8, 14, 22, 40))
    )
    there = replace(with_offer(planned, lead_time_weeks=0.0), request=replace(planned.request, tooling="transfer"))
    here = replace(catalog, workload=booked, rates=without_tool(catalog.rates))

    middle = landed_cost(there, here, MONDAY).breaks[1]
    formed = sum(one.queue + one.run for one in middle.timing.placed[:1])

    assert round(middle.press_hours, 2) == 20.95
    assert 7 < formed < 14
    assert formed == pytest.approx(7 + 5 * (20.95 - 8) / 14, abs=0.01)


def without_tool(rates):
    return replace(
        rates, price=replace(rates.price, transfer_weeks=0.0),
        tooling=tuple(replace(one, lead_time_weeks=0.0) for one in rates.tooling),
    )  # fmt: skip


def test_weeks_that_are_full_when_the_tool_is_there_lengthen_the_lead_time(planned, catalog):
    # tool and first article are there on Wednesday 6 May; the weeks of 4 to 25 May are full, so forming begins on
    # Monday 1 June, day 89. It was 4 weeks more for any 4 full weeks, near ones too.
    full = tuple(Booking("M1", date(2026, 5, 4) + timedelta(weeks=week), 120, True) for week in range(4))

    busy = landed_cost(planned, replace(catalog, workload=full), TODAY).breaks[0]

    assert busy.lead_time_weeks == pytest.approx((89 + 9.90 / 24) / 7 + 0.6, abs=0.0005)


def test_weeks_that_are_full_before_the_tool_is_there_cost_no_time(planned, catalog):
    full = tuple(Booking("M1", date(2026, 3, 9) + timedelta(weeks=week), 120, True) for week in range(4))

    busy = landed_cost(planned, replace(catalog, workload=full), TODAY)

    idle = landed_cost(planned, catalog, TODAY)
    assert [one.arrives for one in busy.breaks] == [one.arrives for one in idle.breaks]
    assert busy.breaks[0].timing.placed[0].queue == pytest.approx(0)


def test_sheet_that_comes_later_than_the_tool_sets_the_lead_time(planned, catalog):
    late = with_offer(planned, lead_time_weeks=12.0)

    found = landed_cost(late, catalog, TODAY).breaks[0].lead_time_weeks

    assert found == pytest.approx(12 + 9.90 / 24 / 7 + 0.6, abs=0.0005)


def test_the_way_to_the_customer_takes_its_days_on_the_road(planned, catalog):
    # at 200 miles a day and two days in terminals
    pace = TransitRates(200 * MILE, 200 * MILE, 2 / 7)
    known = replace(catalog, rates=replace(catalog.rates, transit=pace))

    cost = landed_cost(planned, known, TODAY)

    for one, packing in zip(cost.breaks, cost.packings, strict=True):
        terminals = 2 if packing.mode == "ltl" else 0
        assert one.timing.waits.transit == pytest.approx(packing.distance / (200 * MILE) + terminals)
    assert [one.lead_time_weeks for one in cost.breaks] == [
        one.lead_time_weeks for one in landed_cost(planned, catalog, TODAY).breaks
    ]


def test_steps_looked_up_are_those_searched_day_by_day(planned, catalog):
    full = tuple(Booking("M1", date(2026, 5, 4) + timedelta(weeks=week), 100, True) for week in range(4))
    busy = replace(catalog, workload=full)
    plant = catalog.plants[0]

    for one in landed_cost(planned, busy, TODAY).breaks:
        works = tuple(
            Work(each.name, each.where, each.hours, free_by_day(default_calendar(plant), each.where, full, TODAY, 60))
            for each in one.timing.placed
        )
        found = promised(TODAY, one.timing.waits, works)
        assert found.arrives == one.arrives
        assert found.steps[-1].finish == pytest.approx(one.timing.arrives)


def test_the_same_candidate_costs_the_same_twice(planned, catalog):
    assert landed_cost(planned, catalog, TODAY) == landed_cost(planned, some_catalog(), TODAY)


def test_a_mill_minimum_above_a_release_is_reported_for_that_release_only(planned, catalog):
    choosy = with_offer(planned, minimum_order=2000 * POUND)

    assert [each.quantity for each in landed_cost(choosy, catalog, TODAY).excess] == [100]


def test_cheaper_sheet_makes_a_cheaper_part(planned, catalog):
    cheap = with_offer(planned, tiers=(PriceTier(0.0, Decimal("1.00")),))

    assert landed_cost(cheap, catalog, TODAY).ranking_price < landed_cost(planned, catalog, TODAY).ranking_price


def test_a_nearer_customer_pays_less_freight(planned, catalog):
    to = planned.request.ship_to
    near = replace(planned, request=replace(planned.request, ship_to=replace(to, latitude=41.9, longitude=-87.9)))

    assert (
        landed_cost(near, catalog, TODAY).packing.freight_total
        < landed_cost(planned, catalog, TODAY).packing.freight_total
    )


def test_a_part_trimmed_at_a_sister_plant_ships_from_there_and_pays_the_transport(planned, catalog):
    moved, both = moved_to_sister_plant(planned, catalog)

    here, there = landed_cost(planned, catalog, TODAY), landed_cost(moved, both, TODAY)

    assert [line.quantity for line in there.lines if line.name == "transport between plants"] == [100, 300, 1200]
    assert "transport between plants" not in [line.name for line in here.lines]
    assert there.packing.distance < here.packing.distance  # Atlanta is nearer to Dallas than Chicago


def test_work_at_the_sister_plant_is_paid_at_its_rate(planned, catalog):
    moved, both = moved_to_sister_plant(planned, catalog)

    inputs, _ = release_inputs(moved, 300, both)

    assert inputs.press.labour_rate == 34
    assert inputs.trim.labour_rate == inputs.pack.bench.labour_rate == 30


def test_foam_is_in_the_packing_line_exactly_where_the_release_rides_ltl(planned, catalog):
    cost = landed_cost(planned, catalog, TODAY)
    packing_lines = [line for line in cost.lines if line.name == "packing"]

    modes = [each.mode for each in cost.packings]
    assert "ltl" in modes and "truckload" in modes
    assert ["foam" in line.basis for line in packing_lines] == [mode == "ltl" for mode in modes]


def test_closed_parts_do_not_nest(planned, catalog):
    hollow = with_part(planned, enclosed=True)
    twin = replace(planned, candidate=replace(planned.candidate, process="twin_sheet"))

    assert packed_part(planned, catalog.rates).pitch is not None
    assert packed_part(hollow, catalog.rates).pitch is None
    assert packed_part(twin, catalog.rates).pitch is None


def test_two_skins_are_cut_as_one_gauge(planned, catalog):
    one, _ = release_inputs(planned, 300, catalog)
    cycle = replace(planned.plan.cycle, blanks_per_part=2)
    two, _ = release_inputs(replace(planned, plan=replace(planned.plan, cycle=cycle)), 300, catalog)

    # .187 in in one pass, twice .187 in in two
    assert two.trim.time.path == pytest.approx(2 * one.trim.time.path)


def test_without_sheet_offer_trimmer_or_known_plant_there_is_no_price(planned, catalog):
    no_offer = replace(planned, candidate=replace(planned.candidate, offer=None))
    no_trimmer = replace(planned, plan=replace(planned.plan, trim=replace(planned.plan.trim, trimmer=None)))
    nowhere = replace(planned, plan=replace(planned.plan, trim=replace(planned.plan.trim, plant="P9", moves=True)))

    for each in (no_offer, no_trimmer, nowhere):
        with pytest.raises(CannotPriceError):
            landed_cost(each, catalog, TODAY)


def test_an_operation_without_a_standard_is_named(planned, catalog):
    with pytest.raises(CannotPriceError, match="insert"):
        landed_cost(planned, replace(catalog, rates=replace(catalog.rates, operations=())), TODAY)


def test_freight_money_is_in_cents(planned, catalog):
    for each in landed_cost(planned, catalog, TODAY).packings:
        for money in (each.freight_total, each.ltl_total, each.truckload_total):
            assert money is None or money.as_tuple().exponent == -2


def test_pallet_of_a_large_part_grows_to_it(planned, catalog):
    large = with_part(planned, length=80 * INCH, width=50 * INCH)
    inputs, _ = release_inputs(large, 100, catalog)

    assert inputs.pack.area_factor == pytest.approx(80 * 50 / (48 * 40))
