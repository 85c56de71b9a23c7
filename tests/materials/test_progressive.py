"""Walls at the places of a formed part: what every shape and every way of forming must obey."""

from dataclasses import astuple, replace
from math import pi, radians, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.cavity import KINDS, FormedShape, FormingMethod
from materials.progressive import SLIP, largest_bubble, progress_of, wall_shares
from materials.ranges import OutsideRangeError
from materials.sheet import INCH
from materials.thinning import tapered_box_area

FEMALE, PLUG, MALE = FormingMethod(), FormingMethod(plug=True), FormingMethod("male")
BUBBLE, DRAPED_BUBBLE = FormingMethod(pre_stretch=1.6), FormingMethod("male", pre_stretch=1.4)
METHODS = [FEMALE, PLUG, MALE, BUBBLE, DRAPED_BUBBLE]
TRAY = FormedShape(
    "box", 40 * INCH, 28 * INCH, 8 * INCH, draft=radians(2), corner_radius=0.187 * INCH, web=2 * INCH
)  # web: half of the narrowest strip between two cavities


@st.composite
def shapes(draw, kinds=KINDS):
    kind, length, width = draw(st.sampled_from(kinds)), draw(st.floats(0.1, 3)), draw(st.floats(0.1, 2))
    narrow = width if kind == "wedge" else min(length, width)
    depth = narrow * draw(st.floats(0.01, 2))
    steepest = np.arctan(narrow / 2 / depth)
    draft = draw(st.floats(0, 1)) * min(steepest, 1.3)
    radius, web = draw(st.floats(0.0005, 0.05)), draw(st.floats(0.005, 0.2))
    return FormedShape(kind, length, width, depth, draft, radius, web)


unhurried = settings(deadline=None)  # the machine may be busy
methods = st.sampled_from(METHODS)
slips = st.floats(0, 1)


def straight(kind="box", depth=0.3, **changes):
    return replace(FormedShape(kind, 0.6, 0.4, depth, radians(2), 0.005, web=0.04), **changes)


@unhurried
@given(shapes(), methods, slips)
def test_no_sheet_is_lost_or_made_at_any_stage(shape, method, slip):
    progress = progress_of(shape, method, slip)
    stages, membrane = progress.stages, progress.membrane
    laid_at = np.sqrt(membrane[1:] * membrane[:-1])
    for now in (1, len(membrane) // 2, len(membrane) - 1):
        strips = np.diff(stages.laid, axis=0)[:now] * laid_at[:now] ** (1 - slip)
        on_tool = (stages.laid[0] + strips.sum(axis=0)) * membrane[now] ** slip
        free = membrane[now] * (stages.surface[now] - stages.laid[now])
        assert on_tool + free == pytest.approx(stages.surface[0], rel=1e-9)


@unhurried
@given(shapes(), methods)
def test_the_sheet_at_the_start_is_what_lies_inside_the_clamp(shape, method):
    width = shape.width + 2 * shape.web
    length = shape.length if shape.kind == "wedge" else shape.length + 2 * shape.web
    long, short = (length, width) if shape.kind == "wedge" else (max(length, width), min(length, width))
    inside = long * short - (short**2 * (1 - pi / 4) if shape.kind in ("cylinder", "cone") else 0)
    assert progress_of(shape, method, SLIP).stages.surface[0] == pytest.approx(inside)


@unhurried
@given(shapes(), methods, slips)
def test_walls_are_positive_and_the_mean_lies_between_thinnest_and_thickest(shape, method, slip):
    walls = wall_shares(shape, method, slip)
    assert all(0 < wall <= 1 + 1e-9 for wall in astuple(walls))
    assert walls.thinnest <= walls.mean * (1 + 1e-9)
    assert walls.mean <= walls.thickest * (1 + 1e-9)
    for place in ("rim", "side", "base", "edge", "corner"):
        assert walls.thinnest <= getattr(walls, place) <= walls.thickest * (1 + 1e-9)


@unhurried
@given(shapes(), methods)
def test_a_sheet_that_slips_freely_has_an_even_wall(shape, method):
    stages = progress_of(shape, method, 1.0).stages
    even = (stages.surface[0] / stages.surface[-1]).item()
    assert astuple(wall_shares(shape, method, 1.0)) == pytest.approx([even] * 9, rel=1e-9)


def test_the_slip_is_calibrated_on_the_worked_tray():
    areal = tapered_box_area(TRAY.length, TRAY.width, TRAY.depth, TRAY.draft) / (TRAY.length * TRAY.width)
    # thinnest wall of a female part without plug over mean wall: common practice, no source
    expected = 0.6
    assert wall_shares(TRAY).thinnest * areal == pytest.approx(expected, rel=5e-4)


def test_a_sheet_that_sticks_at_once_has_a_thinner_corner_than_the_trade_counts_on():
    assert wall_shares(TRAY, slip=0.0).thinnest < 0.8 * wall_shares(TRAY).thinnest


@unhurried
@given(shapes(), methods, st.floats(0, 0.9), st.floats(0.01, 0.1))
def test_more_slip_never_thins_the_thinnest_wall(shape, method, slip, more):
    assert wall_shares(shape, method, slip + more).thinnest >= wall_shares(shape, method, slip).thinnest * (1 - 1e-9)


@unhurried
@given(shapes(), st.sampled_from([FEMALE, BUBBLE]), st.floats(0.5, 0.98))
def test_a_deeper_hollow_is_thinner_in_its_corner_and_on_the_mean(shape, method, share):
    deep, shallow = wall_shares(shape, method), wall_shares(replace(shape, depth=shape.depth * share), method)
    assert deep.corner <= shallow.corner * (1 + 1e-12)  # alike where both end in the same round tip
    assert deep.mean <= shallow.mean * (1 + 1e-12)


@pytest.mark.parametrize("method", [PLUG, MALE], ids=str)
@pytest.mark.parametrize("kind", KINDS)
def test_a_deeper_part_is_thinner_when_the_sheet_is_pushed_too(kind, method):
    walls = wall_shares(straight(kind, depth=np.linspace(0.02, 1.2, 40)), method)
    assert np.all(np.diff(walls.thinnest) < 0)
    assert np.all(np.diff(walls.mean) < 0)


@unhurried
@given(shapes(), st.floats(0.3, 0.95))
def test_a_sharper_corner_is_thinner(shape, share):
    sharp = wall_shares(replace(shape, corner_radius=shape.corner_radius * share))
    assert sharp.corner <= wall_shares(shape).corner * (1 + 3e-4)  # in a tip the stages themselves show


@pytest.mark.parametrize("kind", ["box", "cylinder", "wedge"])
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_a_plug_leaves_more_in_base_and_corner_of_a_deep_draw(kind, ratio):
    shape = straight(kind, depth=0.4 * ratio, web=0.1)
    plug, none = wall_shares(shape, PLUG), wall_shares(shape)
    assert plug.corner > none.corner
    assert plug.base > 1.3 * none.base
    assert plug.rim < none.rim


@unhurried
@given(shapes(), st.floats(1, 3))
def test_a_bubble_first_never_thins_the_corner_of_a_hollow(shape, pre_stretch):
    bubble = wall_shares(shape, FormingMethod(pre_stretch=pre_stretch))
    assert bubble.corner >= wall_shares(shape).corner * (1 - 1e-9)


@unhurried
@given(shapes(), st.floats(1.01, 3))
def test_a_bubble_first_takes_from_the_thickest_place_only(shape, pre_stretch):
    bubble = wall_shares(shape, FormingMethod(pre_stretch=pre_stretch))
    assert bubble.thickest <= wall_shares(shape).thickest * (1 + 1e-9)


def test_a_bubble_as_large_as_the_part_leaves_an_even_wall_but_for_the_web():
    shape = straight(web=0.0)
    walls = wall_shares(shape, FormingMethod(pre_stretch=50.0))
    assert astuple(walls)[1:] == pytest.approx([walls.mean] * 8, rel=1e-9)


def test_a_male_tool_is_thick_on_top_and_thin_at_the_foot_where_a_female_one_is_thin_in_its_corner():
    male, female = wall_shares(straight(), MALE), wall_shares(straight())
    assert male.base > male.edge > male.side > male.corner == male.thinnest
    assert female.rim > female.side > female.corner == female.thinnest
    assert male.base > female.base


def test_a_wider_web_feeds_a_thicker_part():
    narrow, wide = (wall_shares(straight(web=web), method) for web in (0.02, 0.08) for method in (FEMALE,))
    assert wide.corner > narrow.corner
    assert wide.mean > narrow.mean
    assert wide.web < 1


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("degrees", [0, 3, 20])
def test_nothing_jumps_where_the_dome_just_touches_walls_and_base_at_once(kind, degrees):
    draft = radians(degrees)
    touching = 0.2 * (1 - np.sin(draft)) / np.cos(draft)  # half the width at no draft
    near = np.array([0.999, 1 - 1e-7, 1 + 1e-7, 1.001]) * touching
    walls = wall_shares(FormedShape(kind, 0.6, 0.4, near, draft, 0.005, 0.03))
    for values in astuple(walls):
        assert abs(values[2] - values[1]) < 1e-6
        assert abs(values[3] - values[0]) < 0.004


@pytest.mark.parametrize("kind", ["cone", "pyramid", "wedge"])
def test_nothing_jumps_where_walls_just_leave_a_base(kind):
    draft = radians(30)
    tip = 0.2 / tan(draft)
    walls = wall_shares(FormedShape(kind, 0.6, 0.4, np.array([0.9999, 1.0]) * tip, draft, 0.01, 0.03))
    for values in astuple(walls):
        assert values[1] == pytest.approx(values[0], abs=1e-4)


def test_a_flat_sheet_is_left_as_it_is():
    walls = wall_shares(straight(depth=0.0))
    assert astuple(walls) == pytest.approx([1.0] * 9, abs=1e-6)


@pytest.mark.parametrize("method", METHODS, ids=str)
@pytest.mark.parametrize("kind", KINDS)
def test_arrays_give_what_their_elements_give(kind, method):
    depths, webs = np.array([[0.02, 0.19], [0.2, 0.5]]), np.array([0.01, 0.05])
    together = wall_shares(straight(kind, depth=depths, web=webs), method)
    for row in range(2):
        for column in range(2):
            alone = wall_shares(straight(kind, depth=depths[row, column], web=webs[column]), method)
            assert [value[row, column] for value in astuple(together)] == pytest.approx(astuple(alone), rel=1e-12)


def test_floats_give_floats():
    assert {type(value) for value in astuple(wall_shares(straight()))} == {float}


def test_a_longer_side_may_be_called_the_width():
    assert wall_shares(straight()) == wall_shares(straight(length=0.4, width=0.6))


def test_a_cone_is_a_cylinder_with_draft_and_a_pyramid_a_box():
    assert wall_shares(straight("cone")) == wall_shares(straight("cylinder"))
    assert wall_shares(straight("pyramid")) == wall_shares(straight("box"))


def test_a_radius_that_does_not_fit_counts_as_the_greatest_that_does():
    shallow = straight(depth=0.05, draft=0.0)
    assert wall_shares(replace(shallow, corner_radius=0.5)) == wall_shares(replace(shallow, corner_radius=0.05))


@pytest.mark.parametrize(
    "call",
    [
        lambda: straight(kind="sphere"),
        lambda: straight(depth=-0.1),
        lambda: straight(corner_radius=0.0),
        lambda: straight(web=-0.01),
        lambda: straight(draft=pi / 2),
        lambda: straight(depth=np.array([0.1, float("nan")])),
        lambda: straight(draft=radians(40)),
        lambda: FormingMethod("both"),
        lambda: FormingMethod("male", plug=True),
        lambda: FormingMethod(pre_stretch=0.9),
        lambda: wall_shares(straight(), slip=1.1),
        lambda: wall_shares(straight(), slip=float("nan")),
        lambda: wall_shares(straight(web=0.0), MALE),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(OutsideRangeError):
        call()


@given(shapes(), st.sampled_from(METHODS))
@settings(max_examples=50, deadline=None)
def test_the_largest_bubble_leaves_an_even_wall_and_a_larger_one_no_other(shape, method):
    bound = largest_bubble(shape, method)
    assert bound >= 1
    even, folded = (wall_shares(shape, replace(method, pre_stretch=bound * by), slip=0.0) for by in (1.0, 1.5))
    assert even.thinnest == pytest.approx(even.thickest, rel=1e-6)
    assert folded.thinnest == pytest.approx(even.thinnest, rel=1e-6)


def test_a_hemisphere_takes_a_bubble_of_twice_its_rim():
    dome = FormedShape("cylinder", 2.0, 2.0, 1.0, corner_radius=1.0)
    assert largest_bubble(dome, FEMALE) == pytest.approx(2.0, rel=1e-9)
    assert largest_bubble(replace(dome, width=np.array([2.0, 2.0])), FEMALE).shape == (2,)
