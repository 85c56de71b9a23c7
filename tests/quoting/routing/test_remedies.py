"""What a rule offers in its remedy is a thing that there can be: no size of nothing, nothing negative or endless."""

from dataclasses import replace
from functools import cache
from itertools import product
from math import isfinite, radians

import pytest

from materials.sheet import INCH
from quoting.intake.part import CustomerTool, Pocket
from quoting.routing.rules import ability, after, depth, detail, frame, gauge, heat
from quoting.routing.rules.all_rules import RULES
from quoting.units import show, spoken
from tests.quoting.routing.routing_catalog import PSI, changed, one_planned, part, request

TINY, HUGE = 1e-9, 50.0  # m
TRANSFER = {"tooling": "transfer", "tool": CustomerTool(46 * INCH, 34 * INCH, 13 * INCH)}


@cache
def base(process: str, side: str):
    return one_planned(process, request(part(enclosed=process == "twin_sheet", tool_side=side)))


def of(room, **values):
    """A change for each value of each name."""
    return [{room: {name: value}} for name, several in values.items() for value in several]


def ovens():
    oven = base("vacuum", "female").candidate.machine.oven
    banks = [replace(oven.lower, heated_length=size) for size in (TINY, 0.1)]
    return [
        *({"machine": {"oven": replace(oven, lower=bank)}} for bank in banks),
        *({"machine": {"oven": replace(oven, clearance_below=room)}} for room in (0.0, TINY, 1e-4, 0.01)),
    ]


SIZES = (0.005, 0.3, 10.0)
ROOMS = (0.0, TINY, 0.02, 0.1, 0.15)
ASKED = [
    {},
    *of("part", length=SIZES, width=SIZES, depth=(*SIZES, TINY), draft_angle=(0.0, TINY, radians(2.001), radians(45))),
    *of("part", minimum_wall=(TINY, 0.05), smallest_radius=(0.0, TINY), undercut_depth=(TINY, 5.0), tolerance=(TINY,)),
    *of("part", enclosed=(True, False), show_side=("both", "tool"), service_temperature=(673.15,)),
    *of("part", pocket=(Pocket(0.002, 0.0005), Pocket(10.0, 0.005)), gauge=(0.0001, 0.05)),
    *({"part": {"texture_depth": deep, "draft_angle": radians(lean)}} for deep, lean in product(
        (TINY, 0.004 * INCH, 0.002), (0.0, 1.0, 2.0, 2.5, 3.0, 45.0))),
    *of("request", annual=(1, 10_000_000), needs=(("food_contact",), ("flame_v0",))),
    {"request": TRANSFER},
]  # fmt: skip
GIVEN = [
    *of("candidate", required_gauge=(TINY, 1.0), gauge=(0.0001, 0.05)),
    *of("machine", largest_opening_length=SIZES, largest_opening_width=SIZES, smallest_opening_length=SIZES),
    *of("machine", platen_length=(TINY, 0.1), platen_width=(TINY, 0.1), twin_sheet=(False,)),
    *of("machine", pressure_capability=(0.0, TINY), thinnest_gauge=(0.05,), thickest_gauge=(0.0001,)),
    *({"machine": {"draw_depth_above": room, "draw_depth_below": room}} for room in ROOMS),
    *({"machine": {"tool_height_above": room, "tool_height_below": room}} for room in ROOMS),
    *of("offer", widest=(TINY, 0.1), longest=(TINY, 0.1), thinnest_gauge=(0.05,), thickest_gauge=(0.0001,)),
    *of("press", lock_force=(0.0, TINY, 10.0, 1e4), pressure=(0.0, 1e6)),
    *of("thinning", thinnest_wall=(TINY, 1e-4), areal_draw_ratio=(1.0, 1e6)),
    *of("plan", sag=(TINY, 0.3, 5.0)),
    *of("cooling", time=(1e9,)),
    *of("polymer", deflection_temperature=(150.0,), tool_temperature=(600.0,), semicrystalline=(True,)),
    *of("heating", coldest_at_contact=(None, 200.0), surface_peak=(2000.0,)),
    {"heating": {"mean_at_contact": None, "limited_by": "core", "thickest_gauge": None}},
    {"trim": {"trimmer": None}},
    {"plant": {"trimmers": ()}, "trim": {"trimmer": None}},
]  # fmt: skip


def extremes():
    """Every extreme wish on every extreme house would be many; each wish alone, each house alone, and some pairs."""
    houses = [*GIVEN, *ovens()]
    yield from ASKED
    yield from houses
    small = ASKED[1], {"request": TRANSFER}, {"part": {"minimum_wall": 0.05}}
    for wish, house in product(small, houses):
        yield {**house, **wish}


CASES = [
    (process, side)
    for process, side in product(("vacuum", "pressure", "twin_sheet"), ("female", "male"))
    if (process, side) != ("twin_sheet", "male")  # refused before it is planned
]


@pytest.mark.parametrize("rule", RULES)
def test_every_figure_of_a_remedy_is_finite_above_nothing_and_still_so_as_written(rule):
    absurd = []
    for (process, side), change in product(CASES, extremes()):
        verdict = rule(changed(base(process, side), **change))
        for figure in verdict.remedy.figures if not verdict.passed else ():
            written = show(figure.value, figure.unit, "both")
            if not (isfinite(figure.value) and figure.value > 0 and any(digit in written for digit in "123456789")):
                absurd.append((process, side, change, verdict.remedy.text, figure))
    assert absurd == []


def texture_remedy(inches, degrees):
    textured = {"texture_depth": inches * INCH, "draft_angle": radians(degrees)}
    return spoken(detail.draft_for_texture(changed(base("pressure", "female"), part=textured)).remedy, "us")


def test_walls_that_lean_too_little_for_any_texture_are_offered_none_and_not_one_of_nothing():
    # by the rule 2 deg and 1 deg for each .001 in: .004 in takes 6 deg, 2 deg bear nothing, and 2.9 not yet .001 in
    none = "6.0 deg of draft on textured walls, no texture on these walls, or sheet that is textured already"

    assert [texture_remedy(0.004, degrees) for degrees in (0.0, 2.0, 2.9)] == [none] * 3


@pytest.mark.parametrize(("degrees", "offered"), [(3.0, "0.001 in"), (3.9, "0.001 in"), (5.9, "0.003 in")])
def test_a_texture_that_is_offered_passes_the_rule_as_it_is_written(degrees, offered):
    assert texture_remedy(0.004, degrees) == f"6.0 deg of draft on textured walls, or a texture {offered} deep"
    written = {"texture_depth": float(offered.split()[0]) * INCH, "draft_angle": radians(degrees)}
    assert detail.draft_for_texture(changed(base("pressure", "female"), part=written)).passed


def test_nobody_is_asked_for_more_draft_than_a_wall_can_have():
    # 2 mm of texture would take 80.7 deg
    assert texture_remedy(0.002 / INCH, 4.0) == "a texture 0.002 in deep"


def test_a_twin_sheet_part_is_offered_no_undercut_rather_than_one_of_nothing():
    said = detail.undercut(changed(base("twin_sheet", "female"), part={"undercut_depth": 0.01}))

    assert said.remedy.text.startswith("no undercut, or")
    assert "frees none" in said.reason.text


@pytest.mark.parametrize("rule", RULES)
def test_a_blank_with_one_part_on_it_is_not_asked_to_carry_fewer(rule):
    said = [rule(changed(base(*case), **change)) for case, change in product(CASES, [*GIVEN, *ovens()])]

    assert not [one.remedy.text for one in said if not one.passed and "fewer parts" in one.remedy.text]


def test_several_parts_on_a_blank_may_become_fewer():
    two = {"along": 2, "blank_length": 87 * INCH}
    area = 2 * base("pressure", "female").plan.press.projected_area
    plan = changed(base("pressure", "female"), layout=two, press={"projected_area": area, "lock_force": 1e3})
    narrow = changed(plan, machine={"largest_opening_length": 80 * INCH}, offer={"widest": 20 * INCH})

    for rule in (ability.lock_holds_parts, ability.lock_holds_box, frame.blank_in_clamp_frame, gauge.size_of_offer):
        assert "fewer parts on the blank" in rule(narrow).remedy.text
    # 87 in of blank in a frame of 80 in: each of the two parts 3.5 in smaller
    assert spoken(frame.blank_in_clamp_frame(narrow).remedy, "us").startswith("a part 3.50 in smaller")


def test_a_part_that_would_have_to_shrink_to_nothing_is_not_asked_to():
    def remedy(inches):
        small = changed(base("vacuum", "female"), machine={"largest_opening_width": inches * INCH})
        return frame.blank_in_clamp_frame(small).remedy.text

    # the blank is 33 in across for a part of 28 in: in a frame of 6 in 1 in of part would be left, in one of 5 in none
    assert "smaller in this direction" in remedy(6) and "smaller" not in remedy(5)


@pytest.mark.parametrize(("psi", "offered"), [(30.0, True), (20.0, True), (19.9, False), (0.0, False)])
def test_less_pressure_is_offered_down_to_what_still_forms_a_part(psi, offered):
    press = base("pressure", "female").plan.press
    weak = changed(base("pressure", "female"), press={"lock_force": psi * PSI * press.box_area})

    assert ("less pressure" in ability.lock_holds_box(weak).remedy.text) == offered


def test_a_customers_tool_is_not_lowered_into_the_part():
    def remedy(inches):
        low = {"tool_height_above": 0.0, "tool_height_below": inches * INCH}
        return depth.tool_in_daylight(changed(base("vacuum", "female"), request=TRANSFER, machine=low)).remedy.text

    # the part is 8 in deep in a tool of 13 in: 5 in of base at most
    assert "lower" in remedy(8.5) and "lower" not in remedy(8)


def test_a_sheet_that_hangs_far_too_low_is_offered_no_blank_without_a_part_and_no_polymer_that_nobody_makes():
    oven = replace(base("vacuum", "female").candidate.machine.oven, clearance_below=1e-4)
    said = heat.sag_clears_heaters(changed(base("vacuum", "female"), machine={"oven": oven})).remedy.text

    assert said.endswith(heat.NO_BLANK) and "blank of" not in said and "stiff" not in said


def test_a_gauge_beyond_the_trade_is_not_offered_for_a_thin_wall():
    def remedy(wall):
        thin = {"part": {"minimum_wall": wall}, "thinning": {"thinnest_wall": 0.001}}
        return depth.wall_after_forming(changed(base("vacuum", "female"), **thin)).remedy.text

    # .187 in of sheet leave .9 mm at the low end: 2.4 mm would take .499 in, 2.5 mm take .519 in
    assert remedy(0.0024).startswith("a starting gauge of") and remedy(0.0025).startswith("a thinner wall")


def test_a_plant_without_a_router_is_not_said_to_have_one_that_takes_nothing():
    plan = base("vacuum", "female")
    by_hand = {"trimmer": replace(plan.plan.trim.trimmer, kind="hand")}
    said = after.router_takes_part(changed(plan, plant={"trimmers": ()}, trim=by_hand))

    assert said.condition.text == "trimmed by hand: {measured} is needed and the plant has no router"


@pytest.mark.parametrize("lost", [{"coldest_at_contact": 300.0}, {"surface_peak": 600.0}], ids=["cold", "scorched"])
@pytest.mark.parametrize("thicker", [0.0032, None])
def test_a_sheet_that_loses_its_window_on_the_way_is_offered_a_gauge_where_one_arrives(lost, thicker):
    verdict = heat.heat_left_at_tool(changed(base("vacuum", "female"), heating=lost | {"thicker_gauge": thicker}))

    assert not verdict.passed
    assert {one.name: one.value for one in verdict.remedy.figures} == ({"thicker": thicker} if thicker else {})
