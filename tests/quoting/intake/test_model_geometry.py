"""What a measured model says about its part: unit, body, draw, sizes, formed surface."""

import json

import numpy as np
import pytest
import trimesh

from quoting.geometry import job
from quoting.intake.model_job import believed
from quoting.intake.reading import read_inquiry
from quoting.intake.reading_result import InputErrors
from quoting.units import spoken
from tests.quoting.geometry import files, shapes
from tests.quoting.intake.sample import POLYMERS, TODAY, changed
from tests.quoting.intake.step_box import step_box

INCH = 0.0254  # m, exact: international inch
NO_SIZES = {"part__length": None, "part__width": None, "part__depth": None}
BOX = trimesh.creation.box((600, 400, 80))


def in_this_process(path, **options):
    """The child process has its own tests; here it would only cost a second each."""
    return believed(json.dumps(job.answer(path, json.dumps(options).encode()), allow_nan=False).encode())


def read(raw, folder):
    return read_inquiry(raw, on=TODAY, polymer_names=POLYMERS, base_dir=folder, run=in_this_process)


def model(tmp_path, mesh, name="part.stl", **changes):
    content = mesh if isinstance(mesh, bytes) else files.stl(mesh)
    (tmp_path / name).write_bytes(content)
    return read(changed(part__model=name, **{**NO_SIZES, **changes}), tmp_path)


def wrong(tmp_path, mesh, **changes) -> dict[str, str]:
    with pytest.raises(InputErrors) as refused:
        model(tmp_path, mesh, **changes)
    return {error.field: error.message for error in refused.value.errors}


def in_mm(surface) -> trimesh.Trimesh:
    return trimesh.Trimesh(surface.vertices * 1000, surface.faces, process=False)


def said(reading, field):
    return [spoken(entry.value) + "; " + entry.why for entry in reading.assumptions if entry.field == field]


def doubted(reading) -> str:
    return "; ".join(spoken(doubt.text) for doubt in reading.doubts)


def sizes(reading):
    part = reading.request.part
    return part.length, part.width, part.depth


def test_a_solid_block_gives_its_sizes_and_its_outside_without_the_open_face(tmp_path):
    reading = model(tmp_path, BOX)
    assert sizes(reading) == (0.6, 0.4, 0.08)
    # By hand: base and four walls.
    assert reading.request.part.surface_area == pytest.approx(0.6 * 0.4 + 2 * 0.08 * (0.6 + 0.4), rel=1e-6)
    assert "a filled block" in said(reading, "part.surface_area")[0]


# By hand: tray 600 x 400 x 80 mm, wall 3 mm: a female tool touches its outside, 240000 + 2 x 80 x 1000 mm2.
def test_a_thin_tray_gives_the_skin_that_lies_on_the_tool(tmp_path):
    reading = model(tmp_path, in_mm(shapes.tray()))
    assert reading.request.part.surface_area == pytest.approx(0.4, rel=1e-4)
    assert "a thin wall" in said(reading, "part.surface_area")[0]


def test_an_open_surface_counts_whole(tmp_path):
    lidless = BOX.copy()
    lidless.update_faces(lidless.face_normals[:, 2] < 0.5)
    assert model(tmp_path, lidless).request.part.surface_area == pytest.approx(0.24 + 0.16, rel=1e-5)


def test_a_round_part_counts_the_flat_of_the_rectangle_around_it(tmp_path):
    disc = trimesh.creation.cylinder(radius=200, height=50, sections=256)
    part = model(tmp_path, disc).request.part
    # By formula: the square round the disc, and its wall pi D h.
    assert part.surface_area == pytest.approx(0.4 * 0.4 + np.pi * 0.4 * 0.05, rel=1e-3)


def test_a_closed_part_is_two_skins(tmp_path):
    part = model(tmp_path, BOX, part__enclosed=True).request.part
    assert part.surface_area == pytest.approx((2 * 0.24 + 0.16) / 2, rel=1e-5)


# By hand: hollow box 600 x 400 x 80 mm, wall 3 mm: outside 640000 mm2, inside 594 x 394 x 74 mm 614296 mm2;
# one skin is half of the mean of the two: 0.313574 m2. Its plan fills the rectangle.
def test_a_hollow_part_is_two_skins_of_half_the_mean_surface(tmp_path):
    reading = model(tmp_path, in_mm(shapes.hollow()), part__enclosed=True)
    assert reading.request.part.surface_area == pytest.approx(0.313574, rel=1e-4)
    assert "a quarter" in said(reading, "part.surface_area")[0]


def test_a_hollow_model_of_an_open_part_is_doubted(tmp_path):
    assert "a closed hollow" in doubted(model(tmp_path, in_mm(shapes.hollow())))


# --- unit


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (files.stl(BOX), "part.stl"), (files.stl_text(BOX), "part.stl"), (files.obj(BOX), "part.obj"),
        (files.three_mf_box(), "part.3mf"), (step_box(600, 400, 80).encode(), "part.STEP"),
    ],
)  # fmt: skip
def test_all_four_formats_are_read_and_those_that_know_their_unit_are_not_asked(tmp_path, content, name):
    reading = model(tmp_path, content, name)
    assert sizes(reading) == pytest.approx((0.6, 0.4, 0.08), rel=1e-6)
    assert ("confirm the unit" in doubted(reading)) == (name in ("part.stl", "part.obj"))


def test_typed_inches_settle_the_unit_of_a_file_without_one(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((100, 70, 20)), part__length="100 in")
    assert reading.request.part.width == pytest.approx(70 * INCH)
    assert any(
        "in inches; the file has no unit and the typed sizes agree" in one for one in said(reading, "part.model")
    )


def test_typed_millimetres_settle_it_against_the_likelier_inches(tmp_path):
    assert sizes(model(tmp_path, trimesh.creation.box((40, 28, 8)), part__length="40 mm")) == (0.04, 0.028, 0.008)


def test_without_typed_sizes_the_likeliest_unit_is_taken_said_and_asked_about(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((40, 28, 8)))
    assert reading.request.part.length == pytest.approx(40 * INCH)
    assert any("in inches; the file has no unit, and that makes" in text for text in said(reading, "part.model"))
    assert "in millimetres it would be 40 mm" in doubted(reading)


def test_a_confirmed_unit_goes_before_what_the_file_says_and_is_not_asked_about(tmp_path):
    reading = model(tmp_path, step_box(40, 28, 8).encode(), "part.step", part__model_unit="in")
    assert reading.request.part.length == pytest.approx(40 * INCH)
    assert any("as confirmed" in text for text in said(reading, "part.model"))
    assert doubted(reading) == ""


def test_a_confirmed_unit_that_contradicts_a_typed_size_is_an_error_at_the_size(tmp_path):
    found = wrong(tmp_path, BOX, part__length="600 mm", part__model_unit="in")
    assert "the size measured in part.model" in found["part.length"]


# --- body


TWO = files.joined(files.box(), files.box((100, 100, 50), (900, 0, 0)))


def test_of_several_bodies_the_largest_is_taken_and_the_others_are_told(tmp_path):
    reading = model(tmp_path, TWO)
    assert sizes(reading) == (0.6, 0.4, 0.08)
    assert "the file holds 2 separate bodies and the largest is taken: say which one" in doubted(reading)


def test_a_chosen_body_is_the_part(tmp_path):
    reading = model(tmp_path, TWO, part__model_body=2, part__model_unit="mm", part__gauge="2 mm")
    assert sizes(reading) == (0.1, 0.1, 0.05)
    assert doubted(reading) == ""


def test_a_body_that_is_not_there_is_an_error_at_the_body(tmp_path):
    assert wrong(tmp_path, TWO, part__model_body=3) == {
        "part.model_body": "part.model_body: got 3; accepted is a body that is in the model: the file has no body 3: "
        "it has 2"
    }


# --- draw


def test_the_best_draw_is_taken_whatever_the_axes_of_the_file(tmp_path):
    assert sizes(model(tmp_path, trimesh.creation.box((300, 400, 500)))) == (0.5, 0.4, 0.3)


def test_a_typed_depth_that_agrees_with_another_draw_makes_it_the_draw(tmp_path):
    reading = model(tmp_path, trimesh.creation.box((300, 400, 500)), part__depth="500 mm")
    assert sizes(reading) == (0.4, 0.3, 0.5)
    assert "agrees with the typed sizes" in said(reading, "part.model")[0]


@pytest.mark.parametrize(
    ("text", "expected"), [("-x", (0.5, 0.4, 0.3)), ("y", (0.5, 0.3, 0.4)), ("0, 0, 2", (0.4, 0.3, 0.5))]
)
def test_a_chosen_draw_is_the_draw(tmp_path, text, expected):
    reading = model(tmp_path, trimesh.creation.box((300, 400, 500)), part__model_draw=text)
    assert sizes(reading) == expected
    assert "as confirmed" in said(reading, "part.model")[0]


@pytest.mark.parametrize(
    "text", ["0 0 0", "up", "+w", "1 2", "1 2 3 4", "nan 0 1", "1e9 0 1", "0 0 0.0000001", "++x", 3]
)
def test_a_draw_without_direction_is_an_error_at_the_draw(tmp_path, text):
    found = wrong(tmp_path, BOX, part__model_draw=text)
    assert list(found) == ["part.model_draw"]
    assert "an axis of the file such as +z or -x, or three numbers" in found["part.model_draw"]


@pytest.mark.parametrize(("key", "value"), [("unit", "mm"), ("body", 1), ("draw", "+z")])
def test_what_is_said_of_a_model_needs_a_model(key, value):
    with pytest.raises(InputErrors) as refused:
        read(changed(**{f"part__model_{key}": value}), None)
    assert [error.message for error in refused.value.errors] == [
        f"part.model_{key}: got {json.dumps(value)}; accepted is nothing, since no model is given in part.model"
    ]


@pytest.mark.parametrize("unit", ["cm", "inch", 1])
def test_an_unknown_unit_names_those_that_are_known(tmp_path, unit):
    assert "one of mm, in, m" in wrong(tmp_path, BOX, part__model_unit=unit)["part.model_unit"]


# --- typed sizes


def test_a_typed_size_within_one_percent_agrees_and_is_replaced(tmp_path):
    assert model(tmp_path, BOX, part__length="605 mm").request.part.length == 0.6


def test_a_typed_size_more_than_one_percent_off_is_an_error_at_that_field(tmp_path):
    for field, size in (("part__length", "607 mm"), ("part__width", "390 mm"), ("part__depth", "82 mm")):
        assert list(wrong(tmp_path, BOX, **{field: size})) == [field.replace("__", ".")]


def test_length_and_width_may_be_typed_the_other_way_round(tmp_path):
    reading = model(tmp_path, BOX, part__length="400 mm", part__width="600 mm", part__depth="80 mm")
    assert sizes(reading) == (0.6, 0.4, 0.08)
    found = wrong(tmp_path, BOX, part__length="400 mm", part__width="607 mm", part__depth="80 mm")
    assert "(600 mm)" in found["part.width"]


# --- the same part in another place, and in another format

FIELDS = ("length", "width", "depth", "surface_area", "trim_length", "undercut_depth", "draft_angle")


def test_turning_and_moving_the_file_changes_no_measure_by_more_than_a_thousandth(tmp_path):
    for shape in (shapes.beaded(), shapes.tray(), shapes.bowl(0.2), shapes.rounded_trough(0.02)):
        straight, turned = (model(tmp_path, in_mm(one)).request.part for one in (shape, shapes.turned(shape)))
        for field in FIELDS:
            assert getattr(turned, field) == pytest.approx(getattr(straight, field), rel=1e-3, abs=1e-5), field
        assert turned.openings == straight.openings
        if straight.smallest_radius is not None:
            assert turned.smallest_radius == pytest.approx(straight.smallest_radius, rel=1e-3)


def test_one_part_as_step_and_as_stl_differs_by_less_than_half_a_percent(tmp_path):
    step = model(tmp_path, step_box(600, 400, 80).encode(), "part.step").request.part
    stl = model(tmp_path, BOX).request.part
    for field in FIELDS:
        assert getattr(stl, field) == pytest.approx(getattr(step, field), rel=5e-3, abs=1e-6), field


def test_faces_wound_inside_out_change_nothing(tmp_path):
    part = model(tmp_path, in_mm(shapes.inside_out(shapes.tray()))).request.part
    assert part == model(tmp_path, in_mm(shapes.tray())).request.part


def test_a_surface_that_is_not_closed_is_measured_and_doubted(tmp_path):
    torn = BOX.copy()
    torn.update_faces(np.arange(12) != 3)
    assert "the surface is not closed" in doubted(model(tmp_path, torn))


def test_a_wall_with_a_hole_in_it_is_refused_and_not_measured_twice(tmp_path):
    tray = in_mm(shapes.tray())
    holed = trimesh.Trimesh(tray.vertices, tray.faces[:-2], process=False)
    assert "both skins and a hole" in wrong(tmp_path, holed)["part.model"]


def test_one_skin_with_a_hole_in_it_is_measured_with_a_warning(tmp_path):
    skin = in_mm(shapes.tray_skin())
    holed = trimesh.Trimesh(skin.vertices, skin.faces[:-1], process=False)
    reading = model(tmp_path, holed, part__model_draw="+z")
    assert sizes(reading) == (0.6, 0.4, 0.08)
    assert "open" in doubted(reading)
