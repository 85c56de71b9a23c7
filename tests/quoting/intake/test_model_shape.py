"""What the shape of a model tells an inquiry beyond its sizes."""

from math import pi, radians

import numpy as np
import pytest
import trimesh

from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.intake.model_shape import shape_of
from quoting.units import spoken
from tests.quoting.geometry import shapes
from tests.quoting.intake.sample import changed, read

MILLIMETRE = 0.001


@pytest.fixture(scope="module")
def beaded(tmp_path_factory):
    """A tray with a bead half way up its wall, which no draw gets past, in millimetres."""
    folder = tmp_path_factory.mktemp("beaded")
    surface = shapes.beaded()
    trimesh.Trimesh(surface.vertices / MILLIMETRE, surface.faces).export(folder / "part.stl")
    return folder


@pytest.fixture(scope="module")
def report(beaded):
    return model_report(beaded / "part.stl", unit=MILLIMETRE, hooks=["draw", "measures", "moldability"], tool="female")


def look(folder, report, **changes):
    axis = int(np.argmax(np.abs(report["draw"])))
    asked = {"unit": MILLIMETRE, "axis": axis, "typed": {}, "draft": None, "run": lambda *_, **__: report} | changes
    return shape_of("part.stl", folder, **asked)


def test_a_model_fills_what_was_not_typed(beaded, report):
    found = look(beaded, report)
    assert found.values["part.trim_length"] == pytest.approx(report["found"]["measures"]["trim_length"])
    assert found.values["part.undercut_depth"] == pytest.approx(0.01, rel=0.3)  # the bead bulges 10 mm
    assert {note.field for note in found.notes} == set(found.values)
    assert all(note.why == "measured in the model" for note in found.notes)


def test_what_was_typed_stays_and_a_disagreement_is_told(beaded, report):
    found = look(beaded, report, typed={"part.undercut_depth": 0.0, "part.trim_length": 9.0})
    assert "part.undercut_depth" not in found.values
    told = {doubt.field: spoken(doubt.text) for doubt in found.doubts}
    assert "typed was" in told["part.undercut_depth"]
    assert "which is kept" in told["part.trim_length"]


def test_a_typed_value_that_agrees_is_not_spoken_of(beaded, report):
    length = report["found"]["measures"]["trim_length"]
    found = look(beaded, report, typed={"part.trim_length": 1.005 * length})
    assert "part.trim_length" not in {doubt.field for doubt in found.doubts}


def test_another_draw_than_that_of_the_sizes_is_doubted_and_nothing_else_is_taken(beaded, report):
    other = (int(np.argmax(np.abs(report["draw"]))) + 1) % 3
    found = look(beaded, report, axis=other)
    assert found.values == {}
    assert "asks for a draw along" in spoken(found.doubts[0].text)


def test_steep_walls_are_told_beside_the_draft_that_is_taken(beaded, report):
    found = look(beaded, report, draft=radians(3.0))
    assert any(doubt.field == "part.draft_angle" for doubt in found.doubts)


def test_a_model_that_cannot_be_looked_at_costs_nothing_but_a_word(beaded):
    def broken(*_, **__):
        raise ModelRefusedError("it took {too} long")

    found = look(beaded, {"draw": [0, 0, 1]}, run=broken)
    assert (found.values, found.notes) == ({}, ())
    assert spoken(found.doubts[0].text).endswith("it took (too) long")


def test_an_inquiry_with_a_model_takes_trim_line_and_openings_from_it(tmp_path):
    # by formula: a dish of 400 mm: the trim line is its rim, pi D
    dish = shapes.bowl(0.2)
    trimesh.Trimesh(dish.vertices / MILLIMETRE, dish.faces).export(tmp_path / "dish.stl")
    sizes = {"part__length": None, "part__width": None, "part__depth": None, "part__trim_length": None}
    part = read(changed(part__model="dish.stl", **sizes), tmp_path).request.part
    assert part.trim_length == pytest.approx(pi * 0.4, rel=0.01)
    assert part.openings == 0


def test_a_child_that_answers_nonsense_is_refused(tmp_path, monkeypatch):
    (tmp_path / "part.stl").write_bytes(b"solid")
    for printed in (b"", b"[]", b'{"draw": NaN}', b'{"a": 1e999}', b"x" * 10):
        monkeypatch.setattr(
            "quoting.intake.model_job.subprocess.run",
            lambda *_, printed=printed, **__: type("Done", (), {"returncode": 0, "stdout": printed})(),
        )
        with pytest.raises(ModelRefusedError):
            model_report(tmp_path / "part.stl")
