"""The view that turns the model: who gets its mesh, as what, and that the page stands without it."""

import pytest
from django.conf import settings as django_settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from quoting.quotes import model_reports, models, services
from quoting.quotes.drawings import drawing_keep
from tests.quoting.geometry.files import box, stl

from .conftest import QUOTED, issued, typed

GLTF = model_reports.GLTF + b"mesh"
REPORT = {"kind": "stl", "unit_known": True, "scale": 0.001, "found": {}, "failed": {}, "pictures": {}}
STATIC = django_settings.BASE_DIR / "quoting" / "static"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def measured(kept, people, monkeypatch):
    """An answered inquiry whose model is measured, with a mesh or without."""

    def make(has_mesh: bool = True) -> models.Inquiry:
        def child(path, directory, **options):
            (model_reports.Path(directory) / "turning.glb").write_bytes(GLTF)
            return REPORT | ({"meshes": {"turning": "turning.glb"}} if has_mesh else {})

        inquiry = kept()
        name = drawing_keep(upload=SimpleUploadedFile("tray.stl", stl(box())))
        inquiry.typed = typed(QUOTED) | {"part": typed(QUOTED)["part"] | {"model": name}}
        inquiry.save()
        monkeypatch.setattr(model_reports, "model_report", child)
        model_reports.report_make(model_reports.report_ask(inquiry=inquiry, by=people["rep"]))
        return inquiry

    return make


def mesh(client, inquiry: models.Inquiry, name: str = "turning"):
    return client.get(reverse("model-mesh", args=[inquiry.number, name]))


def test_a_mesh_is_a_gltf_and_nothing_else_for_those_who_see_the_inquiry(client, measured, people):
    inquiry = measured()
    for name, status in (("rep", 200), ("estimator", 200), ("manager", 200), ("other_rep", 404), ("nobody", 403)):
        client.force_login(people[name])
        assert mesh(client, inquiry).status_code == status, name
    client.force_login(people["rep"])
    found = mesh(client, inquiry)
    # model/gltf-binary is the registered media type of binary glTF; from memory, unverified.
    assert (found.content, found["Content-Type"], found["X-Content-Type-Options"]) == (
        GLTF, "model/gltf-binary", "nosniff",
    )  # fmt: skip
    assert (found["Content-Disposition"], found["Cache-Control"]) == ("attachment", "private, no-store")
    assert client.post(reverse("model-mesh", args=[inquiry.number, "turning"])).status_code == 405
    client.logout()
    assert mesh(client, inquiry).status_code == 302


def test_the_customer_gets_no_mesh(client, measured, people):
    inquiry = measured()
    quote = issued(inquiry, people)
    token = services.quote_send(quote=quote, by=people["estimator"])
    page = client.get(reverse("customer-link", args=[token]), follow=True).content.decode()
    assert "turning" not in page
    assert mesh(client, inquiry).status_code == 302


@pytest.mark.parametrize("name", ["secret_key", "turning_", "TURNING", "wall"])
def test_a_mesh_that_the_report_does_not_name_is_not_found(client, measured, people, name):
    client.force_login(people["rep"])
    assert mesh(client, measured(), name).status_code == 404


def test_a_file_put_in_place_of_a_mesh_is_not_served(client, measured, people):
    inquiry = measured()
    kept = model_reports.models_folder() / model_reports.report_of(inquiry).token / "turning.glb"
    kept.write_bytes(b"<html>")
    client.force_login(people["rep"])
    assert mesh(client, inquiry).status_code == 404


@pytest.mark.parametrize(("role", "page"), [("rep", "inquiry"), ("estimator", "work")])
def test_the_view_is_hidden_until_its_script_shows_it(client, measured, people, role, page):
    inquiry = measured()
    client.force_login(people[role])
    text = client.get(reverse(page, args=[inquiry.number])).content.decode()
    address = reverse("model-mesh", args=[inquiry.number, "turning"])
    assert f'<div class="turning" data-turning="{address}" hidden>' in text


def test_a_report_made_before_there_were_meshes_offers_no_view(client, measured, people):
    inquiry = measured(has_mesh=False)
    client.force_login(people["rep"])
    text = client.get(reverse("inquiry", args=[inquiry.number])).content.decode()
    assert 'id="model"' in text
    assert "turning" not in text


def test_scripts_make_no_code_out_of_text_and_no_markup():
    scripts = [*STATIC.glob("desk/*.js"), *STATIC.glob("vendor/twgl-*/*.js")]
    assert len(scripts) == 4
    for script in scripts:
        text = script.read_text()
        for forbidden in ("eval(", "new Function", "innerHTML", "insertAdjacentHTML", "document.write"):
            assert forbidden not in text, (script.name, forbidden)


def test_the_vendored_library_has_its_licence_and_version_beside_it():
    (folder,) = STATIC.glob("vendor/twgl-*")
    version = folder.name.removeprefix("twgl-")
    assert f"twgl.js {version}" in (folder / "twgl-full.module.min.js").read_text()[:100]
    assert f"twgl.js {version}, MIT" in (folder / "README").read_text()
    assert "Permission is hereby granted" in (folder / "LICENSE").read_text()
