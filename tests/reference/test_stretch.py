"""Areas against triangulated solids, and progressive thinning against the volume of the sheet."""

from math import cos, pi, radians, tan

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad, solve_ivp

from materials.shapes import cap_areal_draw_ratio, cylinder_areal_draw_ratio, frustum_areal_draw_ratio
from materials.stretching import (
    cone_wall_share,
    cylinder_corner_share,
    cylinder_wall_share,
    trough_corner_share,
    trough_wall_share,
    wedge_wall_share,
)
from materials.thinning import areal_draw_ratio, tapered_box_area

ANGLES = [radians(20), radians(45), radians(70)]


def open_area(mesh: trimesh.Trimesh, rim: float) -> float:
    """Area of a solid without its lid at height ``rim``."""
    lid = np.isclose(mesh.triangles[:, :, 2], rim).all(axis=1)
    return float(mesh.area_faces[~lid].sum())


@pytest.mark.parametrize(
    ("length", "width", "depth", "degrees"), [(1.2, 0.9, 0.3, 0), (1.2, 0.9, 0.3, 5), (1, 1, 0.4, 12)]
)
def test_a_tapered_box_has_the_area_of_the_triangulated_one(length, width, depth, degrees):
    inset = depth * tan(radians(degrees))
    base = [(x * (length / 2 - inset), y * (width / 2 - inset), -depth) for x in (-1, 1) for y in (-1, 1)]
    rim = [(x * length / 2, y * width / 2, 0.0) for x in (-1, 1) for y in (-1, 1)]
    # trimesh 5.2.0, convex hull of the eight corners
    expected = open_area(trimesh.convex.convex_hull(np.array(base + rim)), 0.0)

    assert tapered_box_area(length, width, depth, radians(degrees)) == pytest.approx(expected, rel=1e-9)


def test_a_straight_box_has_the_printed_ratio():
    # a processor's draw-ratio page (name withheld): 10 x 12 x 2 in, surface over footprint, printed 1.7
    assert areal_draw_ratio(tapered_box_area(10, 12, 2, 0.0), 120) == pytest.approx(1.7, abs=0.05)


def test_a_cylinder_as_deep_as_wide_has_the_printed_ratio():
    # "The Ubiquitous Draw Ratio", Thermoforming 101, 24(4) 2005: areal draw ratio 5
    assert cylinder_areal_draw_ratio(0.3, 0.3) == 5


def test_round_shapes_have_the_area_of_the_triangulated_ones():
    # trimesh 5.2.0 primitives, many facets; 0.1 % is what the facets cut off
    cylinder = trimesh.creation.cylinder(radius=0.2, height=0.4, sections=720)
    cone = trimesh.creation.cone(radius=0.2, height=0.3, sections=720)
    ring = [
        (r * np.cos(a), r * np.sin(a), z) for r, z in ((0.2, 0.0), (0.1, -0.3)) for a in np.linspace(0, 2 * pi, 721)
    ]
    frustum = trimesh.convex.convex_hull(np.array(ring))
    sphere = trimesh.creation.icosphere(subdivisions=5, radius=0.2)
    rim = pi * 0.2**2

    assert cylinder_areal_draw_ratio(0.4, 0.4) == pytest.approx(open_area(cylinder, 0.2) / rim, rel=1e-3)
    assert frustum_areal_draw_ratio(0.2, 0.1, 0.3) == pytest.approx(open_area(frustum, 0.0) / rim, rel=1e-3)
    assert frustum_areal_draw_ratio(0.2, 0.0, 0.3) == pytest.approx(cone.area / rim - 1, rel=1e-3)
    assert cap_areal_draw_ratio(0.2, 0.2) == pytest.approx(sphere.area / 2 / rim, rel=1e-3)


@pytest.mark.parametrize("angle", ANGLES)
def test_the_wall_of_a_cone_holds_the_volume_of_the_sheet(angle):
    # a disc of radius 1 and gauge 1: volume pi; the slant is 1/cos b long and its radius shrinks to the tip
    volume, _ = quad(lambda x: cone_wall_share(angle, x) * 2 * pi * x / cos(angle), 0, 1)
    assert volume == pytest.approx(pi, rel=1e-8)


@pytest.mark.parametrize("angle", ANGLES)
def test_the_wall_of_a_wedge_holds_the_volume_of_the_sheet(angle):
    # half a width of 1, gauge 1: volume 1 for each metre of trough
    volume, _ = quad(lambda x: wedge_wall_share(angle, x) / cos(angle), 0, 1)
    assert volume == pytest.approx(1, rel=1e-6)


def test_the_wall_of_a_cylinder_and_its_dome_hold_the_volume_of_the_sheet():
    radius, formed = 0.2, 0.3
    wall, _ = quad(lambda z: cylinder_wall_share(z, radius) * 2 * pi * radius, 0, formed)
    dome = cylinder_wall_share(formed, radius) * 2 * pi * radius**2
    assert wall + dome == pytest.approx(pi * radius**2, rel=1e-10)


def test_the_wall_of_a_trough_and_its_round_hold_the_volume_of_the_sheet():
    half, formed = 0.2, 0.3
    wall, _ = quad(lambda z: 2 * trough_wall_share(z, half), 0, formed)
    round_below = trough_wall_share(formed, half) * pi * half
    assert wall + round_below == pytest.approx(2 * half, rel=1e-10)


@pytest.mark.parametrize("share", [0.5, 0.25, 0.1])
def test_the_corner_of_a_trough_agrees_with_its_equation_of_volume(share):
    # free arc of a corner of radius c is pi c/2; it lays down dc on both sides: d(t pi c/2) = 2 t dc;
    # scipy.integrate.solve_ivp
    run = solve_ivp(lambda c, t: t * (2 - pi / 2) / (pi * c / 2), (1, share), [1.0], rtol=1e-10, atol=1e-12)
    assert trough_corner_share(share) == pytest.approx(run.y[0, -1], rel=1e-7)


@pytest.mark.parametrize(("radius_share", "printed"), [(0.5, 0.133531), (0.2, 0.097394), (0.1, 0.078991)])
def test_the_corner_of_a_cylinder_agrees_with_an_earlier_table(radius_share, printed):
    # depth = diameter; table of six digits, computed for this project apart from the code under test
    assert cylinder_corner_share(radius_share, 1.0, 2.0) == pytest.approx(printed, abs=1e-6)


def test_what_the_corner_of_a_cylinder_lays_down_is_what_it_loses():
    # by volume: the free quarter torus now, and all that it laid on wall and base, make up the hemisphere at contact
    radius, depth, end = 1.0, 2.0, 0.3
    area = lambda c: 2 * pi * ((radius - c) * pi * c / 2 + c**2)  # noqa: E731
    laid, _ = quad(lambda c: cylinder_corner_share(c, radius, depth) * 2 * pi * (radius + radius - c), end, radius)
    at_contact = cylinder_corner_share(radius, radius, depth) * area(radius)
    assert laid + cylinder_corner_share(end, radius, depth) * area(end) == pytest.approx(at_contact, rel=1e-7)
