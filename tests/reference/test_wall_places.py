"""Walls at the places of a part against closed forms, triangulated pockets and a table of the trade."""

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
import trimesh
from scipy.integrate import solve_ivp
from scipy.spatial import ConvexHull

from materials import laying
from materials.cavity import FormedShape, FormingMethod
from materials.membrane import membrane_shares
from materials.pockets import hollow_of, swept_pocket
from materials.progressive import progress_of, wall_shares
from materials.sheet import INCH
from materials.stretching import (
    cone_wall_share,
    cylinder_corner_share,
    cylinder_wall_share,
    trough_corner_share,
    trough_wall_share,
    wedge_wall_share,
)

HALF = 0.2
LONG = 4000.0  # m, a box whose ends no longer matter
PLUG = FormingMethod(plug=True)


def stuck(kind, depth, *, length=2 * HALF, draft=0.0, corner=0.02):
    return wall_shares(FormedShape(kind, length, 2 * HALF, depth, draft, corner), slip=0.0)


@pytest.mark.parametrize("ratio", [0.6, 1.0, 2.0])
@pytest.mark.parametrize("corner", [0.1, 0.04, 0.01])
def test_a_cylinder_has_the_walls_of_its_closed_form(ratio, corner):
    depth = ratio * 2 * HALF
    walls = stuck("cylinder", depth, corner=corner)
    # closed forms: first a hemisphere of half the gauge, exp(-z/R)/2 down the wall, a quarter torus in the corner
    assert walls.rim == pytest.approx(0.5, rel=1e-6)
    assert walls.base == pytest.approx(cylinder_wall_share(depth - HALF, HALF), rel=1e-3)
    assert walls.corner == pytest.approx(cylinder_corner_share(corner, HALF, depth), rel=1e-3)


@pytest.mark.parametrize("ratio", [1.0, 1.5])
def test_half_way_down_a_deep_cylinder_the_wall_is_that_of_the_closed_form(ratio):
    depth = ratio * 2 * HALF
    assert stuck("cylinder", depth).side == pytest.approx(cylinder_wall_share(depth / 2, HALF), rel=1e-3)


def test_a_cylinder_has_the_walls_of_an_earlier_table():
    # table of six digits, computed for this project apart from the code: H/D 1, radius 0.25 D, 0.10 D, 0.05 D
    printed = [0.133531, 0.097394, 0.078991]
    got = [stuck("cylinder", 2 * HALF, corner=share * 2 * HALF).corner for share in (0.25, 0.10, 0.05)]
    assert got == pytest.approx(printed, rel=5e-4)


@pytest.mark.parametrize("degrees", [30, 60])
def test_a_full_cone_has_the_walls_of_its_closed_form(degrees):
    angle = radians(degrees)
    walls = stuck("cone", HALF * tan(angle), draft=pi / 2 - angle, corner=1e-3)
    # closed form (1 + cos b)/2 x^(1/cos b - 1), the same on a university's course page on thermoforming
    assert walls.rim == pytest.approx(cone_wall_share(angle, 1.0), rel=1e-6)
    assert walls.side == pytest.approx(cone_wall_share(angle, 0.5), rel=1.2e-3)


@pytest.mark.parametrize("degrees", [30, 60])
def test_a_wedge_and_a_long_pyramid_have_the_walls_of_the_closed_form(degrees):
    angle = radians(degrees)
    for kind, length in (("wedge", 1.0), ("pyramid", LONG)):
        walls = stuck(kind, HALF * tan(angle), length=length, draft=pi / 2 - angle, corner=1e-3)
        # closed form sin b/b x^(tan b/b - 1)
        assert walls.rim == pytest.approx(wedge_wall_share(angle, 1.0), rel=5e-4)
        assert walls.side == pytest.approx(wedge_wall_share(angle, 0.5), rel=1e-3)


@pytest.mark.parametrize(("kind", "length"), [("wedge", 1.0), ("box", LONG)])
def test_a_trough_and_a_long_box_have_the_walls_of_the_closed_form(kind, length):
    walls = stuck(kind, 4 * HALF, length=length)
    # closed forms 2/pi exp(-2 z/(pi w)) and, in the corner, (c/c0)^(4/pi - 1)
    at_contact = trough_wall_share(3 * HALF, HALF)
    assert walls.rim == pytest.approx(2 / pi, rel=5e-4)
    assert walls.side == pytest.approx(trough_wall_share(2 * HALF, HALF), rel=1e-3)
    assert walls.base == pytest.approx(at_contact, rel=1e-3)
    assert walls.corner == pytest.approx(at_contact * trough_corner_share(0.1), rel=1e-3)


@pytest.mark.parametrize(("depth", "web"), [(0.2, 0.1), (0.5, 0.2), (0.1, 0.3)])
def test_a_sheet_draped_over_a_long_ridge_has_the_walls_found_by_hand(depth, web):
    walls = wall_shares(FormedShape("wedge", 1.0, 2 * HALF, depth, 0.0, 1e-5, web), FormingMethod("male"), slip=0.0)
    # by hand: the top sticks, a web as wide as w becomes a tent of sqrt(H^2 + w^2), which closes like a shrinking
    # triangle: it lays down H + w while its own length goes to nothing, so t ~ x^((H + w)/tent - 1)
    tent = np.hypot(depth, web)
    assert walls.base == 1
    assert walls.edge == pytest.approx(web / tent, rel=1e-6)
    assert walls.side == pytest.approx(web / tent * 0.5 ** ((depth + web) / tent - 1), rel=1e-3)


@pytest.mark.parametrize("depth", [0.2, 0.8])
def test_a_plug_in_a_long_trough_leaves_what_is_found_by_hand(depth):
    walls = wall_shares(FormedShape("wedge", 1.0, 2 * HALF, depth, 0.0, 1e-3), PLUG, slip=0.0)
    # by hand, half a trough: the face, 0.85 of half the width, keeps the root of the share t of the ring beside it,
    # which is stretched from 0.15 of half the width to 0.95 of the depth: ring t + face sqrt(t) = half
    face, ring = 0.85 * HALF, np.hypot(0.95 * depth, 0.15 * HALF)
    root = (np.sqrt(face**2 + 4 * ring * HALF) - face) / (2 * ring)
    assert walls.base == pytest.approx(root, rel=1e-9)
    assert walls.rim == pytest.approx(root**2, rel=1e-9)


def test_four_times_the_stages_leave_a_sixteenth_of_the_error(monkeypatch):
    exact = cylinder_corner_share(0.01, HALF, 4 * HALF)
    errors = []
    for stages in (15, 60):
        for phase in ("FLATTENING", "SLIDING", "CLOSING"):
            monkeypatch.setattr(laying, phase, stages)
        errors.append(stuck("cylinder", 4 * HALF, corner=0.01).corner / exact - 1)
    assert errors[0] / errors[1] == pytest.approx(16, rel=0.1)
    assert abs(errors[1]) < 1e-3


@pytest.mark.parametrize("slip", [0.03, 0.3, 0.7])
def test_a_membrane_that_slips_follows_its_equation(slip):
    # a strip of 1 m grows to 3 m, half of what is added is laid down: dm/dS = -m^2/(m A + slip (V - m A));
    # scipy.integrate.solve_ivp
    surface = np.linspace(1, 3, 801)
    laid = (surface - 1) / 2
    run = solve_ivp(
        lambda s, m: -(m**2) / (m * (s + 1) / 2 + slip * (1 - m * (s + 1) / 2)), (1, 3), [1.0], rtol=1e-10, atol=1e-12
    )
    assert membrane_shares(surface[:, None], laid[:, None], slip)[-1, 0] == pytest.approx(run.y[0, -1], rel=1e-6)


@pytest.mark.parametrize(
    ("length", "width", "depth", "degrees", "radius"),
    [(1.2, 0.9, 0.3, 0, 0.1), (1.2, 0.9, 0.3, 5, 0.1), (1.2, 0.9, 0.3, 25, 0.02), (1, 1, 0.3, 45, 0.15)],
)
def test_a_pocket_has_the_area_that_a_ball_sweeps(length, width, depth, degrees, radius):
    hollow = hollow_of(FormedShape("box", length, width, depth, radians(degrees), radius))
    pocket = swept_pocket(hollow, np.array([depth]), np.array([radius]))
    swept, rim = _swept_by_a_ball(length, width, depth, radians(degrees), radius)

    # trimesh 5.2.0, convex hull of balls in the corners, cut at the rim; the facets cut off some 0.01 %
    assert (pocket.base + pocket.walls + pocket.bottom + pocket.upright)[0] == pytest.approx(swept, rel=2e-4)
    assert length * width - pocket.rim_corners[0] == pytest.approx(rim, rel=2e-4)


def _swept_by_a_ball(length, width, depth, draft, radius):
    ball = trimesh.creation.icosphere(subdivisions=5, radius=radius).vertices
    inset = depth * tan(draft) + radius * (1 - sin(draft)) / cos(draft)
    rise = depth + radius
    balls = [
        ball
        + (x * (length / 2 - inset + up * tan(draft)), y * (width / 2 - inset + up * tan(draft)), up - depth + radius)
        for x in (-1, 1)
        for y in (-1, 1)
        for up in (0, rise)
    ]
    hull = trimesh.convex.convex_hull(np.vstack(balls))
    corners, faces, _ = trimesh.intersections.slice_faces_plane(
        hull.vertices, hull.faces, np.array([0.0, 0.0, -1.0]), np.zeros(3)
    )
    rim = corners[np.isclose(corners[:, 2], 0)][:, :2]
    return trimesh.Trimesh(corners, faces, process=False).area, ConvexHull(rim).volume


@pytest.mark.parametrize("kind", ["box", "cylinder"])
@pytest.mark.parametrize("method", [FormingMethod(), PLUG], ids=["no plug", "plug"])
def test_every_way_into_a_hollow_ends_in_the_same_rounded_part(kind, method):
    shape = FormedShape(kind, 0.6, 0.4, 0.3, radians(3), 0.02, web=0.03)
    surface = progress_of(shape, method, 0.5).stages.surface[-1, 0]
    hollow = hollow_of(shape)
    pocket = swept_pocket(hollow, hollow.depth, hollow.corner_radius)
    part = sum(vars(pocket).values())[0]
    assert surface == pytest.approx(part + hollow.plan_area(-hollow.web)[0] - hollow.area[0], rel=1e-12)


# A machine builder's wall-thickness page (name withheld; a rectangular part, no plug, no method stated), share of the
# gauge: depth over least width, corner, base
BUILDERS_TABLE = [(0.25, 0.65, 0.70), (0.5, 0.45, 0.55), (0.75, 0.35, 0.45), (1.0, 0.28, 0.38), (1.5, 0.18, 0.28)]


@pytest.mark.parametrize(("ratio", "corner", "base"), BUILDERS_TABLE)
def test_beside_a_builders_table_the_corner_is_pessimistic_and_the_base_alike(ratio, corner, base):
    depth = ratio * 28 * INCH
    web = max(1.5 * INCH, depth / 2) / 2
    walls = wall_shares(FormedShape("box", 40 * INCH, 28 * INCH, depth, radians(2), 0.187 * INCH, web))
    assert 0.5 < walls.corner / corner < 0.72
    assert 0.75 < walls.base / base < 1.2
