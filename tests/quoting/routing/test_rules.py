"""Every rule well inside its limit, exactly at it, and outside; and its words carry the two figures."""

from dataclasses import replace
from datetime import date
from functools import cache
from math import radians

import pytest

from materials.cooling import LONGEST_COOLING
from materials.polymer import NeedMet
from materials.sag import sag
from materials.sheet import INCH
from quoting.intake.part import CustomerTool, Pocket, Secondary
from quoting.routing.heat_plan import GOOD_TO
from quoting.routing.judging import judge
from quoting.routing.referral import NO_HOURS, WEIGHT
from quoting.routing.rules import ability, after, customer_tool, depth, detail, frame, gauge, heat, needs, quantity
from quoting.routing.rules.all_rules import RULES
from quoting.routing.verdict import FAILS, FITS, FITS_IF, NOT_ASSESSED
from quoting.units import spoken
from tests.quoting.routing.routing_catalog import PSI, TODAY, changed, one_planned, part, request

TRANSFER = {"tooling": "transfer", "tool": CustomerTool(46 * INCH, 34 * INCH, 13 * INCH)}
UNSIZED = {"tooling": "transfer"}
BASE_FORCE = 60 * PSI * 46 * 34 * INCH**2  # of a pressure box that seals on the base of that tool
TURN = 1e-4  # a step that is surely outside


@cache
def base(process: str):
    asked = request(part(enclosed=process == "twin_sheet"), needs=("impact",), secondary=(Secondary("insert", 6),))
    return one_planned(process, asked)


SOLVENT = {"secondary": (Secondary("solvent_bond", 4),)}


def frame_of(inches):
    return {"machine": {"largest_opening_length": inches * INCH}}


def small_frame(inches):
    return {"machine": {"smallest_opening_width": inches * INCH}}


def heaters(inches):
    oven = base("vacuum").candidate.machine.oven
    return {"machine": {"oven": replace(oven, lower=replace(oven.lower, heated_length=inches * INCH))}}


def under_oven(metres):
    return {"machine": {"oven": replace(base("vacuum").candidate.machine.oven, clearance_below=metres)}}


def under_line(metres):
    """Room under the sheet line beside that for a tool of 12 in with its base; none may hang above."""
    return {"machine": {"tool_height_above": 0.0, "tool_height_below": 12 * INCH + metres}}


def over_tool(metres):
    """The same where a tool may hang above."""
    return {"machine": {"tool_height_below": 12 * INCH + metres}}


def over_lower_tool(metres):
    """The same for a twin-sheet half with its base, 8 in."""
    return {"machine": {"tool_height_below": 8 * INCH + metres}}


def draw(inches):
    return {"machine": {"draw_depth_above": 0.0, "draw_depth_below": inches * INCH}}


def tool(inches):
    return {"machine": {"tool_height_above": 0.0, "tool_height_below": inches * INCH}}


def ratio(value):
    return {"thinning": {"areal_draw_ratio": value}}


def part_of(name, scale=1.0):
    return lambda value: {"part": {name: value * scale}}


def wall(value):
    return {"part": {"minimum_wall": 0.001}, "thinning": {"thinnest_wall": value}}


def need(*held):
    return {"request": {"needs": ("food_contact",)}, "polymer": {"needs": held}}


def flame(thinnest):
    return {
        "request": {"needs": ("flame_v0",)},
        "polymer": {"needs": (NeedMet("flame_v0", "Card 3", None, thinnest_wall=0.001),)},
        "thinning": {"thinnest_wall": thinnest},
    }


def paper(expires):
    return need(NeedMet("food_contact", "Letter 7", expires))


def annual(count):
    return {"request": {"annual": count}}


def small(inches):
    return {"request": {"annual": 6000}, "part": {"length": inches * INCH, "width": 5 * INCH}}


def texture(depth):
    return {"part": {"texture_depth": depth, "draft_angle": 0.2}}


def texture_draft(degrees):
    return {"part": {"texture_depth": 0.004 * INCH, "draft_angle": radians(degrees)}}


def offer_size(inches):
    return {"offer": {"widest": inches * INCH, "longest": 60 * INCH}}


def reach(feasible):
    missed = {"mean_at_contact": None, "reaches_window": False, "limited_by": "core", "thickest_gauge": 0.004}
    return {"heating": {} if feasible else missed}


def at_tool(coldest):
    return {"heating": {"coldest_at_contact": coldest and LOWER - GOOD_TO + coldest}}


def skin(above):
    return {"heating": {"surface_peak": base("vacuum").candidate.polymer.upper_forming_temperature + GOOD_TO + above}}


def demould(kelvin):
    return {"polymer": {"tool_temperature": kelvin}, "machine": {"cooling_air_temperature": kelvin}}


def trim(kind):
    own = base("vacuum").plan.trim.trimmer
    known = {
        "router": {"trimmer": own},
        "bench": {"trimmer": replace(own, kind="hand")},
        "sister": {"trimmer": own, "plant": "B", "moves": True},
        "nobody": {"trimmer": None},
    }
    return {"trim": known[kind]}


P1_BLANK = (45, 33)  # in, the worked blank of P-1
SAG, TWIN_SAG = base("vacuum").plan.sag, base("twin_sheet").plan.sag
CORE = base("vacuum").plan.cooling.demould_temperature
LOWER = base("vacuum").candidate.polymer.lower_forming_temperature

# rule, process, how a value is put in, and value -> status
CASES = [
    (gauge.not_thin_gauge, "vacuum", lambda v: {"candidate": {"required_gauge": v * INCH}},
     ((0.1, FITS), (0.060, FITS), (0.0599, FAILS))),
    (gauge.not_too_thick, "vacuum", lambda v: {"candidate": {"required_gauge": v * INCH}},
     ((0.1, FITS), (0.500, FITS), (0.5001, FAILS))),
    (detail.skins, "vacuum", lambda v: {"part": {"enclosed": v}}, ((False, FITS), (True, FAILS))),
    (detail.skins, "twin_sheet", lambda v: {"part": {"enclosed": v}}, ((True, FITS), (False, FAILS))),
    (ability.twin_sheet_machine, "twin_sheet", lambda v: {"machine": {"twin_sheet": v}},
     ((True, FITS), (False, FAILS))),
    (ability.twin_sheet_machine, "vacuum", lambda v: {"machine": {"twin_sheet": v}}, ((True, FITS), (False, FITS))),
    (frame.blank_in_clamp_frame, "vacuum", frame_of,
     ((96, FITS), (P1_BLANK[0] + 0.25, FITS), (P1_BLANK[0] + 0.2, FITS_IF), (P1_BLANK[0], FITS_IF), (44.99, FAILS))),
    (frame.blank_on_smallest_frame, "vacuum", small_frame, ((20, FITS), (P1_BLANK[1], FITS), (33.01, FAILS))),
    (depth.depth_over_width, "vacuum", part_of("depth", 28 * INCH),
     ((0.3, FITS), (0.75, FITS), (0.76, FITS_IF), (1.0, FITS_IF), (1.001, FAILS))),
    (depth.depth_over_width, "twin_sheet", part_of("depth", 28 * INCH), ((0.3, FITS), (1.0, FITS), (1.001, FAILS))),
    (depth.areal_draw, "vacuum", ratio, ((2.0, FITS), (3.0, FITS), (3.01, FITS_IF), (4.0, FITS_IF), (4.001, FAILS))),
    (depth.areal_draw, "pressure", ratio, ((2.0, FITS), (4.0, FITS_IF), (4.001, FAILS))),
    (depth.areal_draw, "twin_sheet", ratio, ((2.0, FITS), (3.0, FITS), (3.001, FAILS))),
    (depth.draw_depth_of_machine, "vacuum", draw, ((28, FITS), (8, FITS), (7.99, FAILS))),
    (depth.tool_in_daylight, "vacuum", tool, ((28, FITS), (12, FITS), (11.99, FAILS))),
    # the sheet may run 10 % thin: a limit of 0.001 m needs 0.001/0.9 of nominal sheet
    (depth.wall_after_forming, "vacuum", wall, ((0.002, FITS), (0.001 / 0.9, FITS), (0.00111, FAILS))),
    (detail.smallest_radius, "vacuum", part_of("smallest_radius", 0.187 * INCH), ((2, FITS), (1, FITS), (0.99, FAILS))),
    (detail.smallest_radius, "pressure", part_of("smallest_radius", 0.030 * INCH),
     ((2, FITS), (1, FITS), (0.99, FAILS))),
    (detail.smallest_radius, "twin_sheet", part_of("smallest_radius", 0.187 * INCH), ((1, FITS), (0.99, FAILS))),
    (detail.undercut, "vacuum", part_of("undercut_depth", INCH), ((0, FITS), (0.5, FITS_IF), (0.501, FAILS))),
    (detail.undercut, "pressure", part_of("undercut_depth", INCH), ((0, FITS), (1.0, FITS_IF), (1.001, FAILS))),
    (detail.undercut, "twin_sheet", part_of("undercut_depth", INCH), ((0, FITS), (0.001, FAILS))),
    (detail.draft_of_walls, "vacuum", lambda v: {"part": {"draft_angle": radians(v)}},
     ((3, FITS), (2, FITS), (1.99, FITS_IF), (0.5, FITS_IF), (0.499, FAILS))),
    (detail.texture_printed, "pressure", texture, ((0.0, FITS), (0.0001, FITS))),  # a box prints at just what it takes
    (detail.texture_printed, "vacuum", texture, ((0.0, FITS), (0.0001, FAILS))),
    (detail.texture_printed, "twin_sheet", texture, ((0.0, FITS), (0.0001, FAILS))),
    (detail.draft_for_texture, "pressure", texture_draft, ((8, FITS), (6, FITS), (5.99, FAILS))),
    (detail.sides_that_show, "vacuum", lambda v: {"part": {"show_side": v}},
     (("none", FITS), ("free", FITS), ("tool", FITS_IF), ("both", FAILS))),
    (detail.sides_that_show, "pressure", lambda v: {"part": {"show_side": v}},
     (("tool", FITS), ("free", FITS_IF), ("both", FAILS))),
    (detail.sides_that_show, "twin_sheet", lambda v: {"part": {"show_side": v}}, (("tool", FITS), ("both", FITS))),
    (detail.tolerance, "vacuum", part_of("tolerance", INCH),
     ((0.1, FITS), (0.058, FITS), (0.0579, FITS_IF), (0.048, FITS_IF), (0.0479, FAILS))),
    (needs.service_temperature, "vacuum", lambda v: {"polymer": {"deflection_temperature": 300.0},
                                                     "part": {"service_temperature": v}},
     ((280.0, FITS), (290.0, FITS), (290.1, FAILS))),
    (needs.polymer_meets_needs, "vacuum", paper,
     ((date(2027, 6, 1), FITS_IF), (TODAY, FITS_IF), (date(2026, 11, 24), FAILS))),
    (needs.polymer_meets_needs, "vacuum", flame, ((0.002, FITS_IF), (0.001 / 0.9, FITS_IF), (0.00111, FAILS))),
    (gauge.gauge_on_machine, "vacuum", lambda v: {"machine": {"thickest_gauge": v * INCH}},
     ((0.5, FITS), (0.187, FITS), (0.1869, FAILS))),
    (gauge.gauge_on_machine, "vacuum", lambda v: {"machine": {"thinnest_gauge": v * INCH}},
     ((0.06, FITS), (0.187, FITS), (0.1871, FAILS))),
    (gauge.sheet_offered, "vacuum", lambda v: {"candidate": {"offer": base("vacuum").candidate.offer if v else None}},
     ((True, FITS), (False, FAILS))),
    (gauge.gauge_of_offer, "vacuum", lambda v: {"offer": {"thickest_gauge": v * INCH}},
     ((0.5, FITS), (0.187, FITS), (0.1869, FAILS))),
    (gauge.size_of_offer, "vacuum", offer_size, ((48, FITS), (33, FITS), (32.9, FAILS))),
    (frame.heated_area_covers_blank, "vacuum", heaters, ((96, FITS), (45, FITS), (44.9, FAILS))),
    (heat.oven_reaches_window, "vacuum", reach, ((True, FITS), (False, FAILS))),
    (heat.heat_left_at_tool, "vacuum", at_tool, ((5.0, FITS), (1e-9, FITS), (-0.01, FAILS), (None, NOT_ASSESSED))),
    (heat.heat_left_at_tool, "vacuum", skin, ((-5.0, FITS), (0.0, FITS), (0.01, FAILS))),
    (heat.sag_clears_heaters, "vacuum", under_oven,
     ((0.3, FITS), (SAG, FITS), (SAG - TURN, FAILS), (0.0, FAILS))),
    (heat.sag_clears_heaters, "vacuum", lambda v: {"plan": {"sag": v * 31 * INCH}}, ((0.1, FITS), (0.101, FITS_IF))),
    (heat.sag_over_tool, "vacuum", under_line,
     ((0.3, FITS), (SAG, FITS), (SAG - TURN, FAILS), (0.0, FAILS), (-0.1, FAILS))),
    (heat.sag_over_tool, "vacuum", over_tool,
     ((0.3, FITS), (SAG, FITS), (SAG - TURN, FITS_IF), (SAG - 12 * INCH, FITS_IF), (SAG - 12 * INCH - TURN, FAILS))),
    (heat.sag_over_tool, "twin_sheet", over_lower_tool, ((0.3, FITS), (TWIN_SAG, FITS), (TWIN_SAG - TURN, FAILS))),
    (heat.sets_on_tool, "vacuum", demould, ((300.0, FITS), (CORE - 0.01, FITS), (CORE, FAILS))),
    (heat.sets_on_tool, "vacuum", lambda v: {"cooling": {"time": v}}, ((60.0, FITS), (LONGEST_COOLING, FAILS))),
    (ability.pressure_box, "pressure", lambda v: {"machine": {"pressure_capability": v * PSI}},
     ((100, FITS), (60, FITS), (59.9, FAILS))),
    (ability.pressure_box, "vacuum", lambda v: {"machine": {"pressure_capability": v * PSI}}, ((0, FITS),)),
    (ability.lock_holds_parts, "pressure", lambda v: {"press": {"lock_force": v * base("pressure").plan.press.force}},
     ((2, FITS), (1, FITS), (0.999, FAILS))),
    (ability.lock_holds_parts, "twin_sheet",
     lambda v: {"press": {"lock_force": v * base("twin_sheet").plan.press.force}},
     ((2, FITS), (1.1, FITS), (1.099, FITS_IF), (1, FITS_IF), (0.999, FAILS))),
    (ability.lock_holds_parts, "vacuum", lambda v: {"press": {"lock_force": v}}, ((0.0, FITS),)),
    (ability.lock_holds_box, "pressure", lambda v: {"press": {"lock_force": v * 60 * PSI * 43 * 31 * INCH**2}},
     ((2, FITS), (1.1, FITS), (1.099, FITS_IF), (1, FITS_IF), (0.999, FAILS))),
    (customer_tool.tool_on_platen, "vacuum", lambda v: {"request": TRANSFER, "machine": {"platen_length": v * INCH}},
     ((72, FITS), (46, FITS), (45.99, FAILS))),
    (customer_tool.tool_on_platen, "vacuum", lambda v: {"request": TRANSFER, "machine": {"platen_width": v * INCH}},
     ((60, FITS), (34, FITS), (33.99, FAILS))),
    (customer_tool.tool_on_platen, "vacuum", lambda v: {"request": v}, ((UNSIZED, FITS_IF), ({}, FITS))),
    (customer_tool.lock_holds_tool, "pressure",
     lambda v: {"request": TRANSFER, "press": {"lock_force": v * BASE_FORCE}},
     ((2, FITS), (1, FITS), (0.999, FAILS))),
    (customer_tool.lock_holds_tool, "vacuum", lambda v: {"request": TRANSFER, "press": {"lock_force": v}},
     ((0.0, FITS),)),
    (customer_tool.lock_holds_tool, "pressure", lambda v: {"request": v}, ((UNSIZED, FITS), ({}, FITS))),
    (depth.tool_in_daylight, "vacuum",
     lambda v: {"request": TRANSFER, "machine": {"tool_height_above": 0.0, "tool_height_below": v * INCH}},
     ((20, FITS), (13, FITS), (12.99, FAILS))),
    (depth.tool_in_daylight, "vacuum", lambda v: {"request": v}, ((UNSIZED, FITS_IF), ({}, FITS))),
    (quantity.programme_pays_tool, "vacuum", annual, ((1000, FITS), (17, FITS), (16, FAILS))),
    (quantity.not_small_and_many, "vacuum", small, ((12, FITS), (6, FITS), (5.99, FAILS))),
    (quantity.yearly_quantity, "vacuum", annual,
     ((1000, FITS), (50, FITS), (5000, FITS), (49, FITS_IF), (5001, FITS_IF), (20_000, FITS_IF), (20_001, FAILS))),
    (quantity.yearly_quantity, "twin_sheet", annual, ((500, FITS), (499, FITS_IF), (80_000, FITS_IF), (80_001, FAILS))),
    (after.router_takes_part, "vacuum", trim,
     (("router", FITS), ("sister", FITS_IF), ("bench", FITS_IF), ("nobody", FAILS))),
    (after.operations_here, "vacuum", lambda v: {"plant": {"assembly": v}},
     ((("insert", "paint"), FITS), (("insert",), FITS), ((), FITS_IF))),
    (after.solvent_takes_polymer, "vacuum", lambda v: {"request": SOLVENT, "polymer": {"semicrystalline": v}},
     ((False, FITS), (True, FAILS))),
    (after.solvent_takes_polymer, "vacuum", lambda v: {"polymer": {"semicrystalline": v}}, ((True, FITS),)),
]  # fmt: skip

FLAT = [
    pytest.param(rule, process, change, value, status, id=f"{rule.__name__}-{process}-{value}-{status}")
    for rule, process, change, steps in CASES
    for value, status in steps
]


@pytest.mark.parametrize(("rule", "process", "change", "value", "status"), FLAT)
def test_a_rule_says_what_it_should_inside_at_and_outside_its_limit(rule, process, change, value, status):
    verdict = rule(changed(base(process), **change(value)))

    assert verdict.status == status
    assert (verdict.condition is not None) == (status == FITS_IF)


@pytest.mark.parametrize(("rule", "process", "change", "value", "status"), FLAT)
def test_the_words_of_a_rule_carry_its_measured_value_and_its_limit(rule, process, change, value, status):
    verdict = rule(changed(base(process), **change(value)))

    named = {figure.name: figure for figure in verdict.reason.figures}
    assert (named["measured"].value, named["limit"].value) == (verdict.measured, verdict.limit)
    assert "{measured}" in verdict.reason.text and "{limit}" in verdict.reason.text
    assert verdict.remedy.text and verdict.basis and verdict.rule


def test_every_rule_is_tried_in_this_file():
    assert {case[0] for case in CASES} == set(RULES)


def test_every_rule_has_its_own_name_and_its_weight_in_a_referral():
    names = [verdict.rule for verdict in judge(base("vacuum"))]

    assert len(set(names)) == len(names) == len(RULES)
    assert sorted([*names, NO_HOURS]) == sorted(WEIGHT)  # free hours are asked for once hours are known


def test_a_cover_that_suits_the_shop_fits_by_every_rule():
    assert [verdict.rule for verdict in judge(base("vacuum")) if not verdict.passed] == []


def test_without_an_offer_nothing_is_said_of_its_gauge_and_size():
    alone = changed(base("vacuum"), candidate={"offer": None})

    assert gauge.gauge_of_offer(alone).status == gauge.size_of_offer(alone).status == NOT_ASSESSED
    assert not gauge.gauge_of_offer(alone).passed


def test_a_certificate_is_not_judged_without_a_day():
    assert needs.polymer_meets_needs(changed(base("vacuum"), on=None)).status == NOT_ASSESSED


def test_a_need_that_is_not_held_fails_and_is_named():
    verdict = needs.polymer_meets_needs(changed(base("vacuum"), request={"needs": ("transparent",)}))

    assert verdict.status == FAILS
    assert "transparency" in verdict.reason.text


@pytest.mark.parametrize(
    ("colour", "holds"),
    [("natural", ""), ("custom", "that it holds for custom colour too is for the sheet's maker to confirm; ")],
)
def test_an_agency_need_is_never_promised_for_the_part_nor_for_another_colour(colour, holds):
    asked = paper(None)
    asked = asked | {"request": asked.get("request", {}) | {"colour": colour}}
    verdict = needs.polymer_meets_needs(changed(base("vacuum"), **asked))

    assert verdict.condition.text == (
        f"made from sheet whose maker states food contact (Letter 7); {holds}"
        "listing of the finished part must come from the certifier"
    )


def test_an_agency_need_without_a_certificate_fails():
    assert needs.polymer_meets_needs(changed(base("vacuum"), **need(NeedMet("food_contact")))).status == FAILS


def test_a_polyolefin_is_allowed_twice_the_tolerance():
    stiff = changed(base("vacuum"), part={"tolerance": 0.05 * INCH}, polymer={"semicrystalline": False})
    soft = changed(stiff, polymer={"semicrystalline": True})

    assert detail.tolerance(soft).limit == pytest.approx(2 * detail.tolerance(stiff).limit)


def test_the_remedy_names_the_width_that_would_do():
    verdict = depth.depth_over_width(changed(base("vacuum"), part={"depth": 12 * INCH, "width": 6 * INCH}))

    # depth 12 over width 6 is 2.0 against 1.0: widen the pocket to 12 in
    assert verdict.measured == pytest.approx(2.0)
    assert {figure.name: figure.value for figure in verdict.remedy.figures}["width"] == pytest.approx(12 * INCH)


def test_a_turned_part_turns_its_tool():
    turned = changed(base("vacuum"), request=TRANSFER, layout={"turned": True}, machine={"platen_width": 40 * INCH})

    verdict = customer_tool.tool_on_platen(turned)
    assert (verdict.status, verdict.measured) == (FAILS, pytest.approx(46 * INCH))


def test_a_tool_that_is_too_tall_is_told_by_how_much():
    shallow = changed(base("vacuum"), request=TRANSFER, machine={"tool_height_above": 0.0, "tool_height_below": 0.3})

    assert figures_of(depth.tool_in_daylight(shallow).remedy)["over"] == pytest.approx(13 * INCH - 0.3)


def test_what_cannot_be_judged_of_a_tool_is_said_to_be_not_assessed():
    unsized = changed(base("vacuum"), request=UNSIZED)

    for rule in (customer_tool.tool_on_platen, depth.tool_in_daylight):
        assert "not assessed" in rule(unsized).condition.text


def figures_of(sentence):
    return {figure.name: figure.value for figure in sentence.figures}


def test_the_remedy_for_a_sheet_that_hangs_too_far_names_the_blank_that_would_just_clear():
    plan = changed(base("vacuum"), **under_oven(SAG / 2))
    named = figures_of(heat.sag_clears_heaters(plan).remedy)

    layout, polymer = plan.candidate.layout, plan.candidate.polymer
    assert named["length"] < layout.blank_length and named["width"] < layout.blank_width
    spans = (named[side] - 2 * INCH for side in ("length", "width"))  # the frame grips an inch of such sheet all round
    assert sag(polymer.density, polymer.hot_modulus, *spans) == pytest.approx(SAG / 2)
    # half the sag takes 2^3 = 8 times the modulus
    assert named["stiffer"] == pytest.approx(8.0)


def test_a_sheet_with_no_room_at_all_is_not_told_of_a_smaller_blank():
    assert (
        "no blank hangs that little" in heat.sag_clears_heaters(changed(base("vacuum"), **under_oven(0.0))).remedy.text
    )


def test_a_tool_is_hung_above_only_where_it_fits_and_only_when_it_must_be():
    tight = changed(base("vacuum"), **over_tool(SAG / 2))
    assert heat.sag_over_tool(tight).condition.text == heat.TOOL_ABOVE

    too_tall = changed(tight, machine={"tool_height_above": 11.9 * INCH})
    too_deep = changed(tight, machine={"draw_depth_above": 7.9 * INCH})
    assert heat.sag_over_tool(too_tall).status == heat.sag_over_tool(too_deep).status == FAILS
    assert heat.sag_over_tool(base("vacuum")).condition is None


def test_a_lock_that_barely_holds_says_at_what_pressure_it_would_hold_with_its_usual_margin():
    opening = 60 * PSI * 43 * 31 * INCH**2
    verdict = ability.lock_holds_box(changed(base("pressure"), press={"lock_force": 1.05 * opening}))

    # 60 psi x 1.05/1.1 = 57.27 psi, by hand
    assert figures_of(verdict.condition)["margin"] == pytest.approx(1.05)
    assert figures_of(verdict.condition)["safe"] / PSI == pytest.approx(57.27, abs=0.01)


def test_a_lock_that_does_not_hold_is_told_the_pressure_that_it_would():
    opening = 60 * PSI * 43 * 31 * INCH**2
    verdict = ability.lock_holds_box(changed(base("pressure"), press={"lock_force": 0.5 * opening}))

    assert figures_of(verdict.remedy)["highest"] / PSI == pytest.approx(30.0)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("process", ["vacuum", "pressure", "twin_sheet"])
def test_figures_are_finite_numbers(rule, process):
    verdict = rule(base(process))

    assert abs(verdict.measured) < 1e12 and abs(verdict.limit) < 1e12


def test_a_pocket_of_the_model_is_judged_where_it_is_deeper_for_its_opening_than_the_part():
    # By hand: 6 in deep in an opening of 5 in is 1.2 of it, over the 1.0 of the trade; the part itself has 8/28.
    verdict = depth.depth_over_width(changed(base("vacuum"), part={"pocket": Pocket(6 * INCH, 5 * INCH)}))
    assert verdict.status == FAILS
    assert verdict.measured == pytest.approx(1.2)
    assert spoken(verdict.reason).startswith("a pocket of the model is 6.00 in (152 mm) deep in an opening of 5.00 in")
    assert spoken(verdict.remedy) == "widen the pocket to 6.00 in (152 mm), or make it 5.00 in (127 mm) deep"
    shallow = changed(base("vacuum"), part={"pocket": Pocket(1 * INCH, 5 * INCH)})
    assert depth.depth_over_width(shallow).measured == pytest.approx(8 / 28)


def test_a_deep_pocket_of_a_shallow_part_asks_for_a_plug():
    verdict = depth.depth_over_width(changed(base("vacuum"), part={"pocket": Pocket(4 * INCH, 5 * INCH)}))
    assert (verdict.status, spoken(verdict.condition)) == (FITS_IF, depth.PLUG)


def test_inside_edges_that_a_model_draws_sharp_are_a_condition():
    sharp = changed(base("vacuum"), part={"smallest_radius": None, "sharp_edges": 1.0})
    verdict = detail.smallest_radius(sharp)
    assert verdict.status == FITS_IF
    assert "39.4 in (1000 mm) of inside edges without a radius: they are formed with one of" in spoken(
        verdict.condition
    )
