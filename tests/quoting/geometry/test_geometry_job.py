"""The child process: limits first, one JSON out, and every hook fails for itself."""

import base64
import json
import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from quoting.geometry import hooks, job
from quoting.geometry.sheet import membrane
from quoting.geometry.told_progress import PROGRESS_FILE
from tests.quoting.geometry import files
from tests.quoting.intake.step_box import step_box

REPOSITORY = Path(__file__).resolve().parents[3]


@pytest.fixture
def part(tmp_path):
    path = tmp_path / "part.step"
    path.write_text(step_box(600, 400, 80))
    return path


def child(path: Path, options: bytes = b"{}", **more) -> subprocess.CompletedProcess:
    command = [sys.executable, "-m", "quoting.geometry.job", str(path)]
    return subprocess.run(
        command, input=options, cwd=REPOSITORY, capture_output=True, timeout=60, env={"PATH": os.defpath}, **more
    )


def answered(path: Path, **options) -> dict:
    return json.loads(json.dumps(job.answer(path, json.dumps(options).encode()), allow_nan=False))


def test_the_child_prints_one_json_though_libraries_print_too(tmp_path, part):
    found = json.loads(child(part).stdout)
    assert found["kind"] == "step"
    assert found["bodies"][0]["extents"] == pytest.approx([0.6, 0.4, 0.08], rel=1e-6)
    assert found["bodies"][0]["volume"] == pytest.approx(0.0192, rel=1e-6)
    bad = tmp_path / "bad.step"
    bad.write_bytes(b"ISO-10303-21;\nHEADER;\n((((;\nENDSEC;\nEND-ISO-10303-21;\n")
    done = child(bad)
    assert "no solid or surface" in json.loads(done.stdout)["refused"]
    assert done.returncode == 0


def test_the_child_writes_pictures_into_the_folder_given_and_nowhere_else(tmp_path, part):
    (tmp_path / "out").mkdir()
    options = {"hooks": ["shown"], "directory": str(tmp_path / "out"), "size": [300, 200]}
    found = json.loads(child(part, json.dumps(options).encode()).stdout)
    assert sorted(found["pictures"].values()) == ["shaded_above.png", "shaded_below.png", "shaded_draw.png"]
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == sorted(found["pictures"].values())


def test_without_a_folder_pictures_are_printed(part):
    found = answered(part, hooks=["shown"], size=[300, 200])
    assert base64.b64decode(found["pictures"]["shaded_above"]).startswith(b"\x89PNG")


def test_limits_stand_before_any_library_is_loaded():
    script = (
        "import sys; from quoting.geometry import job; job.set_limits(); import resource as r;"
        "print([r.getrlimit(x)[0] for x in (r.RLIMIT_AS, r.RLIMIT_CPU, r.RLIMIT_CORE, r.RLIMIT_FSIZE)],"
        "{'numpy', 'trimesh', 'cascadio', 'PIL'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=REPOSITORY, check=True)
    assert done.stdout.strip() == "[2147483648, 120, 0, 67108864] set()"


def test_a_model_that_needs_too_much_memory_is_refused_in_words(part, monkeypatch):
    monkeypatch.setattr(job, "run", lambda *_: np.zeros(10**15))
    assert job.answer(part, b"{}") == {"refused": "the model needs more memory than is allowed"}


@pytest.mark.parametrize("text", [b"[]", b"nonsense", b'{"unit": "mm"}', b'{"draw": [0, 0, 0]}', b'{"draw": 3}',
                                  b'{"body": 7}', b'{"body": -1}', b'{"unit": NaN}', b"\xff", b"[" * 60000,
                                  b'{"a":"' + b"x" * 70000 + b'"}'])  # fmt: skip
def test_senseless_options_are_refused(part, text):
    assert "refused" in job.answer(part, text)


def test_the_body_asked_for_is_looked_at(tmp_path):
    path = tmp_path / "two.stl"
    path.write_bytes(files.stl(files.joined(files.box(), files.box((100, 100, 50), (900, 0, 0)))))
    found = answered(path, body=1, unit=0.001)
    assert (len(found["bodies"]), found["body"], found["warnings"]) == (2, 1, [])
    assert answered(path, body=2) == {"refused": "the file has no body 3: it has 2", "about": "body"}
    assert "2 separate bodies and the largest is taken" in answered(path, unit=0.001)["warnings"][0]


@pytest.mark.parametrize(
    ("name", "length", "unit"), [("a.stl", 0.1, "mm"), ("a.stl", 2.54, "in"), ("a.stl", 100.0, "m")]
)
def test_typed_sizes_settle_the_unit_that_a_file_leaves_open(tmp_path, name, length, unit):
    # A box of 100 file units: 0.1 m, 2.54 m (an inch is 25.4 mm) or 100 m.
    (tmp_path / name).write_bytes(files.stl(files.box((100, 70, 20))))
    found = answered(tmp_path / name, sizes={"length": length, "within": 0.01}, hooks=["draw", "measures"])
    assert (found["suggested_unit"], found["unit_known"], found["unit_stated"]) == (unit, False, False)
    assert found["found"]["measures"]["length"] == pytest.approx(length, rel=1e-6)
    assert found["found"]["draw"]["draws"][0]["depth"] == pytest.approx(length / 5, rel=1e-5)
    assert found["bodies"][0]["extents"][0] == pytest.approx(length, rel=1e-6)
    assert found["warnings"][0].count("confirm the unit") == 1


def test_typed_sizes_do_not_settle_a_unit_that_the_file_states(part):
    found = answered(part, sizes={"length": 15.24, "within": 0.01}, hooks=["draw", "measures"])
    assert found["found"]["measures"]["length"] == pytest.approx(0.6, rel=1e-6)


def test_too_many_faces_for_a_look_at_the_draft_cost_only_that(part, monkeypatch):
    monkeypatch.setattr(hooks, "MOST_MOLDED", 5)
    found = answered(part, hooks=["draw", "measures", "moldability"])
    assert set(found["found"]) == {"draw", "measures"}
    assert found["failed"]["moldability"].startswith("the model has 12 faces, and draft, undercuts and")


def test_a_picture_along_each_draw_that_was_found_stands_to_choose_from(part):
    found = answered(part, hooks=["draw", "shown"])
    draws = found["found"]["draw"]["draws"]
    assert [name for name in found["pictures"] if name.startswith("draw_")] == [
        f"draw_{number}" for number in range(1, len(draws) + 1)
    ]


def test_hooks_run_in_their_order_and_one_that_fails_costs_only_itself(part, monkeypatch):
    def bad(work):
        raise ZeroDivisionError("float division by zero")

    def draw(work):
        work.draw = (1.0, 0.0, 0.0)
        return {"angle": hooks.plain(np.float64("nan"))}

    def absent(work):
        raise ModuleNotFoundError

    monkeypatch.setattr(
        hooks, "HOOKS", {"draw": draw, "bad": bad, "absent": absent, "last": lambda w: {"x": w.draw[0]}}
    )
    found = answered(part, hooks=["last", "bad", "draw", "absent", "unknown"])
    assert found["found"] == {"draw": {"angle": None}, "last": {"x": 1.0}}
    assert found["failed"]["absent"] == "not available"
    assert "ZeroDivisionError" in found["failed"]["bad"]
    assert found["draw"] == [1.0, 0.0, 0.0]


ROUGH = membrane.Resolution(nodes=24, cells=240, steps=30, relaxing=120, faces=4_000)


@pytest.fixture
def rough(monkeypatch):
    monkeypatch.setattr(membrane, "COARSE", ROUGH)
    monkeypatch.setattr(membrane, "FINE", ROUGH)


def test_the_sheet_is_formed_in_the_way_that_is_asked_for_and_the_map_says_so(part, rough):
    way = {"web": 0.05, "plug": True, "along": 2, "across": 1, "process": "vacuum"}
    with_plug, without = (
        answered(part, hooks=["membrane"], tool="female", size=[300, 200], way=one)["found"]["membrane"]
        for one in (way, way | {"plug": False})
    )
    assert (with_plug["way"], with_plug["tool"]) == (way, "female")
    assert with_plug["fifth_percentile"] != without["fifth_percentile"]
    # the sheet of the web lies on the rim: what is drawn in is the footprint of the part, 0.6 x 0.4 over its surface
    assert without["mean"] == pytest.approx(0.24 / (0.24 + 2 * 0.08 * (0.6 + 0.4)), rel=0.05)


def test_corners_and_pockets_have_a_picture_of_their_own(part):
    found = answered(part, hooks=["moldability"], tool="female", size=[300, 200])
    picture = Image.open(BytesIO(base64.b64decode(found["pictures"]["places"]))).convert("RGB")
    colours = {colour for _, colour in picture.getcolors(60_000)}
    assert any(red > 200 and green < 110 and blue < 80 for red, green, blue in colours)  # the edges of the box
    assert any(blue > 130 and red < 70 for red, green, blue in colours)  # the circle in its opening


def test_the_map_alone_may_be_formed_over_the_other_tool(part, rough):
    way = {"tool": "male", "pre_stretch": 1.3, "plug": True}  # a plug has no place over a male tool and is let go
    found = answered(part, hooks=["moldability", "membrane"], tool="female", size=[300, 200], way=way)
    assert (found["tool"], found["found"]["moldability"]["tool"]) == ("female", "female")
    assert (found["found"]["membrane"]["tool"], found["failed"]) == ("male", {})


def test_the_fine_map_tells_how_far_it_is_in_the_folder_of_the_pictures(tmp_path, part, rough):
    found = answered(part, hooks=["fine"], tool="female", size=[300, 200], directory=str(tmp_path))
    assert found["pictures"] == {"wall_fine": "wall_fine.png"}
    assert 0 < found["found"]["fine"]["minimum"] < found["found"]["fine"]["fifth_percentile"] < 1
    told = json.loads((tmp_path / PROGRESS_FILE).read_text())
    assert 0 <= told["share"] <= 1
    assert told["step"] >= 1


def test_the_time_that_a_work_may_take_is_given_by_who_starts_it(part):
    start = "import sys; from quoting.geometry import job; job.set_limits(77); import resource as r;"
    done = subprocess.run(
        [sys.executable, "-c", start + "print(r.getrlimit(r.RLIMIT_CPU)[0])"], cwd=REPOSITORY, capture_output=True,
        timeout=60, env={"PATH": os.defpath}, check=True,
    )  # fmt: skip
    assert done.stdout.strip() == b"77"


@pytest.mark.parametrize("name", ["empty.stl", "zeros.stl", "png.step", "bomb.3mf"])
def test_hostile_files_leave_the_child_alive_and_plain(tmp_path, name):
    data = {
        "empty.stl": b"", "zeros.stl": bytes(1000), "png.step": b"\x89PNG\r\n\x1a\n",
        "bomb.3mf": files.three_mf("<a/>", {"big": bytes(200_000_000)}),
    }  # fmt: skip
    (tmp_path / name).write_bytes(data[name])
    done = child(tmp_path / name)
    assert done.returncode == 0
    assert "cannot be read (" not in json.loads(done.stdout)["refused"]


def test_the_largest_file_of_triangles_is_read_within_the_memory_allowed(tmp_path):
    count = 1000
    turn, high = np.meshgrid(np.arange(count), np.arange(500), indexing="ij")
    at = np.stack((turn.ravel(), high.ravel(), np.sin(turn.ravel() / 50) * 20), axis=1).reshape(count, 500, 3)
    a, b, c, d = at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]
    corners = np.concatenate(
        (np.stack((a, b, c), axis=2).reshape(-1, 3, 3), np.stack((a, c, d), axis=2).reshape(-1, 3, 3))
    )
    path = tmp_path / "large.stl"
    path.write_bytes(files.stl_of(corners))
    assert path.stat().st_size > 49_000_000
    found = json.loads(child(path, b'{"unit": 0.001}').stdout)
    assert found["bodies"][0]["faces"] == len(corners)
    assert found["failed"] == {}
