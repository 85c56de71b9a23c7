"""The mesh turned in a browser: read back by a mesh library, true to the part, coloured as the pictures are."""

import json
import subprocess
import sys
from io import BytesIO

import numpy as np
import pytest
import trimesh

from quoting.geometry import hooks
from quoting.geometry.pictures.colour_map import FLAG, NO_VALUE, ColourMap
from quoting.geometry.pictures.turning import MOST, Map, NotLightError, lightened, nearest_faces, turning
from quoting.geometry.surface import Surface
from tests.quoting.geometry import files, shapes

UP = np.array([0.0, 0.0, 1.0])


def read(content: bytes) -> dict:
    """Shapes by name, as a general mesh library reads the file."""
    return trimesh.load(BytesIO(content), file_type="glb", process=False).geometry


def extras(content: bytes) -> dict:
    length = int.from_bytes(content[12:16], "little")
    return json.loads(content[20 : 20 + length])["scenes"][0]["extras"]


def lines_of(content: bytes) -> np.ndarray:
    """Both ends of each line of the first shape (k, 2, 3); the library reads lines as one polyline, in any case."""
    length = int.from_bytes(content[12:16], "little")
    document, start = json.loads(content[20 : 20 + length]), 28 + length
    faces, lines = document["meshes"][0]["primitives"]
    assert (faces["mode"], lines["mode"]) == (4, 1)

    def array(number: int, kind: str) -> np.ndarray:
        view = document["bufferViews"][document["accessors"][number]["bufferView"]]
        return np.frombuffer(content, kind, view["byteLength"] // 4, start + view["byteOffset"])

    places = array(lines["attributes"]["POSITION"], "<f4").reshape(-1, 3)
    return places[array(lines["indices"], "<u4").reshape(-1, 2)]


def draft_map(surface: Surface, values: np.ndarray, flagged: np.ndarray | None = None) -> Map:
    return Map(surface, ColourMap(values, "Draft [deg]", 0.0, 10.0, 10, False, flagged, "undercut"))


def hooked(surface: Surface, *names: str) -> hooks.Work:
    work = hooks.Work(surface, {"size": (64, 64), "draw": (0, 0, 1)}, (0.0, 0.0, 1.0))
    for name in names:
        hooks.HOOKS[name](work)
    return work


def test_a_box_is_read_back_with_its_sizes_the_draw_upright_and_the_longer_side_across():
    for size in ((0.6, 0.4, 0.08), (0.4, 0.6, 0.08)):
        part = read(turning(shapes.box(*size), UP, None, None))["part"]
        # glTF 2.0: right-handed, +Y up, metres; from memory, unverified. The sizes are those of the box.
        assert part.extents == pytest.approx([0.6, 0.08, 0.4])
        assert part.volume == pytest.approx(0.6 * 0.4 * 0.08)
        assert np.einsum("ij,ij->i", part.face_normals, part.vertex_normals[part.faces[:, 0]]) == pytest.approx(1.0)


def test_the_draw_points_up_whichever_way_the_part_lies_in_its_file():
    lying = shapes.turned(shapes.frustum(0.1, 0.2, 0.15))
    part = read(turning(lying, shapes.TURN @ UP, None, None))["part"]
    low, high = part.bounds[:, 1]
    wide = [np.ptp(part.vertices[np.abs(part.vertices[:, 1] - level) < 1e-6], axis=0).max() for level in (low, high)]
    assert high - low == pytest.approx(0.15)
    assert wide == pytest.approx([0.2, 0.4], rel=1e-3)


def test_the_twelve_edges_of_a_box_are_lines_and_the_diagonals_of_its_faces_are_not():
    ends = lines_of(turning(shapes.box(), UP, None, None))
    # A box has 12 edges, 4 of each length.
    assert len(ends) == 12
    assert np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum() == pytest.approx(4 * (0.6 + 0.4 + 0.08))


def test_a_part_of_half_a_million_triangles_is_thinned_and_stays_on_its_ball():
    bowl = shapes.bowl(steps=251)
    content = turning(bowl, UP, None, None)
    part = read(content)["part"]
    assert len(bowl.faces) > 500_000 and len(part.faces) <= MOST
    assert len(content) < 2_500_000
    centre = np.array([part.bounds[:, 0].mean(), part.bounds[1, 1], part.bounds[:, 2].mean()])
    away = np.linalg.norm(part.vertices - centre, axis=1)
    # Every corner of a hollow half ball lies on the outer radius of 300 mm or on the inner one of 297 mm.
    assert np.minimum(np.abs(away - 0.3), np.abs(away - 0.297)).max() < 1.5e-4
    # Two half balls and the ring between them.
    assert part.area == pytest.approx(2 * np.pi * (0.3**2 + 0.297**2) + np.pi * (0.3**2 - 0.297**2), rel=2e-3)


def test_a_part_that_is_light_already_keeps_every_triangle():
    bowl = shapes.bowl(steps=40)
    assert lightened(bowl) is bowl
    assert len(read(turning(bowl, UP, None, None))["part"].faces) == len(bowl.faces)


def test_a_thinned_face_takes_its_value_from_its_own_side_of_a_thin_wall():
    bowl = shapes.bowl(wall=0.001, steps=150)
    light = lightened(bowl, 5_000)
    outward = np.einsum("ij,ij->i", bowl.normals, bowl.centres) > 0
    mid = np.abs(light.normals[:, 2]) < 0.9
    lies_outside = np.einsum("ij,ij->i", light.normals, light.centres) > 0
    assert len(light.faces) <= 5_000
    assert (outward[nearest_faces(bowl, light)] == lies_outside)[mid].mean() > 0.999


def test_the_draft_of_a_thinned_ball_is_that_of_the_closed_form():
    ball = shapes.bowl(steps=120)
    steep = np.degrees(np.arcsin(np.clip(np.abs(ball.normals[:, 2]), 0, 1)))
    part = read(turning(ball, UP, draft_map(ball, steep), None))["part"]
    shown = part.vertex_attributes["_VALUE"][part.faces].ravel()[::3]
    # The draft of a ball at a height h below its rim is asin(h / radius).
    height = (part.bounds[1, 1] - part.triangles_center[:, 1]) / 0.3
    expected = np.clip(np.floor(np.degrees(np.arcsin(np.clip(height, 0, 1)))), 0, 9)
    on_skin = np.abs(part.face_normals[:, 1]) < 0.5
    assert np.abs(shown * 10 - 0.5 - expected)[on_skin].max() <= 1.01
    assert len(part.faces) <= MOST < len(ball.faces)


def test_the_layers_after_the_hooks_are_the_maps_of_the_pictures():
    work = hooked(shapes.beaded(), "moldability", "membrane", "turning")
    content = work.meshes["turning"]
    shown, (_, wall) = read(content), work.maps["wall"]
    layers = {layer["name"]: layer for layer in extras(content)["layers"]}
    assert [layer["shape"] for layer in layers.values()] == [0, 0, 0, 1]
    assert layers["Draft"]["bands"] == np.round(work.maps["draft_above"][1].colours[:-1]).tolist()
    assert layers["Wall"]["bands"] == np.round(wall.colours[:-1]).tolist()
    assert {"colour": list(FLAG), "label": "undercut", "hatched": True} in layers["Undercuts"]["legend"]
    surface, colours = work.maps["draft_above"]
    part = shown["part"]
    flagged = part.vertex_attributes["_FLAG"][part.faces].ravel()[::3] > 0.5
    assert part.area_faces[flagged].sum() == pytest.approx(surface.areas[colours.flagged].sum(), rel=1e-5)
    assert 0 < flagged.mean() < 0.5


def test_a_legend_names_the_limits_of_each_band_and_what_lies_beyond():
    box = shapes.box()
    values = np.linspace(-5, 20, len(box.faces))
    values[3] = np.nan
    legend = extras(turning(box, UP, draft_map(box, values), None))["layers"][1]["legend"]
    assert [entry["label"] for entry in legend] == [
        "up to 1", *(f"{n} to {n + 1}" for n in range(1, 9)), "9 and more", "no value",
    ]  # fmt: skip
    assert legend[-1]["colour"] == list(NO_VALUE)


def test_the_web_of_the_sheet_and_a_place_without_value_have_no_share_of_the_scale():
    box = shapes.box()
    values, empty = box.vertices[:, 0] + 0.3, np.zeros(len(box.faces), bool)
    empty[:2] = True
    wall = ColourMap(100 * values / 0.6, "Wall [% of gauge]", 0.0, 100.0, 10, empty=empty, empty_name="web")
    sheet = read(turning(box, UP, None, Map(box, wall)))["sheet"]
    share = sheet.vertex_attributes["_VALUE"][sheet.faces].reshape(len(sheet.faces), 3)
    assert (share[:2] == -1).all()
    assert share[2:].min() == pytest.approx(0) and share[2:].max() == pytest.approx(1)
    assert share[2:].ravel() == pytest.approx(sheet.vertices[sheet.faces[2:], 0].ravel() / 0.6 + 0.5, abs=1e-6)


def test_without_undercuts_the_view_says_so():
    box = shapes.box()
    found = extras(turning(box, UP, draft_map(box, np.zeros(12), np.zeros(12, bool)), None))["layers"]
    assert found[2]["note"] == "No undercut was found." and not found[2]["hatched"]


def test_a_tangle_that_cannot_be_thinned_is_refused_in_words():
    chance = np.random.default_rng(1)
    tangle = Surface(chance.random((1000, 3)), chance.integers(0, 1000, (60_000, 3)))
    with pytest.raises(NotLightError, match="cannot be shown in 40000 triangles"):
        turning(tangle, UP, None, None)


def test_the_same_part_gives_the_same_bytes():
    bowl = shapes.bowl(steps=90)
    assert len(bowl.faces) > MOST
    assert turning(bowl, UP, None, None) == turning(bowl, UP, None, None)


def test_the_child_writes_the_mesh_under_a_name_of_our_own_and_nowhere_else(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "part.stl").write_bytes(files.stl(files.box()))
    options = json.dumps({"unit": 0.001, "hooks": ["turning"], "directory": str(tmp_path / "out")})
    done = subprocess.run(
        [sys.executable, "-m", "quoting.geometry.job", str(tmp_path / "part.stl")], input=options.encode(),
        capture_output=True, check=True, timeout=60,
    )  # fmt: skip
    found = json.loads(done.stdout)
    assert (found["meshes"], found["failed"]) == ({"turning": "turning.glb"}, {})
    (file,) = (tmp_path / "out").iterdir()
    assert read(file.read_bytes())["part"].extents == pytest.approx([0.6, 0.08, 0.4], rel=1e-6)
