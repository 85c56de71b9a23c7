"""What is done to the triangles of a file, and what is said about it."""

import numpy as np
import pytest
import trimesh

from quoting.geometry.files.repair import separated
from tests.quoting.geometry.files import box, joined


def bodies_of(mesh):
    return separated(((np.asarray(mesh.vertices), np.asarray(mesh.faces)),))


def changed(mesh, faces):
    return trimesh.Trimesh(mesh.vertices, faces, process=False)


def test_a_sound_box_gives_no_warning():
    (body,), warnings = bodies_of(box())
    assert (body.closed, warnings) == (True, ())
    assert body.volume == pytest.approx(600 * 400 * 80)


def test_an_inside_out_body_is_turned_and_told():
    mesh = box()
    mesh.invert()
    (body,), warnings = bodies_of(mesh)
    assert body.volume == pytest.approx(600 * 400 * 80)
    assert warnings == ("the model was inside out; it was turned",)


def test_faces_that_disagree_are_turned_and_told():
    mesh = box()
    faces = np.array(mesh.faces)
    faces[[3, 7]] = faces[[3, 7], ::-1]
    (body,), warnings = bodies_of(changed(mesh, faces))
    assert body.closed
    assert body.volume == pytest.approx(600 * 400 * 80)
    assert warnings == ("the model had faces that did not agree which side is out; they were turned",)


def test_an_open_box_is_told_with_its_edges():
    mesh = box()
    (body,), warnings = bodies_of(changed(mesh, mesh.faces[mesh.face_normals[:, 2] < 0.5]))
    assert not body.closed
    assert warnings == ("the model is open: 4 edges border on nothing",)


def test_a_fin_on_a_box_is_no_clean_surface():
    mesh = box()
    vertices = np.vstack((mesh.vertices, [0, 0, 300]))
    edge = mesh.faces[0][:2]
    mesh = trimesh.Trimesh(vertices, np.vstack((mesh.faces, [*edge, len(vertices) - 1])), process=False)
    (body,), warnings = bodies_of(mesh)
    assert not body.closed
    assert "the model is no clean surface: at 1 edge three or more faces meet" in warnings


def test_faces_without_area_and_faces_that_come_twice_are_dropped_and_told():
    mesh = box()
    faces = np.vstack((mesh.faces, [[0, 0, 1]], mesh.faces[:2], mesh.faces[2:3, [1, 0, 2]]))
    (body,), warnings = bodies_of(changed(mesh, faces))
    assert len(body.faces) == 12
    assert body.closed
    assert warnings == ("1 face without area dropped", "3 faces that came twice dropped")


def test_two_boxes_are_two_bodies_the_larger_first():
    bodies, warnings = bodies_of(joined(box((100, 100, 50), (900, 0, 0)), box()))
    assert [round(body.volume) for body in bodies] == [600 * 400 * 80, 100 * 100 * 50]
    assert warnings == ()


def test_the_hollow_of_a_body_stays_with_it():
    inside = box((594, 394, 74))
    inside.invert()
    (body,), warnings = bodies_of(joined(box(), inside))
    assert (body.closed, warnings) == (True, ())
    assert body.volume == pytest.approx(600 * 400 * 80 - 594 * 394 * 74)


def test_an_inside_out_body_beside_another_is_turned_and_no_hollow():
    other = box((100, 100, 50), (900, 0, 0))
    other.invert()
    bodies, warnings = bodies_of(joined(box(), other))
    assert len(bodies) == 2
    assert bodies[1].volume == pytest.approx(100 * 100 * 50)
    assert "body 2 was inside out; it was turned" in warnings


def test_surfaces_that_touch_but_are_not_joined_are_one_open_body():
    left = trimesh.Trimesh([[0, 0, 0], [200, 0, 0], [200, 200, 0], [0, 200, 0]], [[0, 1, 2], [0, 2, 3]])
    right = left.copy()
    right.apply_translation((199.0, 0, 0))  # it overlaps, with no corner at a corner of the other
    bodies, warnings = bodies_of(joined(left, right))
    assert len(bodies) == 1
    assert not bodies[0].closed
    assert any("2 surfaces that are not joined" in warning for warning in warnings)


def test_a_strip_with_one_side_is_told():
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    arms = [np.stack((np.cos(turn) * (300 + side * 50 * np.cos(turn / 2)), np.sin(turn) * (300 + side * 50 *
            np.cos(turn / 2)), side * 50 * np.sin(turn / 2)), axis=1) for side in (-1, 1)]  # fmt: skip
    faces = []
    for i in range(24):
        a, b, c, d = i, i + 24, (i + 1) % 24, (i + 1) % 24 + 24
        if i == 23:
            c, d = d, c
        faces += [[a, c, b], [b, c, d]]
    _, warnings = bodies_of(trimesh.Trimesh(np.vstack(arms), faces, process=False))
    assert any("one side only" in warning for warning in warnings)
