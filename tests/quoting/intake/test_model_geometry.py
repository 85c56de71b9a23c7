"""What a measured model says about its part: sizes, draw direction, formed surface, unit."""

import json
from pathlib import Path

import numpy
import pytest
import trimesh

from quoting.intake.measuring import measured
from quoting.intake.model_file import parsed
from quoting.intake.model_shape import Shape
from quoting.units import spoken
from tests.quoting.intake.sample import changed, read, wrong_fields

INCH = 0.0254  # m, exact: international inch
NO_SIZES = {"part__length": None, "part__width": None, "part__depth": None}


@pytest.fixture(autouse=True)
def _measured_in_this_process(monkeypatch):
    """The child process has its own tests; here it would only cost a second each."""

    def measure(name: str, base_dir: Path):
        return parsed(name, json.dumps(measured(base_dir / name)).encode())

    monkeypatch.setattr("quoting.intake.reading.measure", measure)
    monkeypatch.setattr("quoting.intake.reading.shape_of", lambda *_, **__: Shape({}))  # has its own tests too


def tray(length: float, width: float, depth: float, wall: float) -> trimesh.Trimesh:
    """An open tray as a closed thin solid: a cube with a smaller one hung into it from the rim."""
    corner = numpy.array([[x, y] for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))], dtype=float)
    outer = corner * [length, width]
    inner = corner * [length - 2 * wall, width - 2 * wall] + wall
    rings = [(outer, 0.0), (outer, depth), (inner, depth), (inner, wall)]
    points = [[*point, height] for ring, height in rings for point in ring]
    faces = [[0, 2, 1], [0, 3, 2], [12, 13, 14], [12, 14, 15]]
    for ring in range(3):
        for side in range(4):
            low, high = 4 * ring + side, 4 * ring + (side + 1) % 4
            faces += [[low, high, high + 4], [low, high + 4, low + 4]]
    return trimesh.Trimesh(points, faces)


def model(tmp_path, mesh, name="part.stl", **changes):
    mesh.export(tmp_path / name)
    return read(changed(part__model=name, **{**NO_SIZES, **changes}), tmp_path)


def said(reading, field):
    return [spoken(entry.value) + "; " + entry.why for entry in reading.assumptions if entry.field == field]


def test_a_solid_block_gives_its_sizes_and_its_outside_without_the_open_face(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((600, 400, 80)))
    part = reading.request.part
    assert (part.length, part.width, part.depth) == (0.6, 0.4, 0.08)
    assert part.surface_area == pytest.approx(0.6 * 0.4 + 2 * 0.08 * (0.6 + 0.4), rel=1e-9)
    assert "solid block" in said(reading, "part.surface_area")[0]
    assert any("the STL file is in mm" in text for text in said(reading, "part.model"))


# By hand: tray 600 x 400 x 80 mm, wall 3 mm: outside 240000 + 2 x 80 x 1000 = 400000, inside 594 x 394 +
# 2 x 77 x 988 = 386188, rim 240000 - 594 x 394 = 5964; together 792152 mm2, half of it 0.396076 m2.
def test_a_thin_tray_gives_half_of_its_whole_surface(tmp_path):
    mesh = tray(600, 400, 80, 3)
    assert mesh.is_watertight
    reading = model(tmp_path, mesh)
    assert reading.request.part.surface_area == pytest.approx(0.396076, rel=1e-6)
    assert "thin shell" in said(reading, "part.surface_area")[0]


def test_an_open_surface_counts_whole(tmp_path):
    box = trimesh.creation.box((600, 400, 80))
    box.update_faces(box.face_normals[:, 2] < 0.5)  # lid off
    part = model(tmp_path, box).request.part
    assert part.surface_area == pytest.approx(0.24 + 0.16, rel=1e-6)


def test_a_round_part_counts_the_flat_of_the_rectangle_around_it(tmp_path):
    disc = trimesh.creation.cylinder(radius=200, height=50, sections=256)
    part = model(tmp_path, disc).request.part
    assert part.surface_area == pytest.approx(0.4 * 0.4 + 3.14159 * 0.4 * 0.05, rel=1e-3)


def test_a_closed_part_is_two_skins(tmp_path):
    part = model(tmp_path, trimesh.creation.box((600, 400, 80)), part__enclosed=True).request.part
    assert part.surface_area == pytest.approx((2 * 0.24 + 0.16) / 2, rel=1e-6)


# By hand: hollow box 600 x 400 x 80 mm, wall 3 mm: outside 640000 mm2, inside 594 x 394 x 74 mm 614296 mm2;
# one skin is half of the mean of the two: 0.313574 m2. Seen along the draw: (240000 + 234036)/2 = 237018 mm2, so
# 2982 mm2 of the plan rectangle is counted as flat: together 0.316556 m2.
def test_a_hollow_part_is_two_skins_of_half_the_mean_surface(tmp_path):
    inside = trimesh.creation.box((594, 394, 74))
    inside.invert()
    hollow = trimesh.util.concatenate([trimesh.creation.box((600, 400, 80)), inside])
    reading = model(tmp_path, hollow, part__enclosed=True)
    assert reading.request.part.surface_area == pytest.approx(0.316556, rel=1e-6)
    assert "a quarter" in said(reading, "part.surface_area")[0]


def test_a_typed_depth_along_z_makes_z_the_draw(tmp_path):
    mesh = trimesh.creation.box((300, 400, 500))
    part = model(tmp_path, mesh, part__depth="500 mm").request.part
    assert (part.length, part.width, part.depth) == (0.4, 0.3, 0.5)
    assert model(tmp_path, mesh).request.part.depth == 0.3


def test_typed_inches_settle_the_unit_of_an_stl(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((40, 28, 8)), part__length="40 in")
    assert reading.request.part.width == pytest.approx(28 * INCH)
    assert any("in inches; the typed sizes agree" in text for text in said(reading, "part.model"))


def test_an_stl_in_inches_without_typed_sizes_is_read_as_mm_and_doubted(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((40, 28, 8)))
    assert reading.request.part.length == pytest.approx(0.040)
    assert "were inches meant" in spoken(reading.doubts[0].text)


def test_a_typed_size_within_one_percent_agrees_and_is_replaced(tmp_path):
    part = model(tmp_path, trimesh.creation.box((600, 400, 80)), part__length="605 mm").request.part
    assert part.length == 0.6


def test_a_typed_size_more_than_one_percent_off_is_an_error_at_that_field(tmp_path):
    trimesh.creation.box((600, 400, 80)).export(tmp_path / "part.stl")
    for field, size in (("part__length", "607 mm"), ("part__width", "390 mm"), ("part__depth", "82 mm")):
        raw = changed(**{**NO_SIZES, "part__model": "part.stl", field: size})
        assert wrong_fields(raw, tmp_path) == [field.replace("__", ".")]


def test_length_and_width_may_be_typed_the_other_way_round(tmp_path):
    trimesh.creation.box((600, 400, 80)).export(tmp_path / "part.stl")
    raw = changed(part__model="part.stl", part__length="400 mm", part__width="600 mm", part__depth="80 mm")
    assert wrong_fields(raw, tmp_path) == []


def test_a_typed_surface_stays(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((600, 400, 80)), part__surface_area="0.5 m2")
    assert reading.request.part.surface_area == 0.5
    assert said(reading, "part.surface_area") == []
