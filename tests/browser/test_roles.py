"""One walk per role in a real browser."""

import re

from playwright.sync_api import expect

from quoting.quotes import services
from quoting.quotes.models import WAITS_FOR_MANAGER
from tests.quoting.desk.conftest import issued

from .conftest import overflow


def test_a_rep_corrects_a_size_and_gets_the_answer(browse, people):
    page = browse("rep")
    page.get_by_role("link", name="Log your first inquiry").click()
    for label, text in {
        "Company": "Fernbank Labs", "Contact": "A. Reed", "E-mail": "a.reed@fernbank.example",
        "Ship-to postal code": "60601", "Part name and revision": "cover, rev A", "Length": "40", "Width": "28 in",
        "Depth of draw": "8 in", "Starting sheet gauge": "3/16 in", "Parts a year": "1200",
        "Release sizes to price": "100, 300",
    }.items():  # fmt: skip
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_label("ABS", exact=True).check()
    page.get_by_role("button", name="Save inquiry").click()

    page.get_by_role("alert").get_by_role("link", name="Length").click()
    expect(page.get_by_label("Length", exact=True)).to_be_focused()
    expect(page.get_by_label("Width", exact=True)).to_have_value("28 in")
    page.get_by_label("Length", exact=True).fill("40 in")
    page.get_by_role("button", name="Save inquiry").click()

    expect(page.get_by_role("heading", name="We can make it")).to_be_visible()
    assert "margin" not in page.content()


def test_an_estimator_opens_a_cost_line_and_approves(browse, answered, people):
    page = browse("estimator")
    page.get_by_role("link", name=answered.number).click()
    page.locator("section[aria-labelledby=costs] details.line summary", has_text=re.compile(r"^\s*sheet")).click()
    expect(page.get_by_text("blank mass", exact=True)).to_be_visible()

    page.get_by_role("link", name="Review and approve quote").click()
    for box in page.get_by_role("checkbox").all():
        box.check()
    page.get_by_role("button", name=re.compile("Confirm and")).click()
    expect(page.get_by_role("status")).to_contain_text(re.compile("is approved|waits for a manager"))
    answered.refresh_from_db()
    if answered.state == WAITS_FOR_MANAGER:
        services.quote_second(inquiry=answered, by=people["manager"])
        page.reload()
    page.get_by_role("button", name="make private link").click()
    expect(page.get_by_label("Private link")).to_have_value(re.compile(r"/q/[\w-]{43}/"))


def test_a_customer_accepts_after_seeing_the_final_figures(browse, answered, people):
    quote = issued(answered, people)
    token = services.quote_send(quote=quote, by=people["estimator"])
    page = browse()
    page.goto(f"/q/{token}/")

    assert token not in page.url
    page.get_by_role("link", name="Accept this quote").click()
    page.get_by_role("radio").first.check()
    page.get_by_role("button", name="Accept quote").click()
    expect(page.get_by_role("status")).to_contain_text("Accepted")


def test_a_manager_finds_the_jobs_of_a_week(browse, answered, people):
    issued(answered, people)
    page = browse("manager")
    expect(page.get_by_role("heading", name="Plant loading")).to_be_visible()
    page.get_by_role("link", name="Open all plants").click()
    week = page.locator("td a", has_text=re.compile(r"\d\+[1-9]")).first
    week.click()
    expect(page.get_by_role("link", name=re.compile("Q-"))).to_be_visible()


def test_no_page_scrolls_sideways_on_a_narrow_phone(browse, answered):
    page = browse("estimator", width=320)
    for address in ("/review/", f"/review/{answered.number}/", f"/inquiries/{answered.number}/", "/inquiries/new/",
                    "/loading/", f"/review/{answered.number}/candidate/0/"):  # fmt: skip
        page.goto(address)
        assert overflow(page) <= 0, address


def test_the_first_tab_stop_skips_to_the_content(browse, people):
    page = browse("rep")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()
