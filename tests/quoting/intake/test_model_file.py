"""CAD files are measured in a child process, and never believed blindly: what an answer says to bad ones."""

import os
import subprocess
import sys

import pytest
import trimesh

from quoting.intake import model_file, model_job
from quoting.intake.reading_result import InputErrors
from tests.quoting.geometry import files
from tests.quoting.geometry.test_bad_models import BAD
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
    "name", ["../part.stl", "/etc/passwd", "a/../../part.stl", "missing.stl", "part.ply", "part.stl\x00",
             "x" * 299 + ".stl",
             ".", "..", "link.stl", "folder.stl", "empty.stl"],
)  # fmt: skip
def test_only_a_model_file_inside_the_folder_is_opened(tmp_path, name, monkeypatch):
    folder = tmp_path / "inquiry"
    (folder / "folder.stl").mkdir(parents=True)
    (folder / "empty.stl").touch()
    trimesh.creation.box((600, 400, 80)).export(tmp_path / "part.stl")
    (folder / "link.stl").symlink_to(tmp_path / "part.stl")
    monkeypatch.setattr(model_job.subprocess, "run", lambda *_, **__: pytest.fail("opened"))
    assert wrong_fields(changed(part__model=name), folder) == ["part.model"]


# A metre for a millimetre, zeros that take no room on disk, and every bad file of the geometry's own tests.
NAMES = {"3MF": "3mf", "OBJ": "obj", "STEP": "step"}


def said(folder, **changes) -> list[str]:
    with pytest.raises(InputErrors) as refused:
        read(changed(**NO_SIZES | changes), folder)
    return [error.message for error in refused.value.errors]


@pytest.mark.parametrize("case", [case for case in BAD if case not in ("empty",)])
def test_a_bad_file_is_an_error_at_the_model_in_plain_words(tmp_path, case):
    content, words = BAD[case]
    name = f"part.{NAMES.get(case.split()[0], 'stl')}"
    (tmp_path / name).write_bytes(content)
    if len(content) > model_file.LARGEST_FILE:
        words = "a file of 1 byte to 50 MB"
    (message,) = said(tmp_path, part__model=name)
    assert message.startswith("part.model: got ")
    assert words in message
    assert "Error" not in message


def test_an_empty_file_and_two_gigabytes_of_nothing_are_refused_unopened(tmp_path, monkeypatch):
    monkeypatch.setattr(model_job.subprocess, "run", lambda *_, **__: pytest.fail("opened"))
    for size in (0, 2 * 1024**3):
        (tmp_path / "part.stl").write_bytes(b"")
        os.truncate(tmp_path / "part.stl", size)
        assert "a file of 1 byte to 50 MB" in said(tmp_path, part__model="part.stl")[0]


def test_a_picture_named_as_step_is_called_a_picture(tmp_path):
    (tmp_path / "part.step").write_bytes(BAD["a picture"][0])
    assert "the file is a PNG picture" in said(tmp_path, part__model="part.step")[0]


def test_the_content_not_the_name_says_how_a_file_is_read(tmp_path):
    (tmp_path / "part.step").write_bytes(files.stl(files.box()))
    assert read(changed(part__model="part.step", **NO_SIZES), tmp_path).request.part.length == 0.6


def test_too_large_a_file_is_refused_unopened(tmp_path, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    monkeypatch.setattr(model_file, "LARGEST_FILE", 4)
    assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]


@pytest.mark.parametrize("printed", [b"", b"[]", b"{}", b"nonsense", b'{"kind": "stl", "extents": [NaN]}', b"\xff"])
def test_what_the_child_prints_is_not_believed(tmp_path, printed, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    done = subprocess.CompletedProcess([], 0, stdout=printed, stderr=b"")
    monkeypatch.setattr(model_job.subprocess, "run", lambda *_, **__: done)
    assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]


def test_a_child_that_dies_or_hangs_is_an_error_at_the_model(tmp_path, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    real = subprocess.run
    for script, patience, why in (
        ("import os; os.abort()", 60.0, "broke off"),
        ("import time; time.sleep(60)", 1.0, "took more than"),
    ):

        def instead(_, script=script, patience=patience, **options):
            assert options["timeout"] == model_job.PATIENCE
            return real([sys.executable, "-c", script], **options | {"timeout": patience})

        monkeypatch.setattr(model_job.subprocess, "run", instead)
        (told,) = said(tmp_path, part__model="part.stl", **NO_SIZES)
        assert why in told


def test_sizes_of_a_model_outside_the_range_are_an_error(tmp_path):
    trimesh.creation.box((60000, 400, 80)).export(tmp_path / "part.stl")
    assert wrong_fields(changed(part__model="part.stl", **NO_SIZES), tmp_path) == ["part.model"]


def test_metres_taken_for_millimetres_are_asked_about(tmp_path):
    # A tray of 1.2 x 0.8 x 0.2 drawn in metres: in millimetres it would be 1.2 mm long.
    (tmp_path / "part.stl").write_bytes(files.stl(files.box((1.2, 0.8, 0.2))))
    assert read(changed(part__model="part.stl", **NO_SIZES), tmp_path).request.part.length == pytest.approx(1.2)
    told = said(tmp_path, part__model="part.stl", part__model_unit="mm")
    assert any("a length of 0.047 in (1.20 mm)" in one and "may have been drawn in metres" in one for one in told)
