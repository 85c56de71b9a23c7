"""Walls by every way of forming, and what speaks against each."""

from dataclasses import replace
from math import radians

import pytest

from materials.sheet import INCH
from quoting.routing.heat_plan import heatings
from quoting.routing.rules.detail import draft_of_walls
from quoting.routing.studying import WAYS, forming_study
from tests.quoting.routing.planned_sheets import each_way, plan_of, study_of
from tests.quoting.routing.routing_catalog import bank, catalog, changed, machine, one_planned, oven, part, request

MALE, MALE_BLOWN = "male tool", "male tool, sheet blown up before"


def why(planned) -> dict[str, str]:
    return {one.method: one.why_not for one in forming_study(planned).methods}


@each_way
def test_the_walls_shown_are_those_of_the_plan(way):
    thinning, study = plan_of(*way).plan.thinning, study_of(*way)
    walls = {place.place: place.wall for place in study.walls}

    assert min(walls.values()) == pytest.approx(thinning.thinnest_wall)
    of_the_part = {place: wall for place, wall in walls.items() if place != "web"}  # which is cut off
    assert max(of_the_part.values()) == pytest.approx(thinning.thickest_wall)
    for place in ("rim", "side", "base", "edge", "corner"):
        assert walls[place] == pytest.approx(getattr(thinning, place))
    assert all(0 < wall <= plan_of(*way).candidate.gauge * (1 + 1e-9) for wall in walls.values())


@each_way
def test_exactly_one_way_of_forming_is_used_and_nothing_speaks_against_it(way):
    planned, methods = plan_of(*way), study_of(*way).methods
    (used,) = [one for one in methods if one.used]

    assert used.why_not == ""
    assert used.walls == study_of(*way).walls
    assert used.thinnest_wall == pytest.approx(planned.plan.thinning.thinnest_wall)
    assert ("plug" in used.method) == planned.plan.thinning.plug
    assert [one.method for one in methods] == [name for name, _ in WAYS]


@each_way
def test_the_thinnest_wall_of_each_way_is_the_thinnest_of_its_places(way):
    for one in study_of(*way).methods:
        assert one.thinnest_wall == pytest.approx(min(place.wall for place in one.walls))


def test_a_deep_part_is_formed_with_a_plug_that_is_the_way_used():
    deep = part(depth=24 * INCH, surface_area=5000 * INCH**2)
    study = forming_study(one_planned("vacuum", request(deep)))
    assert [one.method for one in study.methods if one.used] == ["female tool with plug"]


def test_a_male_tool_is_spoken_against_by_texture_first_then_draft():
    plain = one_planned("vacuum")
    steep = changed(plain, part={"draft_angle": radians(1.0)})
    printed = changed(steep, part={"texture_depth": 1e-4})

    assert why(plain)[MALE] == why(plain)[MALE_BLOWN] == ""
    assert "draft" in why(steep)[MALE]
    assert "texture" in why(printed)[MALE]
    assert why(printed)["female tool"] == why(printed)["female tool with plug"] == ""


@pytest.mark.parametrize("degrees", [1.49, 1.51, 3.0])
def test_a_male_tool_is_spoken_against_for_its_draft_where_the_rule_of_draft_refuses_it(degrees):
    compared = changed(one_planned("vacuum"), part={"draft_angle": radians(degrees)})
    asked = changed(compared, part={"tool_side": "male"})
    assert (why(compared)[MALE] == "") == draft_of_walls(asked).passed


def test_male_tools_that_stand_too_close_web():
    several = one_planned("vacuum")
    layout = {"along": 2, "gap": several.request.part.depth / 2}
    apart = {"along": 2, "gap": several.request.part.depth}

    assert "webs" in why(changed(several, layout=layout))[MALE]
    assert why(changed(several, layout=apart))[MALE] == ""
    assert why(changed(several, layout=layout | {"along": 1}))[MALE] == ""


def test_two_sheets_of_a_hollow_part_leave_no_room_for_plug_or_male_tool():
    against = why(plan_of("T4", "HDPE", 0.187, "twin_sheet"))
    for method in ("female tool with plug", "female tool with plug, sheet blown up before", MALE, MALE_BLOWN):
        assert "two female tools" in against[method]
    assert against["female tool"] == ""


def test_a_bubble_of_more_sheet_than_a_shallow_part_takes_would_fold():
    deep, shallow = (changed(one_planned("vacuum"), part={"depth": depth}) for depth in (0.25, 0.02))
    blown = [name for name, way in WAYS if way.pre_stretch > 1]
    assert all("would fold" in why(shallow)[name] for name in blown)
    assert not any("would fold" in told for told in why(deep).values())


def test_a_sheet_that_misses_its_window_is_not_studied():
    cold = bank(lowest_temperature=370.0, highest_temperature=420.0)
    missed = one_planned("vacuum", None, catalog(machines=(machine(oven=oven(upper=cold, lower=cold)),)))
    assert not missed.plan.heating.reaches_window
    assert forming_study(missed) is None


def test_the_study_is_of_what_was_planned_and_plans_nothing_anew():
    planned = plan_of("R4", "ABS", 0.375, "vacuum")
    (again,) = heatings((planned.candidate,), (planned.plan.thinning.thickest_wall,))
    assert replace(again, wait=0.0).time == pytest.approx(planned.plan.heating.time, abs=0.5)
    assert forming_study(planned) == study_of("R4", "ABS", 0.375, "vacuum")
