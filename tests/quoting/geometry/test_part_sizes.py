"""Sizes along the draw against school formulas, a second library and themselves turned, refined and spoiled."""

from math import pi, sin, sqrt

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from quoting.geometry.shape.measures import Measured, measured
from quoting.geometry.shape.prepared import UnmeasurableError, prepared
from quoting.geometry.shape.seen import viewed
from quoting.geometry.shape.shadow import silhouette
from quoting.geometry.surface import Surface
from tests.quoting.geometry import shapes

UP = np.array([0.0, 0.0, 1.0])
SOUND = (shapes.box, shapes.tray, shapes.lipped, shapes.beaded, shapes.bowl, shapes.tray_skin)


def same(first: Measured, second: Measured, within: float = 1e-3) -> None:
    for name in ("length", "width", "depth", "projected_area", "footprint_area", "surface_area", "trim_length"):
        assert getattr(first, name) == pytest.approx(getattr(second, name), rel=within), name
    assert first.openings == pytest.approx(second.openings, rel=within)
    for name in ("smallest_inside_radius", "wall", "volume"):
        one, other = getattr(first, name), getattr(second, name)
        assert one == (None if other is None else pytest.approx(other, rel=within)), name
    assert first.tool_side.tool == second.tool_side.tool


def test_the_tray_has_the_area_worked_out_by_hand():
    tray = shapes.tray()
    # source: by hand, outside 600 x 400 + 2 (600 + 400) 80, inside 594 x 394 + 2 (594 + 394) 77, rim the difference
    assert tray.mesh.area == pytest.approx(792152e-6)
    found = measured(tray, UP)
    # source: by hand, plan 600 x 400 mm2
    assert found.projected_area == pytest.approx(240000e-6, rel=1e-5)
    # source: by hand, one skin is bottom and walls outside, 240000 + 160000 mm2
    assert found.surface_area == pytest.approx(400000e-6, rel=1e-4)
    # source: by hand, 600 x 400 x 80 less 594 x 394 x 77 mm3
    assert found.volume == pytest.approx((0.6 * 0.4 * 0.08) - (0.594 * 0.394 * 0.077))
    assert (found.length, found.width, found.depth) == pytest.approx((0.6, 0.4, 0.08))
    assert found.wall == pytest.approx(0.003, rel=1e-3) and found.is_shell and not found.enclosed
    # source: by hand, round the plan 2 (600 + 400) mm
    assert found.trim_length == pytest.approx(2.0, rel=1e-5) and found.openings == ()


def test_the_male_skin_of_the_tray_is_the_inside_and_the_rim():
    views = viewed(prepared(shapes.tray()), UP)
    # source: by hand, 594 x 394 + 2 (594 + 394) 77 and the rim 240000 - 594 x 394 mm2
    assert views.areas[views.male].sum() == pytest.approx(392152e-6, rel=1e-4)


@pytest.mark.parametrize("sections", [48, 192])
def test_a_cylinder_is_measured_by_formula(sections):
    found = measured(shapes.frustum(0.1, 0.1, 0.2, sections), UP)
    share = sections / 2 / pi * sin(2 * pi / sections)  # regular polygon over circle
    # source: school formulas, pi r2 and 2 pi r h, of the inscribed prism
    assert found.projected_area == pytest.approx(pi * 0.01 * share, rel=1e-5)
    side = 2 * sections * 0.1 * sin(pi / sections) * 0.2
    assert found.surface_area == pytest.approx(pi * 0.01 * share + side, rel=1e-4)
    assert found.volume == pytest.approx(pi * 0.01 * 0.2 * share, rel=1e-6)
    assert found.smallest_inside_radius == pytest.approx(0.1, rel=1e-3)


def test_half_a_ball_draws_to_twice_its_plan():
    found = measured(shapes.bowl(0.3, 0.003, 96), UP)
    # source: school formulas, half a ball 2 pi r2 over its plan pi r2
    assert found.areal_draw_ratio == pytest.approx(2.0, rel=2e-3)
    # source: school formula, 2/3 pi (R3 - r3)
    assert found.volume == pytest.approx(2 / 3 * pi * (0.3**3 - 0.297**3), rel=2e-3)
    assert found.wall == pytest.approx(0.003, rel=5e-3)
    assert found.smallest_inside_radius == pytest.approx(0.3, rel=0.01)


def test_a_cone_has_the_slant_area_of_the_formula():
    found = measured(shapes.frustum(0.05, 0.1, 0.1, 256), UP)
    # source: school formula, pi (r + R) sqrt((R - r)2 + h2) and the bottom pi r2
    assert found.surface_area == pytest.approx(pi * 0.15 * sqrt(0.05**2 + 0.1**2) + pi * 0.05**2, rel=1e-3)


def test_an_opening_is_taken_out_of_the_plan_and_trimmed():
    found = measured(shapes.of_mesh(trimesh.creation.annulus(0.05, 0.1, 0.02, sections=256)), UP)
    # source: school formulas, pi (R2 - r2), pi R2, 2 pi R + 2 pi r
    assert found.projected_area == pytest.approx(pi * (0.01 - 0.0025), rel=1e-3)
    assert found.footprint_area == pytest.approx(pi * 0.01, rel=1e-3)
    assert found.trim_length == pytest.approx(2 * pi * 0.15, rel=1e-3)
    assert found.openings == pytest.approx((2 * pi * 0.05,), rel=1e-3)


@pytest.mark.parametrize("radius", [0.005, 0.02])
@pytest.mark.parametrize("sections", [4, 16])
def test_the_radius_of_a_rounded_edge_is_found_from_its_facets(radius, sections):
    found = measured(shapes.rounded_trough(radius, sections), UP)
    # source: the radius that the part was built with
    assert found.smallest_inside_radius == pytest.approx(radius, rel=0.01)


@pytest.mark.parametrize("part", SOUND)
def test_the_shadow_agrees_with_a_union_of_all_triangles(part):
    views = viewed(prepared(part()), UP)
    triangles = shapely.polygons(views.mesh.triangles[:, :, :2])
    # source: a second library, shapely's union of the projected triangles
    assert silhouette(views.prepared, views.axes)[0].area == pytest.approx(shapely.union_all(triangles).area, rel=1e-5)


@pytest.mark.parametrize("part", [shapes.box, lambda: shapes.frustum(0.05, 0.1, 0.1)])
def test_area_and_volume_of_a_convex_part_agree_with_its_hull(part):
    surface = part()
    hull = ConvexHull(surface.vertices)
    found = measured(surface, UP)
    # source: a second library, qhull through scipy
    assert found.volume == pytest.approx(hull.volume)
    top = surface.areas[surface.normals[:, 2] > 0.999].sum()
    assert found.surface_area + top == pytest.approx(hull.area, rel=1e-4)


@pytest.mark.parametrize("part", SOUND)
def test_turning_and_shifting_the_file_changes_nothing(part):
    same(measured(part(), UP), measured(shapes.turned(part()), shapes.TURN @ UP))


@pytest.mark.parametrize("part", SOUND)
def test_cutting_every_triangle_in_sixteen_changes_nothing(part):
    same(measured(part(), UP), measured(shapes.refined(part()), UP), 5e-3)


@pytest.mark.parametrize("part", SOUND)
def test_inside_out_and_loose_corners_change_nothing(part):
    same(measured(part(), UP), measured(shapes.inside_out(part()), UP))
    same(measured(part(), UP), measured(shapes.apart(part()), UP))


def test_a_rough_surface_is_told_on_a_grid_and_says_so(monkeypatch):
    exact = measured(shapes.beaded(), UP)
    monkeypatch.setattr("quoting.geometry.shape.shadow.MOST_EDGES", 5)
    found = measured(shapes.beaded(), UP)
    assert "rough" in found.warnings[0] and exact.warnings == ()
    assert found.projected_area == pytest.approx(exact.projected_area, rel=0.01)
    assert found.trim_length == pytest.approx(exact.trim_length, rel=0.01)


def test_the_same_file_gives_the_same_numbers_again():
    assert measured(shapes.beaded(), UP) == measured(shapes.beaded(), UP)


def test_crushed_and_repeated_faces_are_left_out():
    tray = shapes.tray()
    spoiled = Surface(tray.vertices, np.concatenate([[[0, 0, 1]], tray.faces, [[2, 2, 2]], tray.faces[:3]]))
    same(measured(tray, UP), measured(spoiled, UP))
    assert prepared(spoiled).source[0] == 1


def test_two_open_skins_in_one_file_are_refused():
    skin = shapes.tray_skin()
    inner = skin.vertices * [0.99, 0.985, 1] + [0, 0, 0.003]
    both = Surface(np.concatenate([skin.vertices, inner]), np.concatenate([skin.faces, skin.faces[:, ::-1] + 8]))
    with pytest.raises(UnmeasurableError, match="both skins"):
        measured(both, UP)


def test_one_face_wound_the_wrong_way_is_turned_and_told():
    tray = shapes.tray()
    faces = tray.faces.copy()
    faces[5] = faces[5][::-1]
    found = measured(Surface(tray.vertices, faces), UP)
    assert found.surface_area == pytest.approx(0.4, rel=1e-3) and "turned alike" in found.warnings[0]


def test_a_tray_with_a_missing_triangle_has_no_volume_and_says_why():
    tray = shapes.tray()
    found = measured(Surface(tray.vertices, tray.faces[1:]), UP)
    assert found.volume is None and found.wall is None and not found.watertight
    assert any("not closed" in warning for warning in found.warnings)


def test_one_skin_has_no_wall_and_no_volume():
    found = measured(shapes.tray_skin(), UP)
    assert (found.wall, found.volume, found.is_shell, found.holes) == (None, None, False, 0)
    # source: by hand, 600 x 400 + 2 (600 + 400) 80 mm2
    assert found.surface_area == pytest.approx(0.4, rel=1e-4)


def test_a_hole_in_the_side_of_a_skin_is_counted():
    skin = shapes.refined(shapes.tray_skin(), 3)
    upright = np.flatnonzero((np.abs(skin.normals[:, 2]) < 0.1) & (np.abs(skin.centres[:, 2] - 0.04) < 0.01))
    assert measured(Surface(skin.vertices, np.delete(skin.faces, upright[0], axis=0)), UP).holes == 1


def test_a_closed_hollow_is_told_from_a_tray():
    found = measured(shapes.hollow(), UP)
    assert found.enclosed and found.is_shell and found.bodies == 2
    # source: by hand, 600 x 400 x 80 less 594 x 394 x 74 mm3
    assert found.volume == pytest.approx(0.6 * 0.4 * 0.08 - 0.594 * 0.394 * 0.074)
    # source: by hand, bottom and walls outside, 240000 + 160000 mm2
    assert found.surface_area == pytest.approx(0.4, rel=1e-3)


@pytest.mark.parametrize(
    ("vertices", "faces"),
    [
        (np.zeros((0, 3)), np.zeros((0, 3), int)),
        (np.zeros((3, 3)), np.array([[0, 1, 2]])),
        (np.array([[0, 0, 0], [1, 0, 0], [0, np.nan, 0]]), np.array([[0, 1, 2]])),
        (np.eye(3), np.array([[0, 1, 9]])),
        (np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0]], float), np.array([[0, 1, 2]])),
    ],
)
def test_what_is_no_surface_is_refused_in_plain_words(vertices, faces):
    with pytest.raises(UnmeasurableError, match="the model"):
        measured(Surface(vertices, faces), UP)


sides = st.floats(0.02, 2.0)


@settings(max_examples=25, deadline=None)
@given(sides, sides, sides)
def test_any_box_is_measured_by_formula(length, width, height):
    found = measured(shapes.box(length, width, height), UP)
    longer, shorter = max(length, width), min(length, width)
    assert (found.length, found.width, found.depth) == pytest.approx((longer, shorter, height))
    # source: school formulas, l w h and l w + 2 (l + w) h
    assert found.volume == pytest.approx(length * width * height)
    assert found.surface_area == pytest.approx(length * width + 2 * (length + width) * height, rel=1e-4)
    assert found.projected_area == pytest.approx(length * width, rel=1e-3)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.03, 0.3), st.floats(1.05, 3.0), st.floats(0.03, 0.5))
def test_any_frustum_is_measured_by_formula(low, wider, height):
    found = measured(shapes.frustum(low, low * wider, height, 128), UP)
    high = low * wider
    # source: school formulas, pi h (r2 + r R + R2) / 3 and pi (r + R) slant + pi r2
    assert found.volume == pytest.approx(pi * height * (low**2 + low * high + high**2) / 3, rel=2e-3)
    slant = sqrt((high - low) ** 2 + height**2)
    assert found.surface_area == pytest.approx(pi * (low + high) * slant + pi * low**2, rel=2e-3)
