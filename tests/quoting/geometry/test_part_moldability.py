"""Draft, undercuts, pockets and corners against parts whose troubles were built in."""

from math import atan, cos, degrees, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.geometry.shape.moldability import Moldability, moldability
from tests.quoting.geometry import shapes

UP = np.array([0.0, 0.0, 1.0])


def female(surface) -> Moldability:
    return moldability(surface, UP, "female")


@pytest.mark.parametrize(("low", "high"), [(0.05, 0.1), (0.1, 0.05), (0.099, 0.1)])
def test_the_draft_of_a_cone_is_its_half_angle(low, high):
    found = female(shapes.frustum(low, high, 0.1, 360))
    # source: school formula, tan of the half angle is (R - r) / h
    assert found.least_draft == pytest.approx(degrees(atan((high - low) / 0.1)), rel=1e-3)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.02, 0.2), st.floats(0.0, 20.0))
def test_any_cone_with_draft_has_that_draft_and_no_undercut(height, draft):
    high = 0.05 + height * np.tan(np.radians(draft))
    found = female(shapes.frustum(0.05, high, height, 48))
    # source: school formula; the facets of a cone of 48 lie at cos(pi / 48) of its radius
    assert found.least_draft == pytest.approx(degrees(atan((high - 0.05) * cos(pi / 48) / height)), abs=1e-6)
    assert found.undercut_area == 0.0
    assert dict(found.below)[3.0] == (1.0 if found.least_draft < 2.99 else 0.0)


def test_upright_walls_are_all_below_one_degree():
    found = female(shapes.tray())
    assert found.below == ((1.0, 1.0), (3.0, 1.0), (5.0, 1.0))
    # source: by hand, 2 (600 + 400) 80 mm2
    assert found.wall_area == pytest.approx(0.16, rel=1e-4)
    assert found.low_draft[0].area == pytest.approx(0.16, rel=1e-4) and found.undercut_area == 0.0


def test_a_wall_of_two_and_of_four_degrees_are_told_apart():
    rise = 0.1
    outer = 0.2 + 2 * rise * np.tan(np.radians(2.0)), 0.2 + 2 * rise * np.tan(np.radians(4.0))
    found = female(shapes.ringed([(0.2, 0.2, 0), (*outer, rise)]))
    # source: the drafts that the part was built with; the walls lean nearly alike, so half of the area each
    assert found.least_draft == pytest.approx(2.0, abs=1e-3)
    assert dict(found.below) == pytest.approx({1.0: 0.0, 3.0: 0.5, 5.0: 1.0}, abs=0.01)


def test_the_lip_hides_41600_square_millimetres_seen_along_the_draw():
    found = female(shapes.lipped())
    # source: by hand, 640 x 440 - 600 x 400 mm2
    assert found.undercut_shadow == pytest.approx(41600e-6, rel=1e-3)
    # source: by hand, the same and the walls behind it, 2 (600 + 400) 70 mm2
    assert found.undercut_area == pytest.approx(181600e-6, rel=1e-3)
    assert len(found.undercuts) == 1
    # source: by hand, the lip stands out 20 mm; known to a cell, 640 / 200 mm
    assert found.undercuts[0].worst == pytest.approx(0.020, abs=0.0032)


def test_the_other_way_up_the_lip_is_no_undercut():
    assert moldability(shapes.lipped(), -UP, "female").undercut_area == 0.0


def test_a_bead_round_the_tray_hides_all_behind_it_from_a_female_tool():
    found = female(shapes.beaded())
    # source: by hand, four trapezia 14.14 mm high, mean length 510 mm, and the wall above, 2 (600 + 400) 30 mm2
    assert found.undercut_area == pytest.approx(0.01 * 2**0.5 * 2.04 + 0.06, rel=2e-3)
    # source: by hand, 620 x 420 - 600 x 400 mm2
    assert found.undercut_shadow == pytest.approx(0.0204, rel=2e-3)
    # source: by hand, the bead stands out 10 mm; known to a cell, 620 / 200 mm
    assert found.undercuts[0].worst == pytest.approx(0.010, abs=0.0031)


def test_a_bead_traps_a_male_tool_inside_only_below_its_crest():
    found = moldability(shapes.beaded(), UP, "male")
    # source: by hand, inner lower flank and nothing of the straight walls above; the upper flank leans under
    assert found.undercut_shadow == pytest.approx(0.614 * 0.414 - 0.594 * 0.394, rel=2e-3)


def test_undercuts_that_cover_part_of_a_large_face_are_seen():
    block = shapes.ringed([(0.6, 0.4, 0), (0.6, 0.4, 0.1)])
    shelf = shapes.ringed([(0.3, 0.1, -0.05), (0.3, 0.1, -0.04)])
    both = shapes.Surface(
        np.concatenate([block.vertices, shelf.vertices]), np.concatenate([block.faces, shelf.faces + 8])
    )
    # source: by hand, 300 x 100 mm2 of the bottom lie behind the shelf, and the shelf's own upper face faces away
    assert female(both).undercut_area == pytest.approx(0.03 + 0.03, rel=0.06)


def test_turning_the_file_changes_no_trouble():
    for part in (shapes.lipped, shapes.beaded, shapes.tray):
        first, second = female(part()), moldability(shapes.turned(part()), shapes.TURN @ UP, "female")
        assert second.undercut_area == pytest.approx(first.undercut_area, rel=1e-3)
        assert second.undercut_shadow == pytest.approx(first.undercut_shadow, rel=1e-3)
        assert second.least_draft == pytest.approx(first.least_draft, abs=1e-3)
        assert second.corner_length == pytest.approx(first.corner_length, rel=1e-3)
        assert second.pocket.ratio == pytest.approx(first.pocket.ratio, rel=1e-3)


def test_finer_triangles_change_no_trouble():
    first, second = female(shapes.lipped()), female(shapes.refined(shapes.lipped(), 3))
    assert second.undercut_area == pytest.approx(first.undercut_area, rel=1e-3)
    assert second.corner_length == pytest.approx(first.corner_length, rel=1e-6)


def test_marks_lie_where_the_trouble_is_in_the_file_s_own_frame():
    found = moldability(shapes.turned(shapes.lipped()), shapes.TURN @ UP, "female")
    at_home = (np.array(found.undercuts[0].where) - shapes.SHIFT) @ shapes.TURN
    assert at_home[2] > 0.009 and abs(at_home[0]) < 0.321 and abs(at_home[1]) < 0.221


def test_a_plain_box_is_as_deep_as_depth_over_width():
    found = female(shapes.tray())
    # source: by hand, 80 over 400 mm; known to a cell
    assert found.pocket.ratio == pytest.approx(0.2, rel=0.02) and found.pockets == ()


def test_half_a_ball_is_as_deep_as_half_its_width():
    # source: by hand, R over 2 R; the opening is told at a tenth of the depth
    assert female(shapes.bowl()).pocket.ratio == pytest.approx(0.5, rel=0.1)


def test_a_narrow_slot_in_the_bottom_is_the_worst_pocket():
    found = female(slotted(0.03, 0.06))
    # source: by hand, a slot 60 mm deep and 30 mm wide under the floor of a shallow tray; known to a cell of 3 mm
    assert found.pocket.ratio == pytest.approx(2.0, rel=0.15)
    assert (found.pocket.depth, found.pocket.width) == pytest.approx((0.06, 0.03), abs=0.004)
    assert abs(found.pocket.where[1]) < 0.016 and len(found.pockets) == 1


def slotted(width: float, depth: float) -> shapes.Surface:
    """One skin: a tray 600 x 400 x 40 with a slot 300 mm long in its bottom."""
    return shapes.ringed([(0.3, width, -depth), (0.3, width, 0.0), (0.6, 0.4, 0.0), (0.6, 0.4, 0.04)], closed=False)


def test_sharp_inside_corners_are_the_edges_of_bottom_and_walls():
    found = female(shapes.tray())
    # source: by hand, round the bottom 2 (600 + 400) and four upright edges of 80 mm
    assert found.corner_length == pytest.approx(2.32)
    assert found.corners[0].worst == pytest.approx(90.0) and len(found.corners) == 1


def test_a_rounded_edge_is_no_sharp_corner():
    found = female(shapes.rounded_trough(0.02))
    along = [corner for corner in found.corners if abs(corner.where[0]) < 0.19]
    assert along == []


def test_edges_that_stand_out_of_the_tool_are_no_inside_corners():
    # source: by hand, a male tool inside a plain skin has outside corners only
    assert moldability(shapes.tray_skin(), UP, "male").corner_length == 0.0
