"""The section on the CAD model: who sees it and its pictures, what it says in each state, and that no customer does."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from quoting.desk import views_estimator
from quoting.desk.model_page import compared_rows
from quoting.documents import model_sheet
from quoting.geometry.told_progress import PROGRESS_FILE
from quoting.quotes import fine_maps, model_memory, model_reports, models, services
from quoting.quotes.drawings import drawing_keep
from tests.quoting.geometry.files import box, joined, stl

from .conftest import QUOTED, issued, typed
from .test_rep import form_data, rep  # noqa: F401  the fixture of the person

PNG = model_reports.PNG + b"picture"
REPORT = {
    "kind": "stl", "unit_known": False, "unit_stated": False, "suggested_unit": "mm", "scale": 0.001,
    "draw": [0.0, 0.0, 1.0], "tool": "female", "body": 0,
    "bodies": [{"extents": [1.016, 0.7, 0.2], "area": 2.8}, {"extents": [0.1, 0.1, 0.1], "area": 0.06}],
    "warnings": ["the file does not say its unit"], "pictures": {"wall": "wall.png"},
    "failed": {"shown": "it needs more memory than is allowed"},
    "found": {
        "draw": {
            "draws": [
                {"direction": [0.0, 0.0, 1.0], "depth": 0.2, "reason": "no undercut found"},
                {"direction": [0.6, 0.0, -0.8], "depth": 0.5, "reason": "some of it is undercut"},
            ]
        },
        "measures": {
            "length": 1.016, "width": 0.7, "depth": 0.2, "projected_area": 0.7, "surface_area": 1.4,
            "areal_draw_ratio": 2.0, "trim_length": 3.4, "openings": [0.5], "holes": 0,
            "smallest_inside_radius": 0.00635, "wall": 0.004, "volume": 0.004, "watertight": True, "bodies": 1,
            "tool_side": {"tool": "male", "reason": "less of it is undercut"}, "notes": ["one open skin"],
            "is_shell": False, "enclosed": False,
            "warnings": ["a <b>rough</b> surface"],
        },
        "moldability": {
            "wall_area": 0.5, "least_draft": 2.0, "draft_of_walls": 2.5, "below": [[1.0, 0.0], [3.0, 0.25], [5.0, 1.0]],
            "undercuts": [{"area": 0.02, "worst": 0.0127}], "undercut_area": 0.01, "corners": [], "corner_length": 0.0,
            "pocket": {"ratio": 0.5, "depth": 0.2, "width": 0.4}, "pockets": [],
        },
        "membrane": {"minimum": 0.15, "mean": 0.51, "fifth_percentile": 0.27, "covered": 0.99, "warnings": []},
    },
}  # fmt: skip


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(model_memory, "A_MOMENT", 60.0)  # however busy the machine that runs the tests is


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
        model_reports.report_make(model_reports.report_ask(inquiry=inquiry, by=people["rep"]))
        return inquiry

    return make


def text_of(client, name: str, inquiry: models.Inquiry) -> str:
    return client.get(reverse(name, args=[inquiry.number])).content.decode()


def picture(client, inquiry: models.Inquiry, name: str = "wall"):
    return client.get(reverse("model-picture", args=[inquiry.number, name]))


def test_logging_an_inquiry_with_a_model_asks_for_its_report(settings, rep):  # noqa: F811
    settings.MODEL_REPORTS = "at once"
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


def test_the_page_shows_typed_measured_and_used_side_by_side(modelled):
    inquiry = modelled()
    inquiry.typed["part"] |= {"openings": 4, "undercut_depth": "0 mm"}
    inquiry.snapshot["request"]["part"]["openings"] = 1
    rows = {row["label"]: row for row in compared_rows(inquiry, REPORT)}
    assert (rows["Trimmed openings"]["typed"], rows["Trimmed openings"]["measured"]) == ("4", "1")
    assert (rows["Trimmed openings"]["used"], rows["Trimmed openings"]["apart"]) == ("1", True)
    assert (rows["Draft per side"]["measured"], rows["Deepest undercut"]["difference"]) == ("2.5 deg", "typed was none")


def test_bodies_and_draws_can_be_chosen_from(rep, measured):  # noqa: F811
    page = text_of(rep, "inquiry", measured())
    for words in (
        'name="value" value="2"', "40.00 × 27.56 × 7.87 in (1016 × 700 × 200 mm) along the axes of the file",
        'value="+z" class="form-check-input" required checked', 'value="0.6 0 -0.8"', 'value="-y"',
        "along 0.6 0 -0.8 of the file, 19.69 in (500 mm) deep: some of it is undercut",
    ):  # fmt: skip
        assert words in page, words


def test_sizes_more_than_one_percent_apart_are_marked(modelled):
    inquiry = modelled()
    rows = {row["label"]: row for row in compared_rows(inquiry, REPORT)}
    # 40 in are 1.016 m as measured; the typed width of the demo part is 28 in = 0.7112 m against 0.7 m: -1.6 %.
    assert (rows["Length"]["difference"], rows["Length"]["apart"]) == ("none", False)
    assert (rows["Width"]["difference"], rows["Width"]["apart"]) == ("-1.6 %", True)


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
    [(models.REFUSED, "There is no report on the model: it is a picture"), (models.WAITING, "Look again")],
)
def test_each_state_is_told_and_the_answer_stays(rep, modelled, people, state, words):  # noqa: F811
    inquiry = modelled()
    report = model_reports.report_ask(inquiry=inquiry, by=people["rep"])
    models.ModelReport.objects.filter(pk=report.pk).update(state=state, reason="it is a picture")
    page = text_of(rep, "inquiry", inquiry)
    assert words in page
    assert "We can make it" in page


FINE = {"membrane": REPORT["found"]["membrane"] | {"fifth_percentile": 0.24}, "pictures": {}}


@pytest.mark.parametrize(
    ("fine", "told", "words"),
    [
        ({"fine_state": models.WAITING}, None, "it has not begun yet"),
        ({"fine_state": models.WAITING}, '{"share": 0.43, "step": 17}', "fine map 43 %, step 17"),
        (
            {"fine_state": models.REFUSED, "fine_reason": "it is too large"},
            None,
            "not worked out: it is too large. The",
        ),
        ({"fine_state": models.READY, "fine": FINE}, None, "taken the place of the coarse one"),
        ({"fine_state": models.READY, "fine": "thin"}, None, "27 % of the gauge"),
    ],
)
def test_the_fine_map_is_told_in_each_of_its_states(rep, measured, fine, told, words):  # noqa: F811
    inquiry = measured()
    report = model_reports.report_of(inquiry)
    models.ModelReport.objects.filter(pk=report.pk).update(**fine)
    if told:
        (model_reports.models_folder() / report.token / PROGRESS_FILE).write_text(told)
    page = text_of(rep, "inquiry", inquiry)
    assert words in page
    assert "http-equiv" not in page  # it would tear the page away from who reads it
    assert ("24 % of the gauge" in page) is (fine.get("fine") == FINE)
    assert ("Coarse map against fine map" in page) is (fine.get("fine") == FINE)


def test_a_fine_map_that_fell_silent_leaves_the_coarse_one(rep, measured):  # noqa: F811
    inquiry = measured()
    report = model_reports.report_of(inquiry)
    models.ModelReport.objects.filter(pk=report.pk).update(
        fine_state=models.WAITING, made_at=report.made_at - fine_maps.QUEUEING - timedelta(seconds=1)
    )
    page = text_of(rep, "inquiry", inquiry)
    assert "The coarse map stands; measure again" in page
    assert "27 % of the gauge" in page


def test_another_way_of_forming_is_asked_for_and_said(rep, measured):  # noqa: F811
    inquiry = measured()
    address = reverse("model-measure", args=[inquiry.number])
    told = rep.post(address, {"tool": "male", "plug": "yes"}, follow=True).content.decode()
    assert "over a male one there is none" in told
    assert inquiry.model_reports.get().wished == {}

    rep.post(address, {"tool": "male", "bubble": "yes"})
    report = inquiry.model_reports.get()
    assert report.wished == {"tool": "male", "plug": False, "pre_stretch": 1.3}
    model_reports.report_make(report)
    assert "another way of forming than the answer takes" in text_of(rep, "inquiry", inquiry)


def test_the_walls_that_the_typed_gauge_leaves_are_shown_beside_the_answers(rep, measured):  # noqa: F811
    page = text_of(rep, "inquiry", measured())
    # the demo part asks for 0.187 in: 0.187 x 0.27 = 0.050 in
    assert "Walls that the gauge of the inquiry leaves, 0.187 in (4.75 mm)" in page
    assert "0.050 in (1.28 mm)" in page


def test_the_estimators_page_has_the_section_and_never_reloads_by_itself(client, modelled, people):
    inquiry = modelled()
    model_reports.report_ask(inquiry=inquiry, by=people["rep"])
    client.force_login(people["estimator"])
    page = text_of(client, "work", inquiry)
    assert 'href="#model"' in page
    assert "http-equiv" not in page  # a value being typed for an override would be lost


def test_a_picture_is_a_png_and_nothing_else_for_those_who_see_the_inquiry(client, measured, people):
    inquiry = measured()
    for name, status in (("rep", 200), ("estimator", 200), ("manager", 200), ("other_rep", 404), ("nobody", 403)):
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


# --- confirming unit, body and draw


TWO = joined(box(), box((100, 100, 50), (900, 0, 0)))


@pytest.fixture
def drawn(people):
    """An answered inquiry without typed sizes, its model two boxes of 600 x 400 x 80 and 100 x 100 x 50 file units."""
    part = {key: value for key, value in typed(QUOTED)["part"].items() if key not in MEASURED_KEYS}
    name = drawing_keep(upload=SimpleUploadedFile("tray.stl", stl(TWO)))
    raw = typed(QUOTED) | {"part": part | {"model": name, "draft_angle": "3 deg", "keep_typed": ["draft_angle"]}}
    inquiry = services.inquiry_log(typed=raw, by=people["rep"])
    return services.inquiry_answer(inquiry=inquiry, on=services.today(), by=people["rep"])


MEASURED_KEYS = ("length", "width", "depth", "surface_area", "trim_length", "openings", "smallest_radius")


def confirm(client, inquiry, field: str, value: str, **more: str):
    inquiry.refresh_from_db()
    sent = {"field": f"part.{field}", "value": value, "version": inquiry.version} | more
    return client.post(reverse("model-choose", args=[inquiry.number]), sent, follow=True)


def length_of(inquiry) -> float:
    inquiry.refresh_from_db()
    return inquiry.snapshot["request"]["part"]["length"]


def test_the_rep_confirms_and_answer_and_report_rest_on_it(rep, drawn):  # noqa: F811
    # 600 x 400 x 80 in mm; 100 x 100 x 50 inches are 2.54 x 2.54 x 1.27 m.
    assert length_of(drawn) == pytest.approx(0.6)
    for field, value, expected in (("model_body", "2", 0.1), ("model_unit", "in", 2.54), ("model_draw", "+x", 2.54)):
        page = confirm(rep, drawn, field, value).content.decode()
        assert "Confirmed: the inquiry was answered again" in page
        assert length_of(drawn) == pytest.approx(expected)
    assert drawn.snapshot["request"]["part"]["depth"] == pytest.approx(2.54)
    assert (drawn.typed["part"]["model_unit"], drawn.typed["part"]["model_body"]) == ("in", 2)
    asked = model_reports.report_of(drawn).asked
    assert asked == {"tool": "female", "unit": 0.0254, "body": 1, "draw": [1.0, 0.0, 0.0]}
    assert not model_reports.is_outdated(model_reports.report_of(drawn), drawn)


def test_the_estimator_confirms_by_an_override_with_a_reason(client, drawn, people):
    client.force_login(people["estimator"])
    assert "say why" in confirm(client, drawn, "model_unit", "mm").content.decode()
    confirm(client, drawn, "model_unit", "mm", reason="told by telephone")
    (override,) = drawn.overrides.all()
    assert (override.field, override.new, override.reason) == ("part.model_unit", "mm", "told by telephone")
    assert length_of(drawn) == pytest.approx(0.6)
    assert "model_unit" not in drawn.typed["part"]


def test_the_rep_does_not_undo_what_the_estimator_set(client, drawn, people):
    client.force_login(people["estimator"])
    confirm(client, drawn, "model_draw", "+z", reason="the open side")
    client.force_login(people["rep"])
    page = confirm(client, drawn, "model_draw", "-x").content.decode()
    assert "The estimator has set this" in page
    assert "model_draw" not in drawn.typed["part"]


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("model_unit", "parsec", "one of mm, in, m"), ("model_body", "3", "the file has no body 3"),
        ("model_draw", "0 0 0", "an axis of the file"), ("length", "2 m", "its unit, its body and its draw are chosen"),
        ("model_unit", "m", "sizes from"),
    ],
)  # fmt: skip
def test_a_choice_that_cannot_be_is_refused_and_changes_nothing(rep, drawn, field, value, words):  # noqa: F811
    before = models.Inquiry.objects.filter(pk=drawn.pk).values("typed", "version", "state").get()
    assert words in confirm(rep, drawn, field, value).content.decode()
    assert models.Inquiry.objects.filter(pk=drawn.pk).values("typed", "version", "state").get() == before


def test_a_page_that_is_older_than_the_inquiry_confirms_nothing(rep, drawn):  # noqa: F811
    assert confirm(rep, drawn, "model_unit", "in", version="0").status_code == 422
    assert "model_unit" not in drawn.typed["part"]


def test_only_who_may_change_the_inquiry_confirms(client, drawn, people):
    for name, status in (("other_rep", 404), ("manager", 403), ("nobody", 403)):
        client.force_login(people[name])
        assert confirm(client, drawn, "model_unit", "in").status_code == status, name
    client.force_login(people["rep"])
    assert client.get(reverse("model-choose", args=[drawn.number])).status_code == 405


def test_an_override_of_a_measured_fact_goes_before_the_model(client, drawn, people):
    client.force_login(people["estimator"])
    sent = {"field": "part.trim_length", "value": "3 m", "reason": "a flange that is not drawn"}
    sent["version"] = drawn.version
    client.post(reverse("override-add", args=[drawn.number]), sent)
    drawn.refresh_from_db()
    assert drawn.snapshot["request"]["part"]["trim_length"] == pytest.approx(3.0)
    told = {"version": drawn.version}
    client.post(reverse("override-withdraw", args=[drawn.number, drawn.overrides.get().pk]), told)
    drawn.refresh_from_db()
    assert drawn.snapshot["request"]["part"]["trim_length"] == pytest.approx(2.0, rel=1e-4)  # round 600 x 400 mm


def test_the_confirmed_unit_is_said_and_no_longer_asked(rep, measured, people):  # noqa: F811
    inquiry = measured()
    inquiry.typed["part"]["model_unit"] = "mm"
    inquiry.save()
    model_reports.report_make(model_reports.report_ask(inquiry=inquiry, by=people["rep"]))
    page = text_of(rep, "inquiry", inquiry)
    assert "millimetres (mm), as confirmed" in page
    assert "Which unit was the model" not in page


def test_a_report_from_before_the_inquiry_was_changed_says_so(rep, measured):  # noqa: F811
    inquiry = measured()
    assert "measured with another unit, body, draw" not in text_of(rep, "inquiry", inquiry)
    inquiry.typed["part"]["model_draw"] = "-y"
    inquiry.save()
    assert "measured with another unit, body, draw" in text_of(rep, "inquiry", inquiry)


def test_the_model_is_saved_as_it_was_sent_by_those_who_see_the_inquiry(client, measured, people):
    inquiry = measured()
    address = reverse("model-file", args=[inquiry.number])
    assert client.get(address).status_code == 302  # to the log-in
    client.force_login(people["rep"])
    sent = client.get(address)
    assert b"".join(sent.streaming_content) == stl(box())
    assert sent["Content-Type"] == "application/octet-stream"
    assert sent["Content-Disposition"] == f'attachment; filename="{inquiry.number}-model.stl"'
    assert sent["X-Content-Type-Options"] == "nosniff"
    assert "Save the model as it was sent" in text_of(client, "inquiry", inquiry)
    client.force_login(people["other_rep"])
    assert client.get(address).status_code == 404


@pytest.mark.parametrize("name", ["../secret_key", "gone.stl", "passwd"])
def test_a_name_that_leads_elsewhere_saves_nothing(rep, measured, name):  # noqa: F811
    inquiry = measured()
    inquiry.typed["part"]["model"] = name
    inquiry.save()
    assert rep.get(reverse("model-file", args=[inquiry.number])).status_code == 404


def test_the_customer_never_sees_the_model(client, measured, people):
    inquiry = measured()
    quote = issued(inquiry, people)
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
    assert printed["model"]["walls"][1] == ("5th percentile", "27 % of the gauge; 95 % of the part is thicker")
    assert printed["model"]["gauge"]["walls"]
    assert printed["model"]["pictures"][0]["source"].startswith("data:image/png;base64,")


def test_a_report_without_findings_gives_no_rows():
    shown = model_sheet.model_shown({})
    assert not any(shown.values())
