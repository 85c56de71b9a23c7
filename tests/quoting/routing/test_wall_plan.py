"""Walls of a part by process, and the gauge that keeps the wall asked for."""

from math import radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.cavity import FormedShape, FormingMethod
from materials.progressive import SLIP, progress_of
from materials.sheet import INCH
from quoting.intake.part import Pocket
from quoting.routing.wall_plan import areal_draw_of, plug_helps, required_gauge_of, shares_by, walls_of
from tests.quoting.routing.routing_catalog import part

GAUGE = 0.187 * INCH


def test_a_plain_box_keeps_the_trades_share_of_its_mean_wall_at_the_thinnest():
    # minimum wall 0.6 of the average: common practice, no source
    box = part()
    assert walls_of(box, "vacuum", GAUGE).shares.thinnest * areal_draw_of(box) == pytest.approx(0.6, abs=0.02)


@pytest.mark.parametrize(
    ("process", "depth", "expected"),
    [("vacuum", 22.0, True), ("vacuum", 20.0, False), ("pressure", 22.0, True), ("twin_sheet", 22.0, False)],
)
def test_a_plug_helps_a_draw_deeper_than_three_quarters_of_the_width(process, depth, expected):
    # 22/28 = .79, 20/28 = .71; a twin-sheet tool has no room for a plug
    assert plug_helps(part(depth=depth * INCH), process) == expected


def test_a_plug_helps_a_pocket_of_the_model_that_is_so_deep():
    # 4/5 = .8 of its opening, in a part of 8/28
    assert plug_helps(part(pocket=Pocket(4 * INCH, 5 * INCH)), "vacuum")
    assert not plug_helps(part(pocket=Pocket(3 * INCH, 5 * INCH)), "vacuum")


def test_a_plug_helps_where_the_surface_is_more_than_three_times_the_plan():
    assert plug_helps(part(surface_area=3.1 * 40 * 28 * INCH**2), "vacuum")


def test_a_part_with_more_surface_than_its_box_is_thinner_in_proportion():
    box, ribbed = part(), part(surface_area=1.4 * part().surface_area)
    one, other = (walls_of(each, "vacuum", GAUGE).shares for each in (box, ribbed))
    assert other.base == pytest.approx(one.base / 1.4)


def test_half_the_depth_of_a_twin_sheet_part_is_drawn_by_each_sheet():
    deep = part(depth=8 * INCH, draft_angle=0.0, surface_area=(40 * 28 + 2 * 68 * 4) * INCH**2)
    shallow = part(depth=4 * INCH, draft_angle=0.0, surface_area=(40 * 28 + 2 * 68 * 4) * INCH**2)
    twin, single = (walls_of(*each, GAUGE).shares for each in ((deep, "twin_sheet"), (shallow, "vacuum")))
    assert twin == single


def test_walls_that_would_meet_are_reckoned_with_the_draft_that_just_fits():
    pointed = part(depth=20 * INCH, draft_angle=radians(45.0))
    assert 0 < walls_of(pointed, "vacuum", GAUGE).shares.thinnest <= 1


@settings(deadline=None, max_examples=40)
@given(
    st.floats(6, 90), st.floats(0.2, 1.0), st.floats(0.02, 1.2), st.floats(0.5, 12), st.floats(0.02, 0.25),
    st.one_of(st.none(), st.floats(0.01, 2.0)), st.sampled_from(("vacuum", "pressure", "twin_sheet")),
)  # fmt: skip
def test_the_gauge_required_leaves_the_wall_asked_for(length, narrow, deep, draft, wall, radius, process):
    wanted = part(
        length=length * INCH, width=length * narrow * INCH, depth=length * narrow * deep * INCH, gauge=None,
        draft_angle=radians(draft), smallest_radius=radius and radius * INCH, minimum_wall=wall * INCH,
        surface_area=length**2 * narrow * (1 + 2 * deep) * INCH**2,
    )  # fmt: skip
    gauge = required_gauge_of(wanted, process, wanted.minimum_wall, 0.05)
    thin_running = gauge * 0.95
    assert thin_running * walls_of(wanted, process, thin_running).shares.thinnest == pytest.approx(
        wanted.minimum_wall, rel=1e-4
    )


def test_every_way_of_forming_has_its_walls():
    ways = (FormingMethod(), FormingMethod(plug=True), FormingMethod(pre_stretch=1.3), FormingMethod("male"))
    found = [shares_by(part(), "vacuum", GAUGE, way) for way in ways]
    assert len({one.corner for one in found}) == len(ways)
    assert all(0 < one.thinnest <= one.thickest <= 1 for one in found)


def male(**changes):
    return part(tool_side="male", **changes)


def test_a_male_tool_keeps_its_top_and_thins_its_foot():
    over, into = (walls_of(one, "vacuum", GAUGE) for one in (male(), part()))
    assert over.is_draped and not into.is_draped
    assert over.shares.base > into.shares.base
    assert over.shares.thinnest == over.shares.corner  # the foot


def test_two_sheets_are_drawn_into_female_tools_whatever_is_asked():
    assert walls_of(male(), "twin_sheet", GAUGE) == walls_of(part(), "twin_sheet", GAUGE)


@pytest.mark.parametrize(("depth", "blown"), [(0.99, False), (1.01, True)])
def test_a_sheet_is_blown_up_for_a_male_tool_taller_than_it_is_wide(depth, blown):
    # 1 to 1 without, 1.5 with a bubble: common practice, no source
    tall = male(depth=depth * 28 * INCH, surface_area=2.9 * 40 * 28 * INCH**2)
    assert (walls_of(tall, "vacuum", GAUGE).method.pre_stretch > 1) == blown


@settings(deadline=None, max_examples=40)
@given(st.floats(6, 90), st.floats(0.2, 1.0), st.floats(0.05, 0.9), st.floats(1.5, 12), st.floats(0.005, 0.2))
def test_male_and_female_tools_of_one_part_keep_the_same_volume(length, narrow, deep, draft, radius):
    # mass balance: what lies on part and web together is the flat sheet, whichever side the tool is on
    length, width = length * INCH, length * narrow * INCH
    shape = FormedShape("box", length, width, deep * width, radians(draft), radius * width, 0.25 * width)
    flat = (length + 0.5 * width) * (1.5 * width)
    for method in (FormingMethod(), FormingMethod("male"), FormingMethod("male", pre_stretch=1.1)):
        progress = progress_of(shape, method, SLIP)
        kept = progress.laid_volume(progress.stages.laid) + progress.free_volume()
        assert float(kept[0]) == pytest.approx(flat, rel=2e-3)


@settings(deadline=None, max_examples=20)
@given(st.floats(0.05, 1.4), st.floats(2.5, 10), st.floats(0.03, 0.12))
def test_the_gauge_for_a_male_tool_leaves_the_wall_asked_for(deep, draft, wall):
    wanted = male(depth=deep * 28 * INCH, draft_angle=radians(draft), gauge=None, minimum_wall=wall * INCH)
    gauge = required_gauge_of(wanted, "vacuum", wanted.minimum_wall, 0.05) * 0.95
    assert gauge * walls_of(wanted, "vacuum", gauge).shares.thinnest == pytest.approx(wanted.minimum_wall, rel=1e-4)
