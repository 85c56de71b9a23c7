"""A deed that asks something new of a kept CAD model waits for a moment, then says to come again; nothing is lost."""

import re
import threading
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from quoting.intake.model_job import ModelRefusedError, model_report
from quoting.quotes import model_memory, model_reports, models
from tests.quoting.geometry import files

from .test_model_page import REPORT
from .test_rep import form_data

SIZES = {"part_length": "", "part_width": "", "part_depth": "", "part_trim_length": ""}
ANEW = "has to be measured anew"


@pytest.fixture
def inquiry(client, people, settings, tmp_path):
    """Answered from the model of a box; from then on a request does not wait for a model."""
    settings.MEDIA_ROOT, settings.MODEL_REPORTS = tmp_path, "at once"
    client.force_login(people["rep"])
    upload = SimpleUploadedFile("tray.stl", files.stl(files.box()))
    client.post(reverse("inquiry-log"), form_data(**SIZES) | {"part_model_upload": upload})
    kept = models.Inquiry.objects.get()
    assert kept.state == models.ANSWERED
    settings.MODEL_REPORTS = "apart"
    client.force_login(people["estimator"])
    return kept


@pytest.fixture
def slow(monkeypatch):
    """A model on which the work lasts until it is let go."""

    def done(path, **options):
        done.go_on.wait(30)
        if done.refused:
            raise ModelRefusedError(done.refused)
        return model_report(path, **options)

    done.go_on, done.refused = threading.Event(), ""
    monkeypatch.setattr(model_memory, "model_report", done)
    monkeypatch.setattr(model_memory, "A_MOMENT", 0.05)
    yield done
    done.go_on.set()
    ended()


def ended():
    for work in tuple(model_memory._under_way.values()):
        work.join(30)


@pytest.fixture(autouse=True)
def no_report(monkeypatch):
    """Its report has a process of its own and is another matter."""
    monkeypatch.setattr("quoting.quotes.model_reports.report_ask_once", lambda **named: None)


def overridden(client, inquiry, **more):
    data = {"field": "part.model_draw", "value": "+x", "reason": "drawn from the side", "version": inquiry.version}
    return client.post(reverse("override-add", args=[inquiry.number]), data | more)


def test_an_override_that_asks_anew_of_the_model_keeps_its_form_and_is_taken_when_sent_again(client, inquiry, slow):
    page = overridden(client, inquiry)
    text = page.content.decode()
    assert page.status_code == 422
    assert ANEW in text and "drawn from the side" in text and 'value="+x"' in text
    assert not models.Override.objects.exists()

    slow.go_on.set()
    ended()

    assert overridden(client, inquiry).status_code == 302
    assert models.Override.objects.get().new == "+x"


def test_a_model_that_is_measured_in_a_moment_is_waited_for(client, inquiry, monkeypatch):
    monkeypatch.setattr(model_memory, "A_MOMENT", 60)
    assert overridden(client, inquiry).status_code == 302


def test_why_a_model_cannot_be_measured_so_is_told_beside_the_value(client, inquiry, slow):
    slow.refused = "it took more than 150 s to measure"
    overridden(client, inquiry)
    slow.go_on.set()
    ended()

    page = overridden(client, inquiry)

    assert page.status_code == 422
    assert "it took more than 150 s to measure" in page.content.decode().replace("It took", "it took")
    assert not models.Override.objects.exists()


def test_an_answer_is_not_waited_for_where_nothing_is_remembered_of_the_model(client, inquiry, slow):
    for kept in model_memory.memory_folder().iterdir():
        kept.unlink()

    page = client.post(reverse("answer-again", args=[inquiry.number]), {"version": inquiry.version})

    assert page.status_code == 409
    assert ANEW in page.content.decode()
    inquiry.refresh_from_db()
    assert inquiry.state == models.ANSWERED


@pytest.fixture
def reported(inquiry, people, monkeypatch):
    """The same inquiry with a report on its model, on which its page offers choices."""
    monkeypatch.setattr(model_reports, "model_report", lambda path, directory, **options: REPORT)
    model_reports.report_make(model_reports.report_ask(inquiry=inquiry, by=people["rep"]))
    return inquiry


def chosen(client, inquiry, **more):
    data = {"field": "part.model_draw", "value": "-y", "reason": "from <the> side", "version": inquiry.version}
    return client.post(reverse("model-choose", args=[inquiry.number]), data | more)


def sent_again(page) -> dict:
    """The form of the draw as a browser would send it again: hidden fields, the draw that is marked, the reason."""
    text = page.content.decode()
    form = text[text.index('name="field" value="part.model_draw"') - 200 :].split("</form>")[0]
    marked = [tag for tag in re.findall("<input[^>]*>", form) if 'type="radio"' not in tag or " checked" in tag]
    pairs = [(re.search('name="([^"]*)"', tag)[1], re.search('value="([^"]*)"', tag)[1]) for tag in marked]
    return {name: unescape(value) for name, value in pairs}


def test_a_choice_of_the_model_comes_back_as_it_was_sent_and_is_taken_when_sent_again(client, reported, slow):
    page = chosen(client, reported)

    assert page.status_code == 422 and ANEW in page.content.decode()
    assert not models.Override.objects.exists()
    again = sent_again(page)
    assert (again["value"], again["reason"]) == ("-y", "from <the> side")
    assert "<details open><summary>Another draw?" in page.content.decode()

    slow.go_on.set()
    ended()

    assert client.post(reverse("model-choose", args=[reported.number]), again).status_code == 302
    override = models.Override.objects.get()
    assert (override.new, override.reason) == ("-y", "from <the> side")


def test_a_choice_made_beside_another_change_comes_back_with_its_reason(client, reported):
    page = chosen(client, reported, version=reported.version - 1)

    assert page.status_code == 422 and "was changed while this page was open" in page.content.decode()
    again = sent_again(page)
    assert (again["reason"], again["version"]) == ("from <the> side", str(reported.version))
    assert not models.Override.objects.exists()


def test_a_reason_is_not_lost_where_the_form_is_away_while_the_model_is_measured(client, reported):
    models.ModelReport.objects.update(state=models.WAITING)

    page = chosen(client, reported, version=0)

    text = page.content.decode()
    assert 'name="field" value="part.model_draw"' not in text
    assert "Your reason, to be sent again once the model is measured: from &lt;the&gt; side" in text
    assert f'href="{reverse("work", args=[reported.number])}?look=' in text  # this page was answered to a POST


def test_a_choice_of_the_rep_comes_back_too(client, people, reported, slow):
    client.force_login(people["rep"])

    page = chosen(client, reported)

    assert page.status_code == 422 and ANEW in page.content.decode()
    assert sent_again(page)["value"] == "-y"
