"""The finer wall map: it follows a ready report, tells how far it is, and leaves the coarse map where it fails."""

import json
import os
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from quoting.geometry.told_progress import PROGRESS_FILE, Told
from quoting.intake.model_job import ModelRefusedError
from quoting.quotes import fine_maps, model_reports, models, services
from quoting.quotes.drawings import drawing_keep
from quoting.quotes.forming_way import PLAIN, wished_way
from tests.quoting.geometry.files import box, stl
from tests.quoting.quotes.conftest import TYPED

COARSE, FINE = model_reports.PNG + b"coarse", model_reports.PNG + b"fine"
WAY = {"along": 1, "across": 1, "web": 0.0, "plug": False, "process": ""}
MAP = {"minimum": 0.2, "fifth_percentile": 0.3, "mean": 0.5, "way": WAY, "tool": "female"}
FOUND = {
    "kind": "stl", "scale": 0.001, "draw": [0.0, 0.0, 1.0], "tool": "female", "body": 0,
    "found": {"membrane": MAP}, "failed": {}, "pictures": {"wall": "wall.png"},
}  # fmt: skip


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def child(monkeypatch):
    """In place of the work on the file, coarse and fine."""
    told = {"asked": [], "failed": {}, "meanwhile": lambda: None}

    def coarse(path, directory, **options):
        told["way"] = options["way"]
        Path(directory, "wall.png").write_bytes(COARSE)
        return FOUND

    def fine(path, patience, directory, **options):
        told["asked"].append(options)
        told["meanwhile"]()
        if "error" in told:
            raise told["error"]
        if told["failed"]:
            return {"found": {}, "failed": told["failed"], "pictures": {}}
        Path(directory, "wall_fine.png").write_bytes(FINE)
        files = {"pictures": {"wall_fine": "wall_fine.png"}}
        return {"found": {"fine": MAP | {"minimum": 0.1}}, "failed": {}} | files

    monkeypatch.setattr(model_reports, "model_report", coarse)
    monkeypatch.setattr(fine_maps, "model_report", fine)
    return told


@pytest.fixture
def inquiry(office):
    name = drawing_keep(upload=SimpleUploadedFile("tray.stl", stl(box())))
    return services.inquiry_log(typed=TYPED | {"part": TYPED["part"] | {"model": name}}, by=office.rep)


@pytest.fixture
def waiting(office, inquiry, child):
    """A report that is ready and waits for its fine map."""
    asked = model_reports.report_ask(inquiry=inquiry, by=office.rep)
    return model_reports.report_make(asked, fine_follows=True)


def test_the_fine_map_is_formed_in_the_same_way_and_takes_the_place_of_the_picture(waiting, child):
    assert (waiting.state, waiting.fine_state) == (models.READY, models.WAITING)
    assert model_reports.picture_of(waiting, "wall") == COARSE
    fine_maps.fine_make(waiting)
    waiting.refresh_from_db()
    (options,) = child["asked"]
    assert (options["hooks"], options["way"], options["draw"]) == (["fine"], WAY, [0, 0, 1])
    assert waiting.asked
    assert options.items() >= waiting.asked.items()
    assert waiting.fine_state == models.READY
    assert waiting.fine["membrane"]["minimum"] == 0.1
    assert waiting.report["found"]["membrane"]["minimum"] == 0.2
    assert model_reports.picture_of(waiting, "wall") == FINE


def test_another_way_that_is_wished_goes_before_the_answers_and_is_gone_with_the_next_asking(office, inquiry, child):
    wished = wished_way("male", False, True)
    asked = model_reports.report_ask(inquiry=inquiry, by=office.rep, wished=wished)
    model_reports.report_make(asked)
    assert child["way"] == WAY | PLAIN | {"tool": "male", "plug": False, "pre_stretch": 1.3}
    model_reports.report_make(model_reports.report_ask(inquiry=inquiry, by=office.rep))
    assert "tool" not in child["way"]


@pytest.mark.parametrize(("tool", "plug"), [("both", False), ("male", True)])
def test_a_way_that_cannot_be_is_refused(tool, plug):
    with pytest.raises(ValueError, match="tool|plug"):
        wished_way(tool, plug, False)


def test_a_report_made_in_the_request_waits_for_no_fine_map(office, inquiry, child):
    made = model_reports.report_make(model_reports.report_ask(inquiry=inquiry, by=office.rep))
    assert made.fine_state == ""
    fine_maps.fine_make(made)
    assert child["asked"] == []


def test_a_report_without_a_coarse_map_waits_for_no_fine_one(office, inquiry, child, monkeypatch):
    monkeypatch.setattr(model_reports, "model_report", lambda *_, **__: FOUND | {"found": {}, "pictures": {}})
    asked = model_reports.report_ask(inquiry=inquiry, by=office.rep)
    assert model_reports.report_make(asked, fine_follows=True).fine_state == ""


@pytest.mark.parametrize(
    ("error", "reason"),
    [(ModelRefusedError("it took more than 600 s to measure"), "it took more than 600 s to measure"),
     (RuntimeError("/secret/path"), "measuring it broke off")],
)  # fmt: skip
def test_a_fine_map_that_fails_leaves_the_coarse_one(waiting, child, error, reason):
    child["error"] = error
    fine_maps.fine_make(waiting)
    waiting.refresh_from_db()
    assert (waiting.state, waiting.fine_state, waiting.fine_reason) == (models.READY, models.REFUSED, reason)
    assert model_reports.picture_of(waiting, "wall") == COARSE


def test_what_the_child_could_not_work_out_is_told(waiting, child):
    child["failed"] = {"fine": "it needs more memory than is allowed"}
    assert fine_maps.fine_make(waiting).fine_reason == "it needs more memory than is allowed"


def test_late_work_is_let_go_when_the_report_was_asked_for_again_meanwhile(office, inquiry, waiting, child):
    child["meanwhile"] = lambda: model_reports.report_ask(inquiry=inquiry, by=office.rep)
    fine_maps.fine_make(waiting)
    waiting.refresh_from_db()
    assert (waiting.state, waiting.fine_state, waiting.fine) == (models.WAITING, "", None)


def test_asking_again_forgets_the_fine_map(office, inquiry, waiting):
    fine_maps.fine_make(waiting)
    again = model_reports.report_ask(inquiry=inquiry, by=office.rep)
    assert (again.fine_state, again.fine, again.fine_reason) == ("", None, "")


def test_progress_is_read_as_it_was_told(waiting):
    assert fine_maps.progress_of(waiting) is None
    Told(model_reports.models_folder() / waiting.token)(0.4321, 17)
    assert fine_maps.progress_of(waiting) == fine_maps.Progress(0.432, 17)


@pytest.mark.parametrize("text", ["", "x", "[]", '{"share": 2, "step": 1}', '{"share": NaN, "step": 1}', '{"step": 1}'])
def test_a_progress_of_strange_shape_is_none(waiting, text):
    (model_reports.models_folder() / waiting.token / PROGRESS_FILE).write_text(text)
    assert fine_maps.progress_of(waiting) is None


def test_work_that_falls_silent_is_taken_for_lost_and_queued_work_is_not(waiting):
    assert not fine_maps.is_lost(waiting)
    file = model_reports.models_folder() / waiting.token / PROGRESS_FILE
    file.write_text(json.dumps({"share": 0.5, "step": 9}))
    assert not fine_maps.is_lost(waiting)
    silent = file.stat().st_mtime - fine_maps.SILENCE.total_seconds() - 1
    os.utime(file, (silent, silent))
    assert fine_maps.is_lost(waiting)
    file.unlink()
    waiting.made_at -= fine_maps.QUEUEING + timedelta(seconds=1)
    assert fine_maps.is_lost(waiting)


def test_a_map_that_is_ready_is_never_lost(waiting):
    made = fine_maps.fine_make(waiting)
    made.made_at -= timedelta(days=1)
    assert not fine_maps.is_lost(made)
