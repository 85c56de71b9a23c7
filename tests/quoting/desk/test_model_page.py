"""The section on the CAD model: who sees it and its pictures, what it says in each state, and that no customer does."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from quoting.desk import views_estimator
from quoting.desk.model_page import compared_rows
from quoting.documents import model_sheet
from quoting.quotes import model_reports, models, services
from quoting.quotes.drawings import drawing_keep
from tests.quoting.geometry.files import box, stl

from .conftest import QUOTED, typed
from .test_rep import form_data, rep  # noqa: F401  the fixture of the person

PNG = model_reports.PNG + b"picture"
REPORT = {
    "kind": "stl", "unit_known": False, "suggested_unit": "mm", "scale": 0.001, "draw": [0.0, 0.0, 1.0],
    "tool": "female", "warnings": ["the file does not say its unit"], "pictures": {"wall": "wall.png"},
    "failed": {"shown": "it needs more memory than is allowed"},
    "found": {
        "measures": {
            "length": 1.016, "width": 0.7, "depth": 0.2, "projected_area": 0.7, "surface_area": 1.4,
            "areal_draw_ratio": 2.0, "trim_length": 3.4, "openings": [0.5], "holes": 0,
            "smallest_inside_radius": 0.00635, "wall": 0.004, "volume": 0.004, "watertight": True, "bodies": 1,
            "tool_side": {"tool": "male", "reason": "less of it is undercut"}, "notes": [],
            "warnings": ["a <b>rough</b> surface"],
        },
        "moldability": {
            "wall_area": 0.5, "least_draft": 2.0, "below": [[1.0, 0.0], [3.0, 0.25], [5.0, 1.0]],
            "undercuts": [{"area": 0.01, "worst": 0.0127}], "undercut_area": 0.01, "corners": [], "corner_length": 0.0,
            "pocket": {"ratio": 0.5, "depth": 0.2, "width": 0.4}, "pockets": [],
        },
        "membrane": {"minimum": 0.15, "mean": 0.51, "fifth_percentile": 0.27, "covered": 0.99, "warnings": []},
    },
}  # fmt: skip


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def modelled(kept):
    """An answered inquiry with a model."""

    def make() -> models.Inquiry:
        inquiry = kept()
        name = drawing_keep(upload=SimpleUploadedFile("tray.stl", stl(box())))
        inquiry.typed = typed(QUOTED) | {"part": typed(QUOTED)["part"] | {"model": name, "length": "40 in"}}
        inquiry.save()
        return inquiry

    return make


@pytest.fixture
def measured(modelled, people, monkeypatch):
    """The same once its model is measured."""

    def make(found: dict = REPORT) -> models.Inquiry:
        def child(path, directory, **options):
            (model_reports.Path(directory) / "wall.png").write_bytes(PNG)
            return found

        inquiry = modelled()
        monkeypatch.setattr(model_reports, "model_report", child)
        model_reports.report_make(model_reports.report_ask(inquiry=inquiry, unit=None, by=people["rep"]))
        return inquiry

    return make


def text_of(client, name: str, inquiry: models.Inquiry) -> str:
    return client.get(reverse(name, args=[inquiry.number])).content.decode()


def picture(client, inquiry: models.Inquiry, name: str = "wall"):
    return client.get(reverse("model-picture", args=[inquiry.number, name]))


def test_logging_an_inquiry_with_a_model_asks_for_its_report(rep):  # noqa: F811
    upload = SimpleUploadedFile("tray.stl", stl(box()))
    none = {"part_length": "", "part_width": "", "part_depth": "", "part_trim_length": ""}
    page = rep.post(reverse("inquiry-log"), form_data(**none) | {"part_model_upload": upload}, follow=True)
    report = models.ModelReport.objects.get()
    assert report.state == models.WAITING
    assert report.inquiry.snapshot["request"]["part"]["length"] == pytest.approx(0.6, rel=1e-3)
    # An address with a fragment would not be loaded again, only jumped to.
    assert f'content="4; url=/inquiries/{report.inquiry.number}/"' in page.content.decode()
    assert "being measured" in page.content.decode()


def test_an_inquiry_without_a_model_has_no_section(rep, kept):  # noqa: F811
    assert 'id="model"' not in text_of(rep, "inquiry", kept())


def test_the_page_shows_what_was_found(rep, measured):  # noqa: F811
    page = text_of(rep, "inquiry", measured())
    for words in (
        "40.0 in (1016 mm)", "Areal draw ratio", "0.250 in (6.35 mm)", "male (the part forms over the tool): less of",
        "25 % of the wall area", "the deepest is 0.500 in (12.70 mm)", "27 % of the gauge", "depends on the mesh",
        "It needs more memory than is allowed.", "A &lt;b&gt;rough&lt;/b&gt; surface.", "Which unit was the model",
        'alt="Wall of the formed sheet as colours',
    ):  # fmt: skip
        assert words in page, words
    assert "refresh" not in page


def test_sizes_more_than_one_percent_apart_are_marked(modelled):
    inquiry = modelled()
    rows = {row["label"]: row for row in compared_rows(inquiry, REPORT)}
    # 40 in are 1.016 m as measured; the typed width of the demo part is 28 in = 0.7112 m against 0.7 m: -1.6 %.
    assert (rows["Length"]["difference"], rows["Length"]["apart"]) == ("none", False)
    assert (rows["Width"]["difference"], rows["Width"]["apart"]) == ("-1.6 %", True)


def test_a_size_that_was_not_typed_is_compared_with_the_one_in_the_answer(modelled):
    inquiry = modelled()
    del inquiry.typed["part"]["length"]
    inquiry.snapshot["request"]["part"]["length"] = 25.4 * 1.016  # a file in mm that was taken for inches
    row = compared_rows(inquiry, REPORT)[0]
    assert row["answered"]
    assert (row["difference"], row["apart"]) == ("-96.1 %", True)  # 1/25.4 - 1


def test_a_report_of_strange_shape_breaks_no_page(rep, measured):  # noqa: F811
    strange = {
        "found": {
            "measures": {"length": "<script>", "openings": 5, "tool_side": [], "bodies": [1]},
            "moldability": {"below": [[1], "x"], "undercuts": [7], "pocket": 3, "corners": [None], "corner_length": 1},
            "membrane": "thin",
        },
        "failed": ["a"], "pictures": [], "warnings": {"a": 1}, "draw": [1, None, 2], "suggested_unit": ["mm"],
    }  # fmt: skip
    page = text_of(rep, "inquiry", measured(strange))
    assert 'id="model"' in page
    assert "<script>" not in page


@pytest.mark.parametrize(
    ("state", "words"),
    [(models.REFUSED, "The model was not measured: it is a picture"), (models.WAITING, "Look again")],
)
def test_each_state_is_told_and_the_answer_stays(rep, modelled, people, state, words):  # noqa: F811
    inquiry = modelled()
    report = model_reports.report_ask(inquiry=inquiry, unit=None, by=people["rep"])
    models.ModelReport.objects.filter(pk=report.pk).update(state=state, reason="it is a picture")
    page = text_of(rep, "inquiry", inquiry)
    assert words in page
    assert "We can make it" in page


def test_the_estimators_page_has_the_section_and_never_reloads_by_itself(client, modelled, people):
    inquiry = modelled()
    model_reports.report_ask(inquiry=inquiry, unit=None, by=people["rep"])
    client.force_login(people["estimator"])
    page = text_of(client, "work", inquiry)
    assert 'href="#model"' in page
    assert "http-equiv" not in page  # a value being typed for an override would be lost


def test_a_picture_is_a_png_and_nothing_else_for_those_who_see_the_inquiry(client, measured, people):
    inquiry = measured()
    for name, status in (("rep", 200), ("estimator", 200), ("manager", 200), ("other_rep", 404), ("nobody", 404)):
        client.force_login(people[name])
        assert picture(client, inquiry).status_code == status, name
    client.force_login(people["rep"])
    found = picture(client, inquiry)
    assert (found.content, found["Content-Type"], found["X-Content-Type-Options"]) == (PNG, "image/png", "nosniff")
    client.logout()
    assert picture(client, inquiry).status_code == 302


@pytest.mark.parametrize("name", ["secret_key", "wall_", "WALL", "shaded_above"])
def test_a_picture_that_the_report_does_not_name_is_not_found(rep, measured, name):  # noqa: F811
    assert picture(rep, measured(), name).status_code == 404


def test_a_file_put_in_place_of_a_picture_is_not_served(rep, measured):  # noqa: F811
    inquiry = measured()
    kept = model_reports.models_folder() / model_reports.report_of(inquiry).token / "wall.png"
    kept.write_bytes(b"<html>")
    assert picture(rep, inquiry).status_code == 404


def test_confirming_the_unit_asks_for_a_new_report(rep, measured):  # noqa: F811
    inquiry = measured()
    answer = rep.post(reverse("model-measure", args=[inquiry.number]), {"unit": "in"})
    report = model_reports.report_of(inquiry)
    assert answer.url.endswith("#model")
    assert (report.state, report.unit) == (models.WAITING, 0.0254)


def test_the_confirmed_unit_is_said_and_no_longer_asked(rep, measured, people):  # noqa: F811
    inquiry = measured()
    model_reports.report_make(model_reports.report_ask(inquiry=inquiry, unit=0.0254, by=people["rep"]))
    page = text_of(rep, "inquiry", inquiry)
    assert "Drawn in inches (in), as confirmed here" in page
    assert "Which unit was the model" not in page


def test_a_unit_that_is_none_changes_nothing_and_a_stranger_finds_nothing(client, measured, people):
    inquiry = measured()
    address, token = reverse("model-measure", args=[inquiry.number]), model_reports.report_of(inquiry).token
    for name, status in (("rep", 302), ("other_rep", 404), ("manager", 403)):
        client.force_login(people[name])
        assert client.post(address, {"unit": "parsec"}).status_code == status, name
    assert client.get(address).status_code == 405
    assert model_reports.report_of(inquiry).token == token


def test_the_customer_never_sees_the_model(client, measured, people):
    inquiry = measured()
    quote = services.quote_approve(inquiry=inquiry, by=people["estimator"])
    token = services.quote_send(quote=quote, by=people["estimator"])
    page = client.get(reverse("customer-link", args=[token]), follow=True).content.decode()
    assert "The model" not in page
    assert "model/" not in page
    assert picture(client, inquiry).status_code == 302
    printed = PdfReader(BytesIO(bytes(quote.pdf)))
    assert not any(page.images for page in printed.pages)


def test_the_worksheet_carries_the_model_when_it_is_measured(monkeypatch, client, measured, people):
    printed = {}
    monkeypatch.setattr(views_estimator, "render_worksheet", lambda snapshot, **told: printed.update(told) or b"%PDF")
    client.force_login(people["estimator"])
    client.get(reverse("worksheet", args=[measured().number]))
    assert ("Length", "40.0 in (1016 mm)") in printed["model"]["measures"]
    assert printed["model"]["pictures"][0]["source"].startswith("data:image/png;base64,")


def test_a_report_without_findings_gives_no_rows():
    shown = model_sheet.model_shown({})
    assert not any(shown[key] for key in shown if key != "mesh_caution")
