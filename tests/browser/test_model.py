"""A CAD model in a browser: its pictures load, and nothing is wider than a phone."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from playwright.sync_api import expect

from quoting.quotes import model_reports
from quoting.quotes.drawings import drawing_keep
from tests.quoting.geometry.files import box, stl


@pytest.fixture
def modelled(answered, people, settings, tmp_path):
    settings.MEDIA_ROOT, settings.MODEL_REPORTS = tmp_path, "at once"
    answered.typed["part"]["model"] = drawing_keep(upload=SimpleUploadedFile("tray.stl", stl(box())))
    answered.save()
    model_reports.report_ask(inquiry=answered, by=people["rep"])
    return answered


@pytest.mark.parametrize("width", [390, 1280])
def test_a_rep_sees_the_pictures_and_is_asked_for_the_unit(browse, modelled, width):
    page = browse("rep", width)
    page.goto(f"/inquiries/{modelled.number}/")
    expect(page.get_by_role("img", name="The part, shaded, seen from above")).to_have_count(1)
    for picture in page.locator(".model-pictures img").all():
        picture.scroll_into_view_if_needed()
        expect(picture).to_have_js_property("naturalWidth", 900)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    expect(page.get_by_role("button", name="Confirm the unit")).to_be_visible()
