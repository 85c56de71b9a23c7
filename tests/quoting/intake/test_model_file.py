"""CAD files are measured in a child process, and never believed blindly."""

import subprocess
import sys

import pytest
import trimesh

from quoting.intake import model_file
from tests.quoting.intake.sample import changed, read, wrong_fields
from tests.quoting.intake.step_box import INCH as INCHES
from tests.quoting.intake.step_box import step_box

INCH = 0.0254  # m, exact: international inch
NO_SIZES = {"part__length": None, "part__width": None, "part__depth": None}


def test_an_stl_file_is_measured(tmp_path):
    trimesh.creation.box((600, 400, 80)).export(tmp_path / "part.stl")
    part = read(changed(part__model="part.stl", **NO_SIZES), tmp_path).request.part
    assert (part.length, part.width, part.depth) == (0.6, 0.4, 0.08)


@pytest.mark.parametrize(("text", "scale"), [(step_box(600, 400, 80), 0.001), (step_box(40, 28, 8, INCHES), INCH)])
def test_a_step_file_brings_its_own_unit(tmp_path, text, scale):
    (tmp_path / "part.step").write_text(text)
    part = read(changed(part__model="part.step", **NO_SIZES), tmp_path).request.part
    length = 600 if scale == 0.001 else 40
    assert part.length == pytest.approx(length * scale, abs=1e-6)


def test_without_a_folder_a_model_is_refused():
    assert wrong_fields(changed(part__model="part.stl")) == ["part.model"]


@pytest.mark.parametrize(
    "name", ["../part.stl", "/etc/passwd", "a/../../part.stl", "missing.stl", "part.obj", "part.stl\x00",
             "x" * 299 + ".stl",
             ".", "..", "link.stl", "folder.stl", "empty.stl"],
)  # fmt: skip
def test_only_a_model_file_inside_the_folder_is_opened(tmp_path, name, monkeypatch):
    folder = tmp_path / "inquiry"
    (folder / "folder.stl").mkdir(parents=True)
    (folder / "empty.stl").touch()
    trimesh.creation.box((600, 400, 80)).export(tmp_path / "part.stl")
    (folder / "link.stl").symlink_to(tmp_path / "part.stl")
    monkeypatch.setattr(model_file.subprocess, "run", lambda *_, **__: pytest.fail("opened"))
    assert wrong_fields(changed(part__model=name), folder) == ["part.model"]


GARBAGE = {
    "random.stl": b"\x00\x01\x02garbage" * 50, "words.stl": b"solid nothing here at all\nendsolid\n",
    "short.stl": b"\x00" * 40,
    "none.stl": b"\x00" * 84, "lying.stl": b"\x00" * 80 + (10**9).to_bytes(4, "little") + b"\x00" * 50,
    "flat.stl": b"\x00" * 80 + (1).to_bytes(4, "little") + b"\x00" * 50, "garbage.step": b"hello" * 100,
    "head.step": b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n",
    "nan.stl": b"\x00" * 80 + (2).to_bytes(4, "little") + b"\xff" * 100,
}  # fmt: skip


@pytest.mark.parametrize("name", GARBAGE)
def test_garbage_is_an_error_at_the_model(tmp_path, name):
    (tmp_path / name).write_bytes(GARBAGE[name])
    assert wrong_fields(changed(part__model=name, **NO_SIZES), tmp_path) == ["part.model"]


def test_too_large_a_file_is_refused_unopened(tmp_path, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    monkeypatch.setattr(model_file, "LARGEST_FILE", 4)
    assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]


@pytest.mark.parametrize("printed", [b"", b"[]", b"{}", b"nonsense", b'{"kind": "stl", "extents": [NaN]}', b"\xff"])
def test_what_the_child_prints_is_not_believed(tmp_path, printed, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    done = subprocess.CompletedProcess([], 0, stdout=printed, stderr=b"")
    monkeypatch.setattr(model_file.subprocess, "run", lambda *_, **__: done)
    assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]


def test_a_child_that_dies_or_hangs_is_an_error_at_the_model(tmp_path, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    real = subprocess.run
    for script in ("import os; os.abort()", "import time; time.sleep(60)"):
        monkeypatch.setattr(model_file, "PATIENCE", 2.0)
        monkeypatch.setattr(
            model_file.subprocess, "run", lambda _, s=script, **options: real([sys.executable, "-c", s], **options)
        )
        assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]


def test_the_child_has_limits_on_memory_and_processor_time():
    script = (
        "from quoting.intake.measuring import set_limits; set_limits(); import resource as r;"
        "print(r.getrlimit(r.RLIMIT_AS)[0], r.getrlimit(r.RLIMIT_CPU)[0])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, cwd=model_file.REPOSITORY, check=True)
    assert done.stdout.split() == [b"2147483648", b"60"]


def test_sizes_of_a_model_outside_the_range_are_an_error(tmp_path):
    trimesh.creation.box((60000, 400, 80)).export(tmp_path / "part.stl")
    assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]
