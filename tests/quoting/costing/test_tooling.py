"""Which tools, at what price, in how many weeks."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quoting.costing.money import CannotPriceError
from quoting.costing.tooling import (
    kinds_needed,
    needs_machined_tool,
    tool_price,
    tool_weeks,
    tooling_lines,
    tooling_rate,
)
from quoting.routing.rules.detail import tolerance
from tests.quoting.costing.shop import INCH, some_bench, some_planned, some_rates, with_part

RATES = some_rates()


def planned(process: str = "vacuum", tooling: str = "new", **part):
    one = with_part(some_planned(), **part)
    one = replace(one, candidate=replace(one.candidate, process=process))
    return replace(one, request=replace(one.request, tooling=tooling))


def prices(lines):
    return {each.name: each.price for each in lines}


def test_tools_of_the_worked_cover_cost_18600():
    # Worked cover: 14,500 + 3,200 + 900 = 18,600 $ at the reference size.
    lines = tooling_lines(planned(), RATES)

    assert prices(lines) == {"cast_aluminium": 14500, "trim_fixture": 3200, "check_fixture": 900}


@pytest.mark.parametrize(
    ("process", "tool"),
    [("vacuum", "cast_aluminium"), ("pressure", "pressure_tool"), ("twin_sheet", "twin_sheet_pair")],
)
def test_each_process_has_its_tool(process, tool):
    assert kinds_needed(planned(process))[0] == tool


def test_soft_polymers_hold_half_as_close_and_need_a_machined_tool_sooner():
    # cast tool over 40 in: .058 in, doubled to .116 in where the sheet shrinks much (common practice, no source)
    one = planned(tolerance=0.100 * INCH)
    soft = replace(one, candidate=replace(one.candidate, polymer=replace(one.candidate.polymer, semicrystalline=True)))

    assert not needs_machined_tool(one)
    assert needs_machined_tool(soft)


@pytest.mark.parametrize("thousandths", [48, 57, 58, 59, 80])
def test_a_machined_tool_is_priced_exactly_where_the_routing_rule_asks_for_one(thousandths):
    one = planned(tolerance=thousandths / 1000 * INCH)
    condition = tolerance(one).condition

    assert needs_machined_tool(one) == (condition is not None)


def test_a_tighter_tolerance_needs_a_machined_tool_and_none_given_does_not():
    assert needs_machined_tool(planned(tolerance=0.050 * INCH))
    assert not needs_machined_tool(planned(tolerance=0.060 * INCH))
    assert not needs_machined_tool(planned(tolerance=None))
    assert kinds_needed(planned(tolerance=0.050 * INCH))[0] == "machined_aluminium"


def test_a_deep_draw_needs_a_plug_and_a_shallow_one_does_not():
    shallow = some_planned()
    deep = replace(shallow, plan=replace(shallow.plan, thinning=replace(shallow.plan.thinning, plug=True)))

    assert "plug" in kinds_needed(deep)
    assert "plug" not in kinds_needed(shallow)


def test_a_semicrystalline_polymer_needs_a_cooling_fixture():
    one = planned()
    soft = replace(one, candidate=replace(one.candidate, polymer=replace(one.candidate.polymer, semicrystalline=True)))

    assert "cooling_fixture" in kinds_needed(soft)
    assert "cooling_fixture" not in kinds_needed(one)


def test_a_hand_bench_needs_no_router_fixture():
    one = planned()
    by_hand = replace(one, plan=replace(one.plan, trim=replace(one.plan.trim, trimmer=some_bench())))

    assert "trim_fixture" not in kinds_needed(by_hand)


def test_price_grows_with_the_power_of_size_and_by_cavity():
    rate = tooling_rate("cast_aluminium", RATES)
    twice = tool_price(rate, 96 * INCH - 8 * INCH, 28 * INCH, 8 * INCH, 1)

    assert twice == round(Decimal(14500 * 2**0.8), 0)
    assert tool_price(rate, 40 * INCH, 28 * INCH, 8 * INCH, 3) == Decimal("31900")  # 14,500 x (1 + 2 x .6)


def test_a_transferred_tool_costs_its_inspection_and_a_new_trim_fixture():
    lines = tooling_lines(planned(tooling="transfer"), RATES)

    assert prices(lines) == {"transfer_inspection": 750, "trim_fixture": 3200}


def test_weeks_of_a_new_tool_end_with_the_first_article_those_of_a_transfer_with_its_fixture():
    new, moved = planned(), planned(tooling="transfer")

    assert tool_weeks(new, tooling_lines(new, RATES), RATES) == 8 + 1
    assert tool_weeks(moved, tooling_lines(moved, RATES), RATES) == 3


def test_a_missing_tooling_rate_is_named():
    with pytest.raises(CannotPriceError, match="cast_aluminium"):
        tooling_lines(planned(), replace(RATES, tooling=()))
