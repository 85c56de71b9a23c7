"""A CAD model sent with the inquiry form: measured in place of typed sizes, or refused and the inquiry kept."""

import pytest
import trimesh
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from quoting.quotes import models
from quoting.quotes.drawings import drawings_folder
from tests.quoting.geometry import files
from tests.quoting.geometry.test_bad_models import BAD

from .test_rep import form_data, rep  # noqa: F401  the fixture of the person

SIZES = {"part_length": "", "part_width": "", "part_depth": "", "part_trim_length": ""}


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


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
