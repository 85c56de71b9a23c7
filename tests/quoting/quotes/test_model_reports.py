"""The report on a CAD model: asked for, worked out apart, kept; whatever goes wrong leaves the inquiry as it is."""

import subprocess
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command

from quoting.intake.model_job import ModelRefusedError
from quoting.quotes import fine_maps, model_reports, models, services
from quoting.quotes.drawings import drawing_keep, drawings_folder
from tests.quoting.geometry.files import box, stl
from tests.quoting.quotes.conftest import TYPED

PNG = model_reports.PNG + b"picture"
GLTF = model_reports.GLTF + b"mesh"
FOUND = {"kind": "stl", "unit_known": False, "suggested_unit": "mm", "scale": 0.001, "found": {}, "failed": {}}


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def inquiry(office):
    return with_model(office.rep)


def with_model(rep, content: bytes = b"") -> models.Inquiry:
    name = drawing_keep(upload=SimpleUploadedFile("tray.stl", content or stl(box())))
    return services.inquiry_log(typed=TYPED | {"part": TYPED["part"] | {"model": name}}, by=rep)


@pytest.fixture
def child(monkeypatch):
    """In place of the work on the file: writes the pictures it is told to, and finds what it is told to."""
    told = {"found": dict(FOUND), "pictures": {"wall.png": PNG}, "names": {"wall": "wall.png"}, "asked": []}
    told["meshes"] = {}

    def report(path: Path, **options) -> dict:
        told["asked"].append((path, options))
        if "error" in told:
            raise told["error"]
        for name, content in told["pictures"].items():
            Path(options["directory"], name).write_bytes(content)
        return told["found"] | {"pictures": told["names"], "meshes": told["meshes"]}

    monkeypatch.setattr(model_reports, "model_report", report)
    return told


def asked(inquiry, by) -> models.ModelReport:
    return model_reports.report_ask(inquiry=inquiry, by=by)


def confirmed(inquiry, **said) -> models.Inquiry:
    """The inquiry with something said of its model, without an answer."""
    inquiry.typed = inquiry.typed | {"part": inquiry.typed["part"] | said}
    inquiry.save()
    return inquiry


def test_asking_starts_the_work_in_a_session_of_its_own_once_it_is_committed(
    office, inquiry, monkeypatch, django_capture_on_commit_callbacks
):
    started = []
    monkeypatch.setattr(subprocess, "Popen", lambda command, **how: started.append((command, how)))
    with django_capture_on_commit_callbacks(execute=True):
        report = asked(inquiry, office.rep)
        assert started == []
    ((command, how),) = started
    assert command[1:] == ["manage.py", "model_report", str(report.pk)]
    assert how["start_new_session"] is True
    assert report.state == models.WAITING


def test_work_that_cannot_be_started_is_told(office, inquiry, monkeypatch, django_capture_on_commit_callbacks):
    def refuse(*_, **__):
        raise OSError

    monkeypatch.setattr(subprocess, "Popen", refuse)
    with django_capture_on_commit_callbacks(execute=True):
        report = asked(inquiry, office.rep)
    report.refresh_from_db()
    assert (report.state, report.reason) == (models.REFUSED, "the work on it could not be started")


def test_a_report_is_made_from_the_kept_file_with_pictures_in_a_folder_of_our_own(office, inquiry, child):
    report = model_reports.report_make(asked(inquiry, office.rep))
    report.refresh_from_db()
    ((path, options),) = child["asked"]
    assert report.state == models.READY
    assert options["sizes"]["length"] == 1.016  # typed, 40 in
    assert path == drawings_folder().resolve() / inquiry.typed["part"]["model"]
    assert "unit" not in options
    assert Path(options["directory"]) == model_reports.models_folder() / report.token
    assert report.report["scale"] == 0.001
    assert model_reports.picture_of(report, "wall") == PNG


def test_the_whole_way_by_the_command_measures_a_box_and_goes_on_to_its_fine_map(office, inquiry, monkeypatch):
    begun = []
    monkeypatch.setattr(fine_maps, "fine_make", lambda report: begun.append(report.fine_state) or report)
    # A box of 600 x 400 x 80 file units, confirmed as inches: 600 x 0.0254 = 15.24 m.
    sizes = {"length": None, "width": None, "depth": None}
    report = asked(confirmed(inquiry, model_unit="in", **sizes), office.rep)
    call_command("model_report", str(report.pk), stdout=StringIO())
    report.refresh_from_db()
    assert report.state == models.READY, report.reason
    assert report.report["found"]["measures"]["length"] == pytest.approx(15.24, rel=1e-4)
    assert model_reports.picture_of(report, "shaded_above").startswith(model_reports.PNG)
    assert model_reports.mesh_of(report, "turning").startswith(model_reports.GLTF)
    assert begun == [report.fine_state] == [models.WAITING]


def test_the_command_names_a_report_that_is_not_there(db):
    with pytest.raises(CommandError, match="no report 7"):
        call_command("model_report", "7")


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (ModelRefusedError("it took more than 150 s to measure"), "it took more than 150 s to measure"),
        (RuntimeError("/secret/path"), "measuring it broke off"),
        (ModelRefusedError("a\x00b"), "ab"),
    ],
)
def test_what_cannot_be_measured_leaves_the_inquiry_as_it_is(office, inquiry, child, error, reason):
    child["error"] = error
    before = models.Inquiry.objects.filter(pk=inquiry.pk).values().get()
    report = model_reports.report_make(asked(inquiry, office.rep))
    report.refresh_from_db()
    assert (report.state, report.reason, report.report) == (models.REFUSED, reason, None)
    assert models.Inquiry.objects.filter(pk=inquiry.pk).values().get() == before
    assert not (model_reports.models_folder() / report.token).exists()


def test_a_file_that_is_gone_is_refused_without_starting_any_work(office, inquiry, child):
    (drawings_folder() / inquiry.typed["part"]["model"]).unlink()
    assert model_reports.report_make(asked(inquiry, office.rep)).state == models.REFUSED
    assert child["asked"] == []


def test_a_name_that_leads_out_of_the_folder_is_refused(office, child):
    typed = TYPED | {"part": TYPED["part"] | {"model": "../settings.stl"}}
    with pytest.raises(ValidationError):
        asked(services.inquiry_log(typed=typed, by=office.rep), office.rep)


def test_an_inquiry_without_a_model_has_no_report(office):
    plain = services.inquiry_log(typed=TYPED, by=office.rep)
    model_reports.report_ask_once(inquiry=plain, by=office.rep)
    assert model_reports.report_of(plain) is None
    with pytest.raises(ValidationError):
        asked(plain, office.rep)


def test_nobody_else_may_ask(office, inquiry):
    for person in (office.other_rep, office.manager):
        with pytest.raises(PermissionDenied):
            asked(inquiry, person)


def test_asking_again_lets_the_work_before_go(office, inquiry, child, monkeypatch, django_capture_on_commit_callbacks):
    first = model_reports.report_make(asked(inquiry, office.rep))
    monkeypatch.setattr(subprocess, "Popen", lambda *_, **__: None)
    with django_capture_on_commit_callbacks(execute=True):
        second = asked(confirmed(inquiry, model_unit="mm"), office.estimator)
    assert second.pk == first.pk
    assert second.token != first.token
    assert not (model_reports.models_folder() / first.token).exists()
    assert not model_reports._close(first, state=models.READY, report={"late": True})
    second.refresh_from_db()
    assert second.state == models.WAITING
    model_reports.report_make(second)
    assert child["asked"][-1][1]["unit"] == 0.001


def test_it_is_asked_once_for_a_file_by_itself(office, inquiry):
    model_reports.report_ask_once(inquiry=inquiry, by=office.rep)
    first = model_reports.report_of(inquiry)
    model_reports.report_ask_once(inquiry=inquiry, by=office.rep)
    assert model_reports.report_of(inquiry).token == first.token


def test_it_is_asked_again_once_the_inquiry_asks_something_else_of_the_model(office, inquiry):
    model_reports.report_ask_once(inquiry=inquiry, by=office.rep)
    first = model_reports.report_of(inquiry)
    confirmed(inquiry, model_draw="-z")
    assert model_reports.is_outdated(first, inquiry)
    model_reports.report_ask_once(inquiry=inquiry, by=office.rep)
    assert model_reports.report_of(inquiry).asked["draw"] == [0.0, 0.0, -1.0]
    assert model_reports.report_of(inquiry).token != first.token


def test_a_report_that_waits_too_long_is_taken_for_lost(office, inquiry):
    report = asked(inquiry, office.rep)
    assert not model_reports.is_lost(report)
    report.asked_at -= model_reports.PATIENCE + timedelta(seconds=1)
    assert model_reports.is_lost(report)


@pytest.mark.parametrize(
    ("names", "pictures"),
    [
        ({"wall": "../../secret_key"}, {}),
        ({"../wall": "../wall.png"}, {}),
        ({"Wall1": "Wall1.png"}, {"Wall1.png": PNG}),
        ({"wall": "wall.png\n"}, {"wall.png": PNG}),
        ({"wall": "other.png"}, {"other.png": PNG}),
        ({"wall": "wall.png"}, {"wall.png": b"<svg onload=alert(1)>"}),
        ({"wall": "wall.png"}, {}),
        ("wall", {"wall.png": PNG}),
    ],
)
def test_a_picture_of_a_strange_name_or_kind_is_never_kept(office, inquiry, child, names, pictures):
    child["names"], child["pictures"] = names, pictures
    report = model_reports.report_make(asked(inquiry, office.rep))
    assert report.state == models.READY
    assert report.report["pictures"] == {}
    assert model_reports.picture_of(report, "wall") is None


def test_a_link_in_the_folder_is_not_followed(office, inquiry, child, tmp_path):
    report = model_reports.report_make(asked(inquiry, office.rep))
    (tmp_path / "else.png").write_bytes(PNG)
    kept = model_reports.models_folder() / report.token / "wall.png"
    kept.unlink()
    kept.symlink_to(tmp_path / "else.png")
    assert model_reports.picture_of(report, "wall") is None


def test_a_mesh_is_kept_and_never_taken_for_a_picture(office, inquiry, child):
    child["pictures"]["turning.glb"], child["meshes"] = GLTF, {"turning": "turning.glb"}
    report = model_reports.report_make(asked(inquiry, office.rep))
    assert report.report["meshes"] == {"turning": "turning.glb"}
    assert model_reports.mesh_of(report, "turning") == GLTF
    assert model_reports.picture_of(report, "turning") is None
    assert model_reports.mesh_of(report, "wall") is None


@pytest.mark.parametrize(
    ("names", "files"),
    [
        ({"turning": "../../secret_key"}, {}),
        ({"../turning": "../turning.glb"}, {}),
        ({"turning": "turning.glb\n"}, {"turning.glb": GLTF}),
        ({"turning": "other.glb"}, {"other.glb": GLTF}),
        ({"turning": "turning.png"}, {"turning.png": PNG}),
        ({"turning": "turning.glb"}, {"turning.glb": b"<html><script>alert(1)</script>"}),
        ({"turning": "turning.glb"}, {"turning.glb": PNG}),
        ({"turning": "turning.glb"}, {"turning.glb": GLTF + bytes(model_reports.LARGEST_FILE)}),
        ({"turning": ["turning.glb"]}, {"turning.glb": GLTF}),
        (["turning"], {"turning.glb": GLTF}),
        ({"turning": "turning.glb"}, {}),
    ],
)
def test_a_mesh_of_a_strange_name_size_or_kind_is_never_kept(office, inquiry, child, names, files):
    child["pictures"], child["names"], child["meshes"] = files, {}, names
    report = model_reports.report_make(asked(inquiry, office.rep))
    assert report.state == models.READY
    assert report.report["meshes"] == {}
    assert model_reports.mesh_of(report, "turning") is None


def test_a_link_in_place_of_a_mesh_is_not_followed(office, inquiry, child, tmp_path):
    child["pictures"]["turning.glb"], child["meshes"] = GLTF, {"turning": "turning.glb"}
    report = model_reports.report_make(asked(inquiry, office.rep))
    (tmp_path / "else.glb").write_bytes(GLTF)
    kept = model_reports.models_folder() / report.token / "turning.glb"
    kept.unlink()
    kept.symlink_to(tmp_path / "else.glb")
    assert model_reports.mesh_of(report, "turning") is None
