"""Second moments of formed sections, against polygons integrated another way."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from materials.ranges import OutsideRangeError
from materials.sections import (
    PITCH_OVER_HEIGHT,
    flat_second_moment,
    groove_height,
    grooved_second_moment,
    grooved_wall,
    plate_stiffness,
    skin_distance,
    skins_second_moment,
)

MM = 1e-3


def second_moment(shape: Polygon) -> float:
    """About the level axis through the centroid, by Green's theorem around the outline [m4]."""
    level = shape.centroid.y
    total = 0.0
    for ring in (shape.exterior, *shape.interiors):
        for (x0, y0), (x1, y1) in pairwise(ring.coords):
            y0, y1 = y0 - level, y1 - level  # noqa: PLW2901
            total += (x0 * y1 - x1 * y0) * (y0**2 + y0 * y1 + y1**2) / 12
    return abs(total)


def folded(wall: float, height: float, pitch: float, folds: int) -> Polygon:
    """The real thick section of a sheet folded into square grooves: its mid-line widened by half a wall each way."""
    points = []
    for fold in range(folds):
        start, half = fold * pitch, pitch / 2
        points += [(start, 0.0), (start, height), (start + half, height), (start + half, 0.0)]
    points.append((folds * pitch, 0.0))
    return LineString(points).buffer(wall / 2, cap_style="flat", join_style="mitre")


def test_the_polygon_check_itself_finds_a_rectangle():
    # b h^3/12, any handbook
    assert second_moment(Polygon([(0, 0), (3, 0), (3, 2), (0, 2)])) == pytest.approx(3 * 2**3 / 12)


@pytest.mark.parametrize(("wall", "height", "pitch"), [(2.0, 20.0, 80.0), (1.0, 25.0, 60.0), (2.5, 30.0, 120.0)])
def test_grooves_bend_as_their_thick_section_does(wall, height, pitch):
    # shapely: the section drawn with its corners and integrated around its outline; thin walls by mid-lines differ
    # from it by about the wall over the height
    folds = 40
    exact = second_moment(folded(wall * MM, height * MM, pitch * MM, folds)) / (folds * pitch * MM)
    ours = grooved_second_moment(wall * MM, height * MM, pitch * MM)
    assert ours == pytest.approx(exact, rel=1.2 * wall / height)


def test_grooves_come_ever_nearer_to_the_thick_section_as_the_wall_thins():
    def off(wall):
        exact = second_moment(folded(wall * MM, 20 * MM, 80 * MM, 40)) / (40 * 80 * MM)
        return abs(grooved_second_moment(wall * MM, 20 * MM, 80 * MM) / exact - 1)

    assert off(2.0) > off(1.0) > off(0.5)
    assert off(0.25) < 0.015


def test_two_skins_are_exactly_two_rectangles_apart():
    # shapely: a hollow rectangle without its sides, as the difference of two whole ones
    wall, apart, width = 3 * MM, 40 * MM, 1.0
    outer, inner = (apart + wall) / 2, (apart - wall) / 2
    box = Polygon([(0, -outer), (width, -outer), (width, outer), (0, outer)])
    hole = Polygon([(0, -inner), (width, -inner), (width, inner), (0, inner)])
    exact = second_moment(box) - second_moment(hole)
    assert skins_second_moment(wall, apart) == pytest.approx(exact, rel=1e-12)


def test_skins_that_touch_are_one_wall_twice_as_thick():
    assert skins_second_moment(2 * MM, 2 * MM) == pytest.approx(flat_second_moment(4 * MM), rel=1e-12)


def test_a_plate_is_stiffer_than_a_strip_by_its_poissons_ratio():
    # Plate theory by hand: steel of 1 mm, 200 GPa, 0.3: D = 200e9 x 1e-9/(12 x 0.91) = 18.315 N m
    assert plate_stiffness(200e9, 1 * MM, 0.3) == pytest.approx(18.315, abs=0.001)


def test_folding_the_same_sheet_keeps_its_area():
    wall, height = 3 * MM, 15 * MM
    pitch = PITCH_OVER_HEIGHT * height
    assert grooved_wall(wall) * (pitch + 2 * height) == pytest.approx(wall * pitch)


@given(st.floats(1e-12, 1e-5), st.floats(5e-4, 0.012))
def test_the_height_found_gives_the_second_moment_wanted(wanted, wall):
    height = groove_height(wanted, wall)
    if height == 0.0:
        assert flat_second_moment(wall) >= wanted
    else:
        found = grooved_second_moment(grooved_wall(wall), height, PITCH_OVER_HEIGHT * height)
        assert found == pytest.approx(wanted, rel=1e-9)


@given(st.floats(1e-12, 1e-5), st.floats(5e-4, 0.012))
def test_the_distance_found_gives_the_second_moment_wanted_or_skins_that_touch(wanted, wall):
    apart = skin_distance(wanted, wall)
    found = skins_second_moment(wall, apart)
    assert found == pytest.approx(wanted, rel=1e-9) if apart > wall else found >= wanted * (1 - 1e-9)


@pytest.mark.parametrize("call", [
    lambda: flat_second_moment(0.0), lambda: plate_stiffness(1e9, -1.0, 0.3), lambda: grooved_second_moment(1, 0, 1),
    lambda: grooved_wall(0.0), lambda: groove_height(0.0, 1.0), lambda: skins_second_moment(1.0, 0.0),
    lambda: skin_distance(1.0, 0.0),
])  # fmt: skip
def test_a_section_of_nothing_is_refused(call):
    with pytest.raises(OutsideRangeError):
        call()
