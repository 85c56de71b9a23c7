"""What follows from a male tool: draft, radius, texture, depth, spacing, and what a refusal says of the other side."""

from math import radians

import pytest

from materials.sheet import INCH
from quoting.routing.nesting import cavity_gap, strip_around, trim_width
from quoting.routing.rules import ability, depth, detail, gauge
from quoting.routing.studying import forming_study
from quoting.routing.verdict import FAILS, FITS, FITS_IF
from tests.quoting.routing.routing_catalog import changed, one_planned, part, request


def over(process="vacuum", **changes):
    return one_planned(process, request(part(tool_side="male", **changes)))


@pytest.mark.parametrize(
    ("grips", "degrees", "status"),
    [(False, 4.0, FITS), (False, 3.9, FITS_IF), (False, 1.5, FITS_IF), (False, 1.4, FAILS),
     (True, 6.0, FITS), (True, 5.9, FITS_IF), (True, 2.5, FITS_IF), (True, 2.4, FAILS)],
)  # fmt: skip
def test_a_male_tool_wants_more_draft_and_sheet_that_shrinks_much_still_more(grips, degrees, status):
    # usual 4, stop 1.5, and 1 to 2 more for polyolefins: common practice, no source
    planned = changed(over(draft_angle=radians(degrees)), polymer={"semicrystalline": grips})
    assert detail.draft_of_walls(planned).status == status


def test_a_texture_is_refused_on_a_male_tool_and_not_on_a_female_one():
    textured = {"texture_depth": 0.004 * INCH, "draft_angle": radians(8)}
    assert detail.texture_printed(over("pressure", **textured)).status == FAILS
    assert detail.texture_printed(one_planned("pressure", request(part(**textured)))).passed


def test_pressure_forms_no_sharper_radius_over_a_male_tool():
    sharp = {"smallest_radius": 0.05 * INCH}
    assert detail.smallest_radius(over("pressure", **sharp)).status == FAILS
    assert detail.smallest_radius(one_planned("pressure", request(part(**sharp)))).passed


def test_twin_sheet_refuses_a_male_tool_with_its_remedy():
    said = ability.twin_sheet_machine(over("twin_sheet"))
    assert said.status == FAILS and "female tools" in said.remedy.text


@pytest.mark.parametrize(("ratio", "status"), [(1.0, FITS), (1.2, FITS_IF), (1.5, FITS_IF), (1.51, FAILS)])
def test_a_male_tool_draws_deeper_for_its_width(ratio, status):
    deep = {"depth": ratio * 28 * INCH, "surface_area": 2.9 * 40 * 28 * INCH**2}
    assert depth.depth_over_width(over(**deep)).status == status


def test_a_depth_that_a_female_tool_refuses_names_the_male_one():
    deep = part(depth=1.2 * 28 * INCH, draft_angle=radians(4))
    assert "male tool" in depth.depth_over_width(one_planned("vacuum", request(deep))).remedy.text


def test_male_tools_stand_their_depth_apart_and_have_room_to_web():
    # gap of the whole depth, depth/4 and 2 in at least beside it: common practice, no source
    assert cavity_gap(8 * INCH, "male") == pytest.approx(8 * INCH)
    assert trim_width(8 * INCH, "male") == pytest.approx(2 * INCH)
    assert trim_width(12 * INCH, "male") == pytest.approx(3 * INCH)
    assert strip_around(2 * INCH, "male") == pytest.approx(1 * INCH)
    assert over().candidate.layout.margin > one_planned("vacuum").candidate.layout.margin


def test_a_gauge_beyond_the_trade_names_the_thinner_one_of_the_other_side():
    tall = {"depth": 1.2 * 28 * INCH, "draft_angle": radians(4), "gauge": None, "minimum_wall": 0.09 * INCH}
    into, onto = one_planned("vacuum", request(part(**tall))), over(**tall)
    verdict = gauge.not_too_thick(into)
    helps = onto.candidate.gauge <= gauge.THICKEST < into.candidate.required_gauge
    assert ("on a male tool" in verdict.remedy.text) == helps


def test_the_part_weighs_what_its_surface_and_mean_wall_make():
    planned = over()
    made = planned.request.part.surface_area * planned.plan.thinning.mean_wall * planned.candidate.polymer.density
    assert planned.plan.part_mass == pytest.approx(made, rel=1e-3)
    assert 0 < planned.plan.selvedge_fraction < 1


def test_the_study_uses_the_male_tool_and_opens_its_numbers():
    study = forming_study(over())
    assert [one.method for one in study.methods if one.used] == ["male tool"]
    assert {"Sheet between part and clamp", "Mass of one part, trimmed"} <= {one.name for one in study.numbers}
