"""Good model files: told apart by what they hold, in metres, with their unit known or asked for."""

import numpy as np
import pytest

from quoting.geometry.files.reading import read_bodies
from tests.quoting.geometry import files
from tests.quoting.intake.step_box import INCH, step_box

METRE = ("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.))",)
FILES = {
    "stl": files.stl(files.box()), "stl_text": files.stl_text(files.box()), "obj": files.obj(files.box()),
    "3mf": files.three_mf_box(), "step": step_box(*files.SIZE).encode(),
}  # fmt: skip


def read(tmp_path, data: bytes, unit=None, name="part.dat"):
    (tmp_path / name).write_bytes(data)
    return read_bodies(tmp_path / name, unit)


def extents(bodies, number=0):
    return np.ptp(bodies.bodies[number].vertices, axis=0)


# By hand: box 600 x 400 x 80 mm: 2 (0.24 + 0.048 + 0.032) = 0.64 m2, 0.0192 m3.
@pytest.mark.parametrize("kind", FILES)
def test_the_same_box_comes_out_alike_from_every_format(tmp_path, kind):
    found = read(tmp_path, FILES[kind])
    assert found.kind == kind.removesuffix("_text")
    assert extents(found) == pytest.approx((0.6, 0.4, 0.08), rel=1e-6)
    assert found.bodies[0].areas.sum() == pytest.approx(0.64, rel=1e-6)
    assert found.bodies[0].mesh.volume == pytest.approx(0.0192, rel=1e-6)
    assert found.closed == (True,)


@pytest.mark.parametrize("kind", FILES)
def test_the_name_of_a_file_says_nothing_about_its_kind(tmp_path, kind):
    found = read(tmp_path, FILES[kind], name="../part.png".replace("../", "..%2f"))
    assert found.kind == kind.removesuffix("_text")


@pytest.mark.parametrize("kind", ["step", "3mf"])
def test_step_and_3mf_know_their_unit(tmp_path, kind):
    found = read(tmp_path, FILES[kind])
    assert (found.unit_known, found.suggested_unit, found.scale, found.warnings) == (True, None, 0.001, ())


# International inch: 0.0254 m exactly.
def test_a_step_file_in_inches_or_metres_is_scaled_by_its_own_unit(tmp_path):
    inches = read(tmp_path, step_box(40, 28, 8, INCH).encode())
    assert (inches.scale, inches.unit_known) == (0.0254, True)
    assert extents(inches) == pytest.approx((1.016, 0.7112, 0.2032), rel=1e-6)
    metres = read(tmp_path, step_box(0.6, 0.4, 0.08, METRE).encode())
    assert (metres.scale, metres.unit_known) == (1.0, True)
    assert extents(metres) == pytest.approx((0.6, 0.4, 0.08), rel=1e-6)


@pytest.mark.parametrize(
    ("unit", "scale"), [("micron", 1e-6), ("centimeter", 0.01), ("inch", 0.0254), ("foot", 0.3048), ("meter", 1.0)]
)
def test_the_unit_of_a_3mf_is_read(tmp_path, unit, scale):
    size = tuple(0.001 * side / scale for side in files.SIZE)
    found = read(tmp_path, files.three_mf_box(size, f' unit="{unit}"'))
    assert found.scale == scale
    assert extents(found) == pytest.approx((0.6, 0.4, 0.08))


def test_a_3mf_without_unit_is_in_millimetres(tmp_path):
    assert read(tmp_path, files.three_mf_box(unit="")).scale == 0.001


@pytest.mark.parametrize(
    ("size", "unit", "scale"),
    [((600, 400, 80), "mm", 0.001), ((40, 28, 8), "in", 0.0254), ((1.2, 0.8, 0.1), "m", 1.0)],
)
def test_an_stl_gets_the_unit_that_makes_it_a_part_and_asks(tmp_path, size, unit, scale):
    found = read(tmp_path, files.stl(files.box(size)))
    assert (found.unit_known, found.suggested_unit, found.scale) == (False, unit, scale)
    assert "does not say its unit" in found.warnings[0]
    assert "confirm the unit" in found.warnings[0]


def test_a_confirmed_unit_goes_before_everything(tmp_path):
    found = read(tmp_path, FILES["stl"], unit=0.0254)
    assert (found.unit_known, found.scale) == (True, 0.0254)
    assert extents(found)[0] == pytest.approx(600 * 0.0254)
    assert "15.2 m long in the unit that was given: it may have been drawn in millimetres" in found.warnings[0]
    assert extents(read(tmp_path, FILES["step"], unit=0.0254))[0] == pytest.approx(600 * 0.0254)


def test_a_tray_of_one_millimetre_is_doubted_though_its_unit_is_known(tmp_path):
    found = read(tmp_path, step_box(1.2, 0.8, 0.1).encode())
    assert extents(found)[0] == pytest.approx(0.0012, rel=1e-6)
    assert (found.unit_known, found.suggested_unit) == (False, "m")
    assert found.warnings == (
        "the model is only 1.2 mm long in the unit that was given: it may have been drawn in metres; confirm the unit",
    )


def test_a_step_file_without_unit_asks_for_it(tmp_path):
    text = step_box(600, 400, 80)
    without = text.replace("GLOBAL_UNIT_ASSIGNED_CONTEXT((#1,", "GLOBAL_UNIT_ASSIGNED_CONTEXT((")
    assert without != text
    found = read(tmp_path, without.encode())
    assert (found.unit_known, found.suggested_unit) == (False, "mm")
    assert "does not say its unit" in found.warnings[0]


# Area of a cylinder, closed form: 2 pi r (r + h).
def test_curved_faces_of_an_obj_of_quads_come_within_a_tenth_of_a_percent(tmp_path):
    turn = np.linspace(0, 2 * np.pi, 96, endpoint=False)
    rings = [f"v {200 * np.cos(a)!r} {200 * np.sin(a)!r} {z}" for z in (0.0, 50.0) for a in turn.tolist()]
    sides = [f"f {i + 1} {(i + 1) % 96 + 1}/1/1 {(i + 1) % 96 + 97}//2 {i + 97}" for i in range(96)]
    caps = ["f " + " ".join(str(i) for i in range(96, 0, -1)), "f " + " ".join(str(i - 96) for i in range(96))]
    text = "mtllib ../../etc/passwd\n" + "\n".join([*rings, *sides, *caps]).replace("np.float64", "")
    found = read(tmp_path, text.replace("(", "").replace(")", "").encode())
    assert found.bodies[0].areas.sum() == pytest.approx(2 * np.pi * 0.2 * (0.2 + 0.05), rel=1e-3)
    assert found.closed == (True,)


def test_a_dented_polygon_in_an_obj_is_told(tmp_path):
    flat = b"v 0 0 0\nv 400 0 0\nv 400 400 0\nv 200 100 0\nv 0 400 0\nf 1 2 3 4 5\n"
    assert any("1 face has a dent" in warning for warning in read(tmp_path, flat).warnings)


def test_a_part_placed_twice_in_a_3mf_is_two_bodies(tmp_path):
    parts = f'<object id="1">{files.mesh_xml(files.box())}</object><object id="2"><components>'
    parts += (
        '<component objectid="1"/><component objectid="1" transform="1 0 0 0 1 0 0 0 1 0 900 0"/></components></object>'
    )
    found = read(tmp_path, files.three_mf(files.model_xml(parts, '<item objectid="2"/>')))
    assert len(found.bodies) == 2
    assert found.bodies[1].vertices[:, 1].mean() - found.bodies[0].vertices[:, 1].mean() == pytest.approx(0.9)


def test_three_solids_of_a_step_file_are_three_bodies(tmp_path):
    found = read(tmp_path, files.step_boxes(3))
    assert len(found.bodies) == 3
    assert [body.areas.sum() for body in found.bodies] == pytest.approx([0.64] * 3, rel=1e-6)
    assert len(found.bodies) == 3


# Schema names of AP203, AP203 second edition, AP214 and AP242 as they stand in FILE_SCHEMA; from memory, unverified.
@pytest.mark.parametrize(
    "schema",
    ["CONFIG_CONTROL_DESIGN", "AP203_CONFIGURATION_CONTROLLED_3D_DESIGN_OF_MECHANICAL_PARTS_AND_ASSEMBLIES_MIM_LF",
     "AUTOMOTIVE_DESIGN", "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF"],
)  # fmt: skip
def test_a_box_is_read_under_each_schema_of_step(tmp_path, schema):
    text = step_box(600, 400, 80).replace("AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 }", schema)
    assert f"'{schema}'" in text
    assert extents(read(tmp_path, text.encode())) == pytest.approx((0.6, 0.4, 0.08), rel=1e-6)


def test_what_only_supports_printing_is_left_out_of_a_3mf(tmp_path):
    part, support = files.mesh_xml(files.box()), files.mesh_xml(files.box((50, 50, 50), (900, 0, 0)))
    parts = f'<object id="1">{part}</object><object id="2" type="support">{support}</object>'
    build = '<item objectid="1"/><item objectid="2"/>'
    found = read(tmp_path, files.three_mf(files.model_xml(parts, build)))
    assert len(found.bodies) == 1
    assert found.warnings == ("1 object for printing support left out",)
