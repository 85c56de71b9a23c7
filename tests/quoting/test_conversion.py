"""The plastic part against the metal part that it replaces."""

from dataclasses import replace

import pytest

from materials.sheet import INCH
from materials.stiffness import METALS
from quoting.contract import to_plain
from quoting.contract_detail import metal_plain
from quoting.conversion import GROOVES, SKINS, metal_comparison
from quoting.documents.metal import metal_table
from quoting.intake.part import METALS as NAMED
from quoting.intake.part import MetalPart, Secondary
from quoting.units import spoken
from tests.quoting.routing.routing_catalog import changed, one_planned, part, request

STEEL_16 = MetalPart("steel", 0.0598 * INCH)


def planned(metal=STEEL_16, process="vacuum", secondary=(), needs=None, **of_part):
    asked = request(part(enclosed=process == "twin_sheet", **of_part))
    asked = replace(asked, replaces_metal=metal, secondary=secondary, needs=asked.needs if needs is None else needs)
    return one_planned(process, asked)


def compared(*given, **named):
    return metal_comparison(planned(*given, **named))


def test_without_a_metal_part_there_is_nothing_to_compare():
    assert compared(None) is None


@pytest.mark.parametrize("metal", NAMED)
def test_each_metal_of_the_inquiry_is_compared_with_its_own_density(metal):
    found = compared(MetalPart(metal, 0.002))
    area = planned().request.part.surface_area
    assert found.metal_mass == pytest.approx(area * 0.002 * METALS[metal].density)
    assert found.mass_ratio == pytest.approx(found.plastic_mass / found.metal_mass)
    assert spoken(found.metal_corrosion)


def test_a_worked_conversion_of_sixteen_gauge_steel():
    one = planned()
    asked = changed(one, polymer={"flexural_modulus": 2.2e9, "deflection_temperature": 368.15})
    asked = replace(asked, plan=replace(asked.plan, thinning=replace(asked.plan.thinning, mean_wall=0.003)))
    part_ = replace(asked.request.part, service_temperature=332.15)
    asked = replace(asked, request=replace(asked.request, part=part_))
    found = metal_comparison(asked).stiffness
    # By hand: E t^3 of steel 199.95e9 x 1.51892e-3^3 = 700.7, of plastic 2.2e9 x 3e-3^3 = 59.4; ratio 0.0848
    assert metal_comparison(asked).stiffness_ratio == pytest.approx(0.0848, abs=0.0002)
    # halfway to the deflection temperature: (2200 + 238.8)/2 = 1219 MPa, and 0.4 of it lasts
    assert found.warm_modulus == pytest.approx(1219.4e6, rel=1e-3)
    assert found.lasting_ratio == pytest.approx(0.0848 * 1219.4 / 2200 * 0.4, rel=2e-3)
    # I needed = 700.7/12/2.2e9 = 26.54e-9 m3; wall folded 2 mm: h = sqrt((26.54 - 0.667)e-9/(7/24 x 2e-3)) = 6.66 mm
    assert found.equal_height == pytest.approx(6.66e-3 + 2e-3, abs=2e-5)
    # lasting: I = 700.7/12/487.8e6 = 119.7e-9 m3: h = sqrt(119.0e-9/5.833e-4) = 14.28 mm
    assert found.lasting_height == pytest.approx(14.28e-3 + 2e-3, abs=3e-5)
    # the same outline: 2.2e9 x 3e-3/(199.95e9 x 1.51892e-3) = 0.0217
    assert found.outline_ratio == pytest.approx(0.0217, abs=1e-4)
    # as plates: times (1 - 0.29^2)/(1 - 0.38^2)
    assert found.plate_ratio == pytest.approx(0.0848 * (1 - 0.29**2) / (1 - 0.38**2), abs=0.0003)
    assert found.shape == GROOVES
    assert found.drawn_height is None


def test_above_its_deflection_temperature_no_stiffness_is_claimed():
    hot = planned()
    hot = changed(hot, polymer={"deflection_temperature": hot.request.part.service_temperature - 1})
    found = metal_comparison(hot)
    assert found.stiffness.warm_modulus is found.stiffness.lasting_ratio is found.stiffness.lasting_height is None
    said = metal_table(to_plain(found))
    assert any("carries no load" in new for group in said["groups"] for _, _, new in group["rows"])
    assert "carries no load" in said["sums"][1]


def test_two_skins_as_drawn_are_told_only_for_twin_sheet():
    found = compared(process="twin_sheet").stiffness
    assert found.shape == SKINS
    assert found.drawn_height == pytest.approx(planned().request.part.depth)
    assert found.drawn_ratio > found.lasting_ratio
    assert compared().stiffness.drawn_ratio is None


def test_pieces_welds_and_seams_that_nobody_told_are_not_made_up():
    joints = compared().joints
    assert joints.metal_parts is joints.metal_welds is joints.metal_seam_length is None
    rows = {what: old for group in metal_table(to_plain(compared()))["groups"] for what, old, _ in group["rows"]}
    assert rows["Pieces"] == rows["Welds"] == "not told"
    assert rows["Seams in the skin"].startswith("not told")


def test_pieces_welds_and_seams_that_were_told_are_shown():
    told = compared(replace(STEEL_16, parts=7, welds=12, seam_length=3.0))
    rows = {what: old for group in metal_table(to_plain(told))["groups"] for what, old, _ in group["rows"]}
    assert (rows["Pieces"], rows["Welds"]) == ("7", "12")
    assert "3000 mm" in rows["Seams in the skin"]


def test_the_corners_of_a_box_are_four_times_its_depth():
    depth = planned().request.part.depth
    assert compared().joints.box_seam_length == pytest.approx(4 * depth)


def test_a_forming_has_no_seam_and_two_sheets_are_welded_around():
    one, two = compared().joints, compared(process="twin_sheet").joints
    asked = planned().request.part
    assert one.plastic_seam_length == 0
    assert two.plastic_seam_length == pytest.approx(2 * (asked.length + asked.width))


def test_only_operations_that_add_a_piece_count_as_pieces():
    work = (Secondary("insert", 6), Secondary("gasket", 1), Secondary("paint", 1), Secondary("inspection", 1))
    assert compared(secondary=work).joints.added_pieces == 7


def test_growth_is_by_the_expansion_of_each():
    found, one = compared().growth, planned()
    rise = one.request.part.service_temperature - 293.15
    # alpha L dT, by hand
    assert found.metal == pytest.approx(11.7e-6 * found.length * rise)
    assert found.plastic == pytest.approx(one.candidate.polymer.expansion * found.length * rise)
    assert found.plastic > 3 * found.metal


def test_sunlight_is_warned_of_unless_it_was_asked_for():
    assert any("was not asked" in one.text for one in compared(needs=()).plastic_corrosion)
    assert not any("was not asked" in one.text for one in compared(needs=("outdoor_uv",)).plastic_corrosion)


def test_a_comparison_stored_before_there_was_more_still_shows_weight_and_flat_stiffness():
    old = {key: value for key, value in to_plain(compared()).items()
           if key not in ("stiffness", "growth", "joints", "metal_corrosion", "plastic_corrosion")}  # fmt: skip
    table = metal_table(old)
    assert [group["title"] for group in table["groups"]] == ["Weight", "Bending"]
    assert len(table["sums"]) == 1


def test_the_command_line_tells_it_in_si_with_the_unit_in_the_key():
    plain = metal_plain(compared(replace(STEEL_16, parts=7)))
    assert plain["joints"]["metal_parts"] == 7
    assert plain["joints"]["metal_welds"] is None
    assert plain["stiffness"]["metal_modulus_Pa"] == METALS["steel"].modulus
    assert plain["growth"]["plastic_m"] > 0
    assert all(isinstance(one, str) and "{" not in one for one in plain["assumptions"] + plain["plastic_corrosion"])
