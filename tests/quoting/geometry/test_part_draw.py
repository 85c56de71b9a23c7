"""The draw found for parts whose draw is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from quoting.geometry.shape.draw import best_draws
from quoting.geometry.surface import Surface
from tests.quoting.geometry import shapes

UP = np.array([0.0, 0.0, 1.0])
OPEN_UP = {
    "tray": shapes.tray, "skin": shapes.tray_skin, "bead": shapes.beaded, "bowl": shapes.bowl,
    "cone": lambda: shapes.frustum(0.05, 0.1, 0.1), "trough": lambda: shapes.rounded_trough(0.02),
}  # fmt: skip


@pytest.mark.parametrize("part", OPEN_UP.values(), ids=OPEN_UP)
def test_a_part_open_at_the_top_is_drawn_upwards(part):
    best = best_draws(part())[0]
    # source: by hand, the parts are built with their opening at +z
    assert np.array(best.direction) @ UP > np.cos(np.radians(0.1))


@pytest.mark.parametrize("part", OPEN_UP.values(), ids=OPEN_UP)
def test_turning_the_file_turns_the_draw_and_keeps_its_scores(part):
    first, second = best_draws(part())[0], best_draws(shapes.turned(part()))[0]
    assert shapes.TURN @ np.array(first.direction) @ np.array(second.direction) > np.cos(np.radians(0.1))
    assert second.depth == pytest.approx(first.depth, rel=1e-3)
    assert second.projected_area == pytest.approx(first.projected_area, rel=1e-3)
    assert second.undercut_area == pytest.approx(first.undercut_area, abs=1e-3 * part().areas.sum())


def test_a_foot_that_stands_out_goes_to_the_open_side():
    best = best_draws(shapes.lipped())[0]
    assert np.array(best.direction) @ -UP > 0.9999 and best.undercut_area == 0.0


def test_draws_are_ranked_and_say_why():
    draws = best_draws(shapes.tray())
    assert [draw.score for draw in draws] == sorted(draw.score for draw in draws)
    assert "no undercut" in draws[0].reason and "undercut" in draws[-1].reason
    assert draws == best_draws(shapes.tray())


def test_finer_triangles_find_the_same_draw():
    first, second = best_draws(shapes.tray())[0], best_draws(shapes.refined(shapes.tray(), 3))[0]
    assert second.direction == pytest.approx(first.direction, abs=1e-6)
    assert second.score == pytest.approx(first.score, abs=1e-3)


def test_a_part_inside_out_is_drawn_the_same_way():
    assert best_draws(shapes.inside_out(shapes.tray()))[0].direction == pytest.approx((0, 0, 1), abs=1e-9)


@settings(max_examples=15, deadline=None)
@given(st.tuples(*[st.floats(-3.0, 3.0)] * 3), st.floats(2.0, 15.0), st.floats(0.05, 0.15))
def test_any_drafted_block_is_drawn_out_of_its_wide_end_however_it_lies(angles, draft, height):
    wider = 2 * height * np.tan(np.radians(draft))
    block = shapes.ringed([(0.5, 0.3, 0), (0.5 + wider, 0.3 + wider, height)])
    turn = Rotation.from_euler("xyz", angles).as_matrix()
    best = best_draws(Surface(block.vertices @ turn.T, block.faces))[0]
    # source: by hand, only the wide end lets a drafted block out
    assert np.array(best.direction) @ (turn @ UP) > np.cos(np.radians(0.1))
