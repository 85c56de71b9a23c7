"""A CAD model sent with the inquiry form: measured in place of typed sizes, or refused and the inquiry kept."""

import html
from datetime import timedelta

import pytest
import trimesh
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from quoting.intake import model_job
from quoting.quotes import answers_to_come, model_reports, models
from quoting.quotes.drawings import drawings_folder
from tests.quoting.geometry import files
from tests.quoting.geometry.test_bad_models import BAD

from .test_rep import form_data, rep  # noqa: F401  the fixture of the person

SIZES = {"part_length": "", "part_width": "", "part_depth": "", "part_trim_length": ""}


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT, settings.MODEL_REPORTS = tmp_path, "at once"


def sent(client, content: bytes, name: str, **typed: str):
    upload = SimpleUploadedFile(name, content)
    return client.post(reverse("inquiry-log"), form_data(**typed) | {"part_model_upload": upload}, follow=True)


def test_a_model_gives_the_sizes_that_were_not_typed(rep):  # noqa: F811
    # A box of 600 x 400 x 80 mm: its sizes are known by construction.
    stl = trimesh.creation.box((600, 400, 80)).export(file_type="stl")
    sent(rep, stl, "tray.stl", **SIZES)
    part = models.Inquiry.objects.get().snapshot["request"]["part"]
    assert (part["length"], part["width"], part["depth"]) == pytest.approx((0.6, 0.4, 0.08), rel=1e-3)


def test_a_model_is_kept_under_a_name_of_our_own(rep):  # noqa: F811
    sent(rep, trimesh.creation.box((600, 400, 80)).export(file_type="stl"), "../../evil name.stl", **SIZES)
    (kept,) = drawings_folder().iterdir()
    assert kept.name == models.Inquiry.objects.get().typed["part"]["model"]
    assert "evil" not in kept.name


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (b"solid x\ngarbage", "a.stl"), (b"<svg onload=alert(1)>", "a.svg"), (b"", "a.step"),
        (BAD["a picture"][0], "a.step"), (bytes(5000), "a.obj"), (BAD["STL with NaN"][0], "a.stl"),
        (BAD["3MF bomb"][0], "a.3mf"), (BAD["STEP of a thousand bodies"][0], "a.stp"), (BAD["STL cut off"][0], "a.stl"),
    ],
)  # fmt: skip
def test_a_model_that_cannot_be_read_is_refused_and_the_inquiry_kept(rep, content, name):  # noqa: F811
    page = sent(rep, content, name).content.decode()
    assert "kept without its CAD model" in page
    assert "model" not in models.Inquiry.objects.get().typed["part"]
    assert "<svg onload" not in page


def test_a_model_that_disagrees_with_a_typed_size_is_told_at_the_field(rep):  # noqa: F811
    stl = trimesh.creation.box((600, 400, 80)).export(file_type="stl")
    page = sent(rep, stl, "tray.stl", **SIZES | {"part_length": "30 in"}).content.decode()
    assert 'href="#id_part_length"' in page
    assert models.Inquiry.objects.count() == 0


def test_a_new_model_does_not_inherit_what_was_confirmed_of_the_one_before(rep):  # noqa: F811
    box = files.stl(files.box())
    sent(rep, box, "tray.stl", **SIZES, part_model_unit="mm", part_model_draw="+z")
    inquiry = models.Inquiry.objects.get()
    assert inquiry.typed["part"]["model_unit"] == "mm"
    upload = SimpleUploadedFile("cover.obj", files.obj(files.box((40, 28, 8))))
    again = form_data(**SIZES, part_model_unit="mm", part_model_draw="-x", version=str(inquiry.version))
    rep.post(reverse("inquiry-change", args=[inquiry.number]), again | {"part_model_upload": upload})
    inquiry.refresh_from_db()
    assert "model_unit" not in inquiry.typed["part"]
    assert inquiry.typed["part"]["model_draw"] == "-x"  # said with the new file
    assert inquiry.typed["part"]["model"].endswith(".obj")


@pytest.fixture
def nobody_waits(settings, monkeypatch):
    """As on a server: whatever a request would wait for breaks the test."""
    settings.MODEL_REPORTS = "apart"

    def waited(*arguments, **named):
        raise AssertionError("a request waited for a model")

    with monkeypatch.context() as patched:
        patched.setattr(model_job.subprocess, "run", waited)
        yield patched


def to_come() -> DBTaskResult:
    return DBTaskResult.objects.get(task_path__endswith="answer_inquiry")


def worked_off(patched) -> str:
    """What the worker does, which may wait."""
    patched.undo()
    return answers_to_come.answer_inquiry.call(*to_come().args_kwargs["args"])


def test_nobody_waits_for_a_model_and_its_answer_follows_by_itself(rep, nobody_waits):  # noqa: F811
    page = sent(rep, files.stl(files.box()), "tray.stl", **SIZES).content.decode()
    inquiry = models.Inquiry.objects.get()
    assert inquiry.state == models.RECEIVED
    assert "The answer to the inquiry follows by itself" in page
    assert 'http-equiv="refresh"' in page

    assert worked_off(nobody_waits) == "answered"

    inquiry.refresh_from_db()
    part = inquiry.snapshot["request"]["part"]
    assert inquiry.state == models.ANSWERED
    assert (part["length"], part["width"], part["depth"]) == pytest.approx((0.6, 0.4, 0.08), rel=1e-3)
    assert inquiry.model_reports.get().asked == model_reports.asked_of_inquiry(inquiry.typed)
    assert "follows by itself" not in rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()


def test_what_is_wrong_without_the_model_is_told_before_it_is_measured(rep, nobody_waits):  # noqa: F811
    response = sent(rep, files.stl(files.box()), "tray.stl", **SIZES, part_draft_angle="steep")
    assert response.status_code == 422
    assert 'href="#id_part_draft_angle"' in response.content.decode()
    assert not models.Inquiry.objects.exists()


def test_a_model_that_turns_out_bad_is_told_and_let_go_at_the_next_save(rep, nobody_waits):  # noqa: F811
    sent(rep, BAD["STL with NaN"][0], "a.stl", part_name="A cover")
    inquiry = models.Inquiry.objects.get()
    worked_off(nobody_waits)
    inquiry.refresh_from_db()
    assert inquiry.state == models.NEEDS_INFORMATION
    words = "corners whose coordinates are not numbers"
    assert words in rep.get(reverse("inquiry", args=[inquiry.number])).content.decode()

    again = form_data(part_name="A cover", part_model=inquiry.typed["part"]["model"], version=str(inquiry.version))
    response = rep.post(reverse("inquiry-change", args=[inquiry.number]), again)

    page = response.content.decode()
    assert response.status_code == 422
    assert words in page
    assert 'value="A cover"' in page
    assert f'value="{inquiry.typed["part"]["model"]}"' not in page
    without = rep.post(reverse("inquiry-change", args=[inquiry.number]), again | {"part_model": ""})
    assert without.status_code == 302
    inquiry.refresh_from_db()
    assert inquiry.state == models.ANSWERED


def test_an_answer_to_come_is_let_go_where_the_inquiry_was_changed_meanwhile(rep, nobody_waits):  # noqa: F811
    sent(rep, files.stl(files.box()), "tray.stl", **SIZES)
    inquiry = models.Inquiry.objects.get()
    rep.post(reverse("inquiry-change", args=[inquiry.number]), form_data(version=str(inquiry.version)))
    assert worked_off(nobody_waits) == "changed since"
    inquiry.refresh_from_db()
    assert "model" not in inquiry.typed["part"]


def test_an_answer_that_does_not_come_is_told_with_what_to_do(rep, nobody_waits, monkeypatch):  # noqa: F811
    sent(rep, files.stl(files.box()), "tray.stl", **SIZES)
    monkeypatch.setattr(model_reports, "PATIENCE", timedelta())
    page = rep.get(reverse("inquiry", args=[models.Inquiry.objects.get().number])).content.decode()
    assert "save it again as it is" in page
    assert 'http-equiv="refresh"' not in page


@pytest.mark.parametrize(
    "name", ["a picture", "STEP cut off", "STL cut off", "3MF cut off", "STL text cut off", "zeros"]
)
def test_what_is_no_model_at_a_glance_is_refused_at_once_and_not_kept(rep, nobody_waits, name):  # noqa: F811
    page = sent(rep, BAD[name][0], "a.step").content.decode()
    assert "kept without its CAD model" in page
    assert html.escape(BAD[name][1]) in page
    assert list(drawings_folder().iterdir()) == []
    assert models.Inquiry.objects.get().state == models.ANSWERED
