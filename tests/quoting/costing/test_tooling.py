"""Which tools, at what price, in how many weeks."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quoting.catalog import OperationRate
from quoting.costing.money import CannotPriceError
from quoting.costing.tooling import (
    kinds_needed,
    needs_machined_tool,
    prototype_option,
    tool_price,
    tool_weeks,
    tooling_lines,
    tooling_rate,
)
from quoting.intake.part import Secondary
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
    assert kinds_needed(planned(process), RATES)[0] == tool


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
    assert kinds_needed(planned(tolerance=0.050 * INCH), RATES)[0] == "machined_aluminium"


def test_a_deep_draw_needs_a_plug_and_a_shallow_one_does_not():
    shallow = some_planned()
    deep = replace(shallow, plan=replace(shallow.plan, thinning=replace(shallow.plan.thinning, plug=True)))

    assert "plug" in kinds_needed(deep, RATES)
    assert "plug" not in kinds_needed(shallow, RATES)


def test_a_semicrystalline_polymer_needs_a_cooling_fixture():
    one = planned()
    soft = replace(one, candidate=replace(one.candidate, polymer=replace(one.candidate.polymer, semicrystalline=True)))

    assert "cooling_fixture" in kinds_needed(soft, RATES)
    assert "cooling_fixture" not in kinds_needed(one, RATES)


def test_a_hand_bench_needs_no_router_fixture():
    one = planned()
    by_hand = replace(one, plan=replace(one.plan, trim=replace(one.plan.trim, trimmer=some_bench())))

    assert "trim_fixture" not in kinds_needed(by_hand, RATES)


def test_price_grows_with_the_power_of_size_and_by_cavity():
    rate = tooling_rate("cast_aluminium", RATES)
    twice = tool_price(rate, 96 * INCH - 8 * INCH, 28 * INCH, 8 * INCH, 1)

    assert twice == round(Decimal(14500 * 2**0.8), 0)
    assert tool_price(rate, 40 * INCH, 28 * INCH, 8 * INCH, 3) == Decimal("31900")  # 14,500 x (1 + 2 x .6)


def test_a_transferred_tool_brings_its_tools_and_only_its_trim_is_programmed_anew():
    lines = tooling_lines(planned(tooling="transfer"), RATES)

    assert prices(lines) == {"trim_fixture": 3200}


def test_weeks_of_a_new_tool_end_with_the_first_article_those_of_a_transfer_with_its_fixture():
    new, moved = planned(), planned(tooling="transfer")

    assert tool_weeks(new, tooling_lines(new, RATES), RATES) == 8 + 1
    assert tool_weeks(moved, tooling_lines(moved, RATES), RATES) == 3


def test_a_missing_tooling_rate_is_named():
    with pytest.raises(CannotPriceError, match="cast_aluminium"):
        tooling_lines(planned(), replace(RATES, tooling=()))


def test_a_pressure_tool_has_a_box_of_its_own():
    lines = prices(tooling_lines(planned("pressure"), RATES))

    assert (lines["pressure_tool"], lines["pressure_box"]) == (32000, 6000)
    assert "pressure_box" not in prices(tooling_lines(planned("vacuum"), RATES))


def test_texture_is_paid_by_its_area_and_made_after_the_tool():
    # 2,208 in2 are 15.333 ft2, at 275 $ a square foot 4,217 $, by hand; the tool takes 10 weeks, the texture one more
    texture = next(
        one for one in tooling_lines(planned("pressure", texture_depth=1e-4), RATES) if one.name == "texture"
    )

    assert (texture.price, texture.lead_time_weeks) == (4217, 11)
    assert {one.source for one in texture.inputs} >= {"inquiry"}


def test_a_small_texture_costs_its_least_charge_and_both_outer_sides_cost_twice():
    small = planned("pressure", texture_depth=1e-4, surface_area=0.1)
    twin = planned("twin_sheet", texture_depth=1e-4, show_side="both")

    assert prices(tooling_lines(small, RATES))["texture"] == 2000
    assert prices(tooling_lines(twin, RATES))["texture"] == round(Decimal(2 * 275 * 2208) / 144)


def test_each_undercut_takes_a_moving_section_in_each_cavity():
    one = planned("pressure", undercut_depth=0.01, undercuts=3)
    two_up = replace(one, candidate=replace(one.candidate, layout=replace(one.candidate.layout, along=2)))

    assert prices(tooling_lines(one, RATES))["moving_sections"] == 3 * 2750
    assert prices(tooling_lines(two_up, RATES))["moving_sections"] == 6 * 2750


def test_a_part_trimmed_by_hand_needs_a_jig_and_for_its_holes_a_drill_fixture():
    one = planned()
    by_hand = replace(one, plan=replace(one.plan, trim=replace(one.plan.trim, trimmer=some_bench())))

    assert {"hand_trim_jig", "drill_fixture"} <= set(kinds_needed(by_hand, RATES))
    assert "drill_fixture" not in kinds_needed(with_part(by_hand, holes=0), RATES)
    assert not {"hand_trim_jig", "drill_fixture"} & set(kinds_needed(one, RATES))


def test_operations_bring_each_fixture_once():
    rates = tuple(OperationRate(name, Decimal(60), Decimal(0), Decimal(1), "assembly_fixture") for name in ("a", "b"))
    one = planned()
    asked = replace(one, request=replace(one.request, secondary=(Secondary("a", 1), Secondary("b", 2))))

    assert kinds_needed(asked, replace(RATES, operations=rates)).count("assembly_fixture") == 1


def offered(one):
    return prototype_option(one, RATES, RATES.told)


def test_a_prototype_tool_is_shown_when_asked_or_when_the_programme_is_small_and_is_in_no_sum():
    large, small = planned(), planned()
    small = replace(small, request=replace(small.request, annual=333))  # 999 parts in three years
    asked = replace(large, request=replace(large.request, tooling_options=("prototype",)))

    assert offered(large) == ()
    assert [one.low for one in offered(small)] == [one.high for one in offered(asked)] == [3500]
    assert "prototype" not in prices(tooling_lines(asked, RATES))
    assert "asked for" in offered(asked)[0].basis and "programme is small" in offered(small)[0].basis


@pytest.mark.parametrize(("process", "tooling"), [("twin_sheet", "new"), ("vacuum", "transfer")])
def test_no_prototype_tool_welds_two_skins_or_stands_beside_a_tool_that_is_there(process, tooling):
    one = planned(process, tooling)

    assert offered(replace(one, request=replace(one.request, tooling_options=("prototype",)))) == ()


def test_every_tool_opens_to_its_inputs():
    for line in tooling_lines(planned("pressure", texture_depth=1e-4, undercut_depth=0.01, undercuts=1), RATES):
        assert line.inputs and all(one.source and one.unit for one in line.inputs)
