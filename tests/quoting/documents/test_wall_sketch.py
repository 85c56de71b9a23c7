"""The sketch of the walls: to scale outside, exaggerated evenly inside, every place named in both unit systems."""

from math import hypot, radians

import pytest

from quoting.contract import to_plain
from quoting.documents.chart_shapes import LOOKS
from quoting.documents.wall_sketch import THICKEST, drawn_shape, inner, section, wall_sketch
from tests.quoting.documents.study_sample import FEMALE, GAUGE, METHODS

PART = {"length": 1.016, "width": 0.7112, "depth": 0.2032, "draft_angle": radians(4)}


def words(sketch: dict) -> list[str]:
    return [one["words"] for one in sketch["shapes"] if one["kind"] == "text"]


def dots(sketch: dict) -> list[dict]:
    """The dots on the section; the last one sits on the corner beside it."""
    return [one for one in sketch["shapes"] if one["kind"] == "dot"][:-1]


def test_the_outline_keeps_the_ratio_of_half_width_to_depth():
    shape = drawn_shape(PART)
    assert shape.half / shape.depth == pytest.approx(0.3556 / 0.2032)
    assert shape.to_scale


@pytest.mark.parametrize("changed", [{"depth": 0.02}, {"depth": 2.0}, {"depth": 0.0}])
def test_a_part_too_flat_or_too_steep_is_cut_short_and_says_so(changed):
    sketch = wall_sketch(to_plain(FEMALE), PART | changed, GAUGE)
    assert "half section, outline not to scale; wall drawn thicker" in words(sketch)


def test_the_wall_is_drawn_in_proportion_to_what_is_predicted():
    walls = {one.place: one.wall for one in FEMALE}
    outline = section(drawn_shape(PART), walls, GAUGE)
    free = inner(outline)
    for place in ("web", "side", "base"):
        at = outline.places[place]
        drawn = hypot(free[at][0] - outline.points[at][0], free[at][1] - outline.points[at][1])
        assert drawn == pytest.approx(THICKEST * walls[place] / GAUGE, rel=1e-6)


def test_the_wall_of_a_cavity_lies_inside_it():
    outline = section(drawn_shape(PART), {one.place: one.wall for one in FEMALE}, GAUGE)
    base = outline.places["base"]
    assert inner(outline)[base][1] < outline.points[base][1]
    assert inner(outline)[outline.places["side"]][0] < outline.points[outline.places["side"]][0]


def test_every_place_is_named_with_its_wall_in_both_systems_and_the_thinnest_marked():
    said = words(wall_sketch(to_plain(FEMALE), PART, GAUGE))
    # 3.00 mm / 25.4 = 0.118 in and 3.00 / 4.75 = 63 %, worked out by hand
    assert "0.118 in (3.00 mm)" in said
    assert "side, 63 % of gauge" in said
    assert [one for one in said if "thinnest" in one] == ["corner: thinnest, 32 %"]
    assert {one.split(",")[0].split(":")[0] for one in said if "%" in one} == {one.place for one in FEMALE}


def test_a_sheet_draped_over_its_tool_is_drawn_with_the_base_on_top():
    male = wall_sketch(to_plain(METHODS[3].walls), PART, GAUGE, male=True)
    down = {
        one["words"].split(",")[0].split(":")[0]: float(one["y"])
        for one in male["shapes"]
        if "%" in one.get("words", "")
    }
    assert down["base"] < down["side"] < down["rim"]


def test_a_sheet_draped_over_its_tool_lies_above_it():
    for male, lies_above in ((True, True), (False, False)):
        sketch = wall_sketch(to_plain(FEMALE), PART, GAUGE, male=male)
        base = max(float(one["y"]) if not male else -float(one["y"]) for one in dots(sketch))
        wall = next(one["d"] for one in sketch["shapes"] if one.get("look") is LOOKS["wall"])
        downs = [float(point.split()[1]) for point in wall.strip("MZ").split("L")]
        assert (min(downs) < abs(base) - 1) if lies_above else (max(downs) == pytest.approx(base, abs=0.1))


def test_a_study_without_a_corner_is_drawn_without_one():
    sketch = wall_sketch(to_plain(FEMALE[:4]), PART, GAUGE)
    assert not any(one.startswith("corner") for one in words(sketch))
