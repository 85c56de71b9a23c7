"""A form that arrives many times does its deed once, and each time leads to the same result; with other words it is
refused. One after the other on SQLite, at once on PostgreSQL.
"""

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from quoting.desk.views_customer import COOKIE
from quoting.quotes import services
from quoting.quotes.mail_model import OutgoingMail
from quoting.quotes.models import AuditEntry, CustomerReply, Inquiry, Quote
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.conftest import answered, approved, sent, stored_answer
from tests.quoting.quotes.test_races import at_once

SEVERAL_WRITERS = "postgresql" in settings.DATABASES["default"]["ENGINE"]
COUNTS = (2, 20) if SEVERAL_WRITERS else (3,)
pytestmark = pytest.mark.django_db(transaction=SEVERAL_WRITERS)


def shown_answer(decision: str = "quote", landed: str = "50.00") -> dict:
    """A stored answer with all that the pages show of it."""
    answer = stored_answer(decision, landed)
    listed = dict.fromkeys(("conditions", "missing", "assumptions", "doubts", "cautions"), [])
    answer |= listed | {"answered_on": "2026-11-25", "referral": None, "metal_comparison": None, "candidates": []}
    if answer["chosen"]:
        planned = answer["chosen"]["judged"]["planned"]
        planned["candidate"] |= {"plant": {"name": "First Plant", "code": "P-1"}, "gauge": 0.006}
        for one in answer["chosen"]["cost"]["breaks"]:
            one |= {"unit_price": "48.00", "freight_per_part": "2.00"}
        answer["chosen"]["cost"] |= {"tooling": [], "lines": []}
    return answer


@pytest.fixture
def desk(office):
    office.core.snapshot = shown_answer()
    return office


def logged_in(person: object) -> dict:
    client = Client()
    client.force_login(person)
    return client.cookies


def post_all(count: int, cookies: dict, address: str, data: dict) -> list:
    """The same post so many times with the same cookies: at once where the database has several writers."""

    def post(_: int) -> object:
        client = Client()
        client.cookies = cookies.copy()
        return client.post(address, data)

    if SEVERAL_WRITERS:
        return at_once(count, post)
    return [post(number) for number in range(count)]


def lead_to(responses: list, address: str) -> bool:
    return {(one.status_code, one.headers.get("Location")) for one in responses} == {(302, address)}


def deeds(action: str) -> int:
    return AuditEntry.objects.filter(action=action).count()


# --- logging ---------------------------------------------------------------------------------------------------------

FORM = {"form": "a" * 32, "reference": "T-1", "part_name": "Cover", "part_length": "40 in"}


@pytest.mark.parametrize("count", COUNTS)
def test_an_inquiry_is_logged_once(desk, count):
    responses = post_all(count, logged_in(desk.rep), reverse("inquiry-log"), FORM)

    assert lead_to(responses, reverse("inquiry", args=[Inquiry.objects.get().number]))
    assert (deeds("inquiry_log"), deeds("inquiry_answer")) == (1, 1)


def test_a_form_that_comes_again_with_other_values_logs_nothing_and_then_another_inquiry_under_a_new_key(desk):
    client = Client()
    client.cookies = logged_in(desk.rep)
    client.post(reverse("inquiry-log"), FORM)

    refused = client.post(reverse("inquiry-log"), FORM | {"part_length": "41 in"})

    page = refused.content.decode()
    number = Inquiry.objects.get().number
    assert refused.status_code == 422
    assert f"kept as {number}, with other values" in page
    assert 'value="41 in"' in page
    key = refused.context["form_key"]
    assert key != FORM["form"]
    client.post(reverse("inquiry-log"), FORM | {"part_length": "41 in", "form": key})
    assert Inquiry.objects.count() == 2


def test_the_same_key_of_another_person_is_another_form(desk):
    for person in (desk.rep, desk.estimator):
        post_all(1, logged_in(person), reverse("inquiry-log"), FORM)
    assert Inquiry.objects.count() == 2


def test_a_form_with_an_error_keeps_its_key(desk):
    client = Client()
    client.cookies = logged_in(desk.rep)
    refused = client.post(reverse("inquiry-log"), FORM | {"part_length": "40"})
    assert (refused.status_code, refused.context["form_key"]) == (422, FORM["form"])


# --- approving and sending -------------------------------------------------------------------------------------------


def ticked(inquiry: Inquiry, **more: object) -> dict:
    return dict.fromkeys(KEYS, "on") | {"version": inquiry.version, "note": "as told"} | more


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize(("landed", "issued"), [("50.00", 1), ("1000.01", 0)])
def test_an_approval_issues_once_or_waits_once(desk, count, landed, issued):
    desk.core.snapshot = shown_answer(landed=landed)
    inquiry = answered(desk)

    responses = post_all(count, logged_in(desk.estimator), reverse("approve", args=[inquiry.number]), ticked(inquiry))

    assert lead_to(responses, reverse("work", args=[inquiry.number]))
    assert (Quote.objects.count(), deeds("quote_approve"), deeds("quote_wait")) == (issued, issued, 1 - issued)


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize(("decision", "action"), [("approve", "quote_second"), ("back", "quote_send_back")])
def test_the_second_person_decides_once(desk, count, decision, action):
    desk.core.snapshot = shown_answer(landed="1000.01")
    inquiry = answered(desk)
    services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=desk.estimator, on=services.today())
    inquiry.refresh_from_db()
    data = {"version": inquiry.version, "decision": decision, "note": "as told"}

    responses = post_all(count, logged_in(desk.manager), reverse("second", args=[inquiry.number]), data)

    assert {one.status_code for one in responses} == {302}
    assert deeds(action) == 1
    assert Quote.objects.count() == (decision == "approve")


@pytest.mark.parametrize("count", COUNTS)
def test_a_letter_is_written_once(desk, count):
    desk.core.snapshot = shown_answer("not_a_fit")
    inquiry = answered(desk)
    data = {"version": inquiry.version, "reason": "too deep"}

    responses = post_all(count, logged_in(desk.estimator), reverse("decline", args=[inquiry.number]), data)

    assert {one.status_code for one in responses} == {302}
    assert (Quote.objects.count(), deeds("inquiry_decline")) == (1, 1)


@pytest.mark.parametrize("count", COUNTS)
def test_a_private_link_is_made_once(desk, count):
    quote = approved(desk)
    version = Inquiry.objects.get().version

    responses = post_all(count, logged_in(desk.rep), reverse("send", args=[quote.inquiry.number]), {"version": version})

    assert lead_to(responses, reverse("inquiry", args=[quote.inquiry.number]))
    assert deeds("quote_send") == 1


@pytest.mark.parametrize("count", COUNTS)
def test_a_mail_with_the_link_is_written_once_and_to_another_address_it_is_refused(desk, monkeypatch, count):
    monkeypatch.setattr(settings, "MAIL", "smtp")
    monkeypatch.setattr(settings, "BACKGROUND", "workers")
    quote = approved(desk)
    address, cookies = reverse("send-by-mail", args=[quote.inquiry.number]), logged_in(desk.rep)
    data = {"to": "lee@carts.example", "form": "0123456789abcdef"}

    responses = post_all(count, cookies, address, data)
    (other,) = post_all(1, cookies, address, data | {"to": "kim@carts.example"})

    assert {one.status_code for one in responses} == {302}
    assert other.status_code == 409
    assert [mail.to for mail in OutgoingMail.objects.all()] == ["lee@carts.example"]
    assert deeds("quote_send") == 1


@pytest.mark.parametrize(
    ("route", "data", "other"),
    [
        ("won", {"release": "100", "reason": "PO 4711"}, {"release": "500"}),
        ("lost", {"reason": "price"}, {"reason": "lead time"}),
    ],
)
def test_an_outcome_is_recorded_once_and_with_other_words_it_is_refused(desk, route, data, other):
    quote, _ = sent(desk)
    data |= {"version": Inquiry.objects.get().version}
    address, cookies = reverse(route, args=[quote.inquiry.number]), logged_in(desk.rep)

    responses = post_all(5, cookies, address, data)
    (refused,) = post_all(1, cookies, address, data | other)

    assert {one.status_code for one in responses} == {302}
    assert refused.status_code == 409
    assert deeds(f"quote_{route}") == 1


@pytest.mark.parametrize(("field", "value"), [("note", "other words"), ("version", "0")])
def test_an_approval_that_comes_again_with_other_words_is_refused(desk, field, value):
    inquiry = answered(desk)
    address, cookies = reverse("approve", args=[inquiry.number]), logged_in(desk.estimator)
    post_all(1, cookies, address, ticked(inquiry))

    (refused,) = post_all(1, cookies, address, ticked(inquiry) | {field: value})

    assert refused.status_code == 409
    assert "Not carried out" in refused.content.decode()
    assert deeds("quote_approve") == 1


def test_what_another_person_did_is_no_repeat(desk):
    quote = approved(desk)
    version = Inquiry.objects.get().version
    address = reverse("send", args=[quote.inquiry.number])
    post_all(1, logged_in(desk.rep), address, {"version": version})

    (refused,) = post_all(1, logged_in(desk.estimator), address, {"version": version})

    assert refused.status_code == 409
    assert deeds("quote_send") == 1


# --- the customer ----------------------------------------------------------------------------------------------------

REPLIES = {
    "customer-accept": ({"release": "100"}, {"release": "500"}),
    "customer-change": ({"text": "wider"}, {"text": "deeper"}),
    "customer-decline": ({"text": "too dear"}, {"text": "no need"}),
}


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("route", REPLIES)
def test_a_customers_reply_is_kept_once_and_with_other_words_it_is_refused(desk, route, count):
    quote, token = sent(desk)
    data, other = ({"key": "k" * 22} | one for one in REPLIES[route])
    address = reverse(route, args=[quote.number, quote.revision])
    cookies = Client().cookies
    cookies[COOKIE] = token

    responses = post_all(count, cookies, address, data)
    (refused,) = post_all(1, cookies, address, other)

    assert lead_to(responses, reverse("customer-quote", args=[quote.number, quote.revision]))
    assert refused.status_code == 422
    assert "with other words" in refused.content.decode()
    assert CustomerReply.objects.count() == 1
    assert deeds(f"customer_{CustomerReply.objects.get().kind}") == 1


def test_a_wish_that_comes_after_the_acceptance_is_told_why_it_is_not_taken(desk):
    quote, token = sent(desk)
    services.customer_reply(token=token, kind="accepted", release=100)
    client = Client()
    client.cookies[COOKIE] = token

    page = client.post(reverse("customer-change", args=[quote.number, quote.revision]), {"text": "wider", "key": "n"})

    assert page.status_code == 422
    assert "Not taken.</strong> This quote has been accepted already" in page.content.decode()
