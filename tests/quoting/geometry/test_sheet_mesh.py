"""Meshes of the flat sheet, and their triangles halved."""

import numpy as np
import pytest

from quoting.geometry.sheet.sheet_mesh import FlatSheet, rectangular_sheet, round_sheet, split_long


def area(places: np.ndarray, faces: np.ndarray) -> np.ndarray:
    (a, c), (b, d) = places[:, faces[1]] - places[:, faces[0]], places[:, faces[2]] - places[:, faces[0]]
    return (a * d - b * c) / 2


def meshes() -> list[FlatSheet]:
    return [rectangular_sheet(np.linspace(-1, 1, 9), np.linspace(-2, 2, 11)), round_sheet(np.linspace(0.2, 1, 5))]


def test_a_rectangle_and_a_disc_have_their_areas_and_no_triangle_lies_upside_down():
    rectangle, disc = meshes()
    assert area(rectangle.places, rectangle.faces).sum() == pytest.approx(8)
    # a polygon of 30 sides
    assert area(disc.places, disc.faces).sum() == pytest.approx(15 * np.sin(2 * np.pi / 30))
    assert all(area(mesh.places, mesh.faces).min() > 0 for mesh in meshes())


@pytest.mark.parametrize("which", [0, 1])
def test_halving_keeps_the_area_and_leaves_no_node_within_an_edge(which):
    mesh = meshes()[which]
    wanted = np.arange(mesh.faces.shape[1]) % 7 == 0
    split = split_long(mesh.faces, mesh.places, wanted)
    places = np.concatenate([mesh.places, mesh.places[:, split.ends].mean(axis=1)], axis=1)
    children = area(places, split.faces)

    assert children.min() > 0
    assert np.bincount(split.parent, children) == pytest.approx(area(mesh.places, mesh.faces))
    edges = np.sort(np.concatenate([split.faces[[0, 1]], split.faces[[1, 2]], split.faces[[2, 0]]], axis=1), axis=0)
    kinds, times = np.unique(edges, axis=1, return_counts=True)
    # Euler: nodes - edges + triangles = 1 for a sheet without holes or loose edges
    assert places.shape[1] - kinds.shape[1] + split.faces.shape[1] == 1
    assert times.max() == 2


def test_children_know_where_in_their_parent_they_lie():
    mesh = meshes()[0]
    split = split_long(mesh.faces, mesh.places, np.arange(mesh.faces.shape[1]) % 5 == 0)
    places = np.concatenate([mesh.places, mesh.places[:, split.ends].mean(axis=1)], axis=1)
    one, other = (mesh.places[:, mesh.faces[corner, split.parent]] for corner in split.corners)

    assert places[:, split.faces] == pytest.approx((one + other) / 2)
