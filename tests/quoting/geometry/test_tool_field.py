"""Heights of a tool by rays."""

import numpy as np
import pytest

from quoting.geometry.sheet.tool_field import field_of, frame_of
from quoting.geometry.surface import Surface
from tests.quoting.geometry.membrane_tools import UP, cone, open_box


def test_a_cone_has_its_height_everywhere_and_a_rim_beside_it():
    tool = cone(np.radians(45))
    frame = frame_of(tool, UP)
    field = field_of(tool, frame, np.array([1.2, 1.2]), male=False, cells=200, unit=1.0)
    x = np.array([0.0, 0.3, 0.5, 1.1])
    # a cone of 45 degrees: height = radius - 1; facets of 96 sides lie up to .0006 inside
    assert field.height(x, np.zeros(4)) == pytest.approx([-1.0, -0.7, -0.5, 0.0], abs=0.012)
    assert field.height(x[1:3], np.zeros(2)) == pytest.approx([-0.7, -0.5], abs=1e-3)


def test_the_frame_turns_with_the_tool():
    box = open_box(4.0, 3.0, 1.0, 0.05, 0.1)
    turn = np.linalg.qr(np.array([[1.0, 2, 3], [0, 1, 4], [5, 6, 0]]))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = Surface(box.vertices @ turn.T + [7.0, -3.0, 2.0], box.faces)
    plain, turned = frame_of(box, UP), frame_of(moved, turn @ UP)
    at = [np.abs(frame.inward(tool.vertices)[:, :2]).max(axis=0) for frame, tool in ((plain, box), (turned, moved))]
    assert at[1] == pytest.approx(at[0])
    assert np.prod(at[0]) == pytest.approx(3.0)


def test_points_settle_onto_the_triangles_of_a_wall():
    box = open_box(4.0, 3.0, 1.0, 0.0, 0.1)
    frame = frame_of(box, UP)
    field = field_of(box, frame, np.array([2.2, 2.2]), male=False, cells=200, unit=1.0)
    near_wall = np.array([[0.0, 1.49, -0.5], [0.3, -1.51, -0.4]])
    settled = frame.outward(field.settled(frame.inward(near_wall)))
    assert np.abs(settled[:, 1]) == pytest.approx([1.5, 1.5], abs=1e-6)


def test_what_a_lip_stands_over_counts_as_hidden():
    box = open_box(4.0, 3.0, 1.0, 0.05, 0.1)
    lip = np.array([[-2, -1.5, 0], [0, -1.5, 0], [0, 1.5, 0], [-2, 1.5, 0.0]])
    faces = np.concatenate([box.faces, len(box.vertices) + np.array([[0, 1, 2], [0, 2, 3]])])
    lipped = Surface(np.concatenate([box.vertices, lip]), faces)
    half = np.array([2.2, 2.2])

    assert field_of(box, frame_of(box, UP), half, False, 60, 1.0).hidden == 0
    assert field_of(lipped, frame_of(lipped, UP), half, False, 60, 1.0).hidden > 0.2
