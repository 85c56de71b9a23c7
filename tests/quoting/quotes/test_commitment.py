"""From answer to acceptance: review, second person, record, replies, expiry, and the export of the record of deeds."""

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from quoting import cells
from quoting.quotes import audit_export, records, replies, services
from quoting.quotes.models import APPROVED, AuditEntry, CustomerReply, Inquiry, MasterData, Quote, Review
from quoting.quotes.reviewing import KEYS, least_margin, manager_reasons, review_items
from tests.quoting.quotes.conftest import ON, PRICE, TYPED, answered, approved, sent, stored_answer


def test_an_unticked_point_stops_the_approval_and_is_named(office):
    inquiry = answered(office)
    with pytest.raises(ValidationError, match="Lead time and date"):
        services.quote_approve(
            inquiry=inquiry, confirmed=[key for key in KEYS if key != "dates"], by=office.estimator, on=ON
        )
    assert not Quote.objects.exists()
    assert not Review.objects.exists()


def test_what_was_confirmed_is_kept_with_words_person_and_time_and_stands_in_the_record(office):
    quote = approved(office)
    review = Review.objects.get()
    assert [one["key"] for one in review.confirmed] == [one.key for one in services.what_to_confirm(quote.inquiry)]
    assert (review.by, review.data_digest) == (office.estimator, quote.digest)
    assert quote.record["reviews"][0]["confirmed"] == review.confirmed


def test_only_what_applies_to_an_answer_is_asked():
    plain = {"request": {"reference": "D-1"}, "chosen": None}
    assert [one.key for one in review_items(plain, [])] == ["requirements", "dates"]
    told = {"text": "a", "figures": []}
    full = {
        "request": {"tooling": "transfer", "needs": ["flame_v0"], "needed_by": "2027-01-01"}, "chosen": None,
        "assumptions": [{"value": told, "why": "none is given"}], "doubts": [{"text": told}],
        "conditions": [{"what": told}],
    }  # fmt: skip
    assert {one.key for one in review_items(full, [("part.length", "drawing")])} == set(KEYS)


def test_what_is_confirmed_is_said_in_the_words_and_digits_of_the_pages():
    breaks = [{"lead_time_weeks": 9.97181}, {"lead_time_weeks": 10.2998}]
    snapshot = {"request": {"reference": "D-1", "needs": ["outdoor_uv"]}, "chosen": {"cost": {"breaks": breaks}}}
    items = {one.key: one for one in review_items(snapshot, [("part.minimum_wall", "drawing")])}

    assert items["dates"].about[0] == "lead time 10.0 to 10.3 weeks"
    assert "outdoor use in sunlight" in items["legal"].text
    assert items["overrides"].about == ("Thinnest wall after forming: drawing",)


def test_a_year_above_the_limit_waits_for_a_manager_who_is_a_second_person(office):
    office.core.snapshot = stored_answer(landed="1000.01")  # times 1,000 a year: just above 1,000,000
    inquiry = answered(office)

    assert services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON) is None

    inquiry = Inquiry.objects.get()
    assert inquiry.state == "waits_for_manager"
    assert not Quote.objects.exists()
    with pytest.raises(PermissionDenied, match="manager"):
        services.quote_second(inquiry=inquiry, by=office.estimator, on=ON)
    quote = services.quote_second(inquiry=inquiry, by=office.manager, note="agreed", on=ON)
    assert quote.inquiry.state == APPROVED
    assert [one["by"] for one in quote.record["reviews"]] == ["estimator", "manager"]
    assert (quote.record["prepared_by"], quote.record["issued_by"]) == ("estimator", "manager")


def test_at_the_limit_and_at_the_floor_nobody_else_is_asked():
    at_limit = stored_answer(landed="1000.00")
    assert manager_reasons(at_limit, PRICE) == ()
    band = {"low": "0.0800", "likely": "0.14", "high": "0.15"}
    at_floor = stored_answer() | {"range": {"releases": [{"quantity": 100, "margin": band}]}}
    assert manager_reasons(at_floor, PRICE) == ()
    below = stored_answer() | {"range": {"releases": [{"quantity": 100, "margin": band | {"low": "0.0799"}}]}}
    assert manager_reasons(below, PRICE) == (
        "at the low end of its range the margin of the release of 100 is 8.0% of the price, and the floor is 8.0%",
    )
    assert least_margin(below) == (Decimal("0.0799"), 100, True)


def test_who_reviewed_cannot_be_the_second_person_with_a_second_role(office):
    office.estimator.groups.add(*office.manager.groups.all())
    vars(office.estimator).pop("_role_names", None)  # asked anew at the next request
    office.core.snapshot = stored_answer(landed="1000.01")
    services.quote_approve(inquiry=answered(office), confirmed=KEYS, by=office.estimator, on=ON)
    with pytest.raises(ValidationError, match="second person"):
        services.quote_second(inquiry=Inquiry.objects.get(), by=office.estimator, on=ON)


def test_a_manager_sends_back_with_a_reason_and_the_review_starts_anew(office):
    office.core.snapshot = stored_answer(landed="1000.01")
    services.quote_approve(inquiry=answered(office), confirmed=KEYS, by=office.estimator, on=ON)
    with pytest.raises(ValidationError, match="before you would approve"):
        services.quote_send_back(inquiry=Inquiry.objects.get(), by=office.manager, note=" ")
    back = services.quote_send_back(inquiry=Inquiry.objects.get(), by=office.manager, note="ask for a drawing")
    assert back.state == "answered"
    assert AuditEntry.objects.get(action="quote_send_back").detail == {"reason": "ask for a drawing"}


def test_the_record_names_every_input_and_its_digest_covers_them(office):
    quote = approved(office)
    assert quote.record["typed"] == TYPED
    assert quote.record["answer_digest"] == quote.digest
    assert set(quote.record["code"]) == {"code", "commit", "tables", "python", "libraries"}
    assert quote.record_digest in bytes(quote.pdf).decode()
    quote.record["typed"]["reference"] = "another"
    assert quote.faults() == ["the record"]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE quotes_quote SET record = '{}'", "UPDATE quotes_quote SET supersedes_id = id",
        "UPDATE quotes_review SET note = 'x'", "DELETE FROM quotes_review",
        "UPDATE quotes_customerreply SET address = 'x'", "DELETE FROM quotes_masterdata",
        "UPDATE quotes_masterdata SET digest = 'x'", "DELETE FROM quotes_auditentry",
    ],
)  # fmt: skip
def test_the_database_refuses_to_change_what_is_kept(office, statement):
    _, token = sent(office)
    services.customer_reply(token=token, kind="change", text="wider")
    MasterData.objects.create(digest="a" * 64, content=b"x", kept_at=timezone.now())
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def test_a_revision_and_what_it_replaces_name_each_other_and_the_old_one_takes_no_reply(office):
    first, token = sent(office)
    inquiry = services.inquiry_change(
        inquiry=first.inquiry, typed=TYPED, by=office.estimator, version=Inquiry.objects.get().version
    )
    inquiry = services.inquiry_answer(inquiry=inquiry, on=ON, by=office.rep)
    second = services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)
    first.refresh_from_db()
    assert (second.supersedes, first.superseded_by) == (first, second)
    assert second.record["supersedes"] == f"{first.number} revision 1"
    services.quote_send(quote=second, by=office.rep)
    with pytest.raises(services.StateError, match="replaced"):
        services.customer_reply(token=token, kind="accepted", release=100)


@pytest.mark.parametrize(("seconds", "taken"), [(-1, True), (0, False), (1, False)])
def test_a_quote_can_be_accepted_to_the_last_second_of_its_last_day_in_the_office(
    office, monkeypatch, settings, seconds, taken
):
    settings.TIME_ZONE = "America/New_York"
    timezone.get_default_timezone.cache_clear()
    quote, token = sent(office)
    ends = datetime.combine(
        quote.valid_until + timedelta(days=1), datetime.min.time(), tzinfo=ZoneInfo("America/New_York")
    )
    moment = ends + timedelta(seconds=seconds)
    monkeypatch.setattr(timezone, "now", lambda: moment.astimezone(UTC))
    monkeypatch.setattr(replies, "today", records.today)
    try:
        if taken:
            assert services.customer_reply(token=token, kind="accepted", release=100).release == 100
        else:
            with pytest.raises(Quote.DoesNotExist):  # the link ends with the quote
                services.customer_reply(token=token, kind="accepted", release=100)
    finally:
        timezone.get_default_timezone.cache_clear()


def test_declining_needs_words_and_closes_the_quote(office):
    _, token = sent(office)
    with pytest.raises(ValidationError, match="say why"):
        services.customer_reply(token=token, kind="declined")
    services.customer_reply(token=token, kind="declined", text="too dear")
    with pytest.raises(services.StateError, match="declined already"):
        services.customer_reply(token=token, kind="accepted", release=100)


def test_one_form_is_one_reply_and_with_other_words_it_is_refused(office):
    _, token = sent(office)
    origin = services.Origin("203.0.113.7", "browser " + "x" * 300)
    first = services.customer_reply(token=token, kind="change", text="wider", key="k", origin=origin)
    assert services.customer_reply(token=token, kind="change", text="wider", key="k") == first
    with pytest.raises(services.StateError, match="other words"):
        services.customer_reply(token=token, kind="change", text="deeper", key="k")
    kept = CustomerReply.objects.get()
    assert (kept.address, len(kept.agent)) == ("203.0.113.7", 200)


def test_a_look_is_recorded_once_an_hour_for_each_person(office, monkeypatch):
    inquiry = answered(office)
    for person in (office.rep, office.rep, office.estimator):
        records.saw("page", by=person, inquiry=inquiry)
    assert AuditEntry.objects.filter(action="saw_page").count() == 2
    later = timezone.now() + timedelta(hours=1, seconds=1)
    monkeypatch.setattr(records, "now", lambda: later)
    records.saw("page", by=office.rep, inquiry=inquiry)
    assert AuditEntry.objects.filter(action="saw_page").count() == 3


def test_an_export_holds_every_entry_and_no_cell_is_a_formula(office):
    office.core.snapshot = stored_answer()
    inquiry = answered(office)
    records.audit("=cmd()", by=office.rep, inquiry=inquiry, text="-1+1")
    today = timezone.localdate()
    assert audit_export.entries_between(today, today).count() == AuditEntry.objects.count()
    assert not audit_export.entries_between(today + timedelta(days=1), today + timedelta(days=2)).exists()

    table = list(csv.reader(io.StringIO("".join(audit_export.as_csv(AuditEntry.objects.order_by("pk"))))))
    lines = [json.loads(line) for line in audit_export.as_json_lines(AuditEntry.objects.order_by("pk"))]

    assert len(table) - 1 == len(lines) == AuditEntry.objects.count()
    assert table[-1][3] == "'=cmd()"
    assert lines[-1]["detail"] == {"text": "-1+1"}
    assert all(not cell.startswith(cells.STARTS) for row in table for cell in row)
