"""The demo fills every board, and a second run adds nothing."""

from collections import Counter
from io import StringIO

import pytest
from django.contrib.auth import get_user_model
from django.core.management import call_command

from machines.models import Booking
from quoting.quotes import demo, demo_runs, services, stock
from quoting.quotes.models import AuditEntry, CustomerReply, Inquiry, Quote
from tests.quoting.quotes.conftest import ON, stored_answer


@pytest.fixture
def filled(core, machine, monkeypatch, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    monkeypatch.setattr(demo, "catalog_digest", lambda catalog: core.data)
    said = core.outcome

    def by_part(raw, catalog, on):
        core.snapshot = stored_answer("not_a_fit" if "ank" in raw["part"]["name"] else "quote")
        return said(raw, catalog, on)

    monkeypatch.setattr(services, "outcome", by_part)
    demo.ensure_people()
    demo.ensure_standing_work(ON)
    demo.fill(ON, lambda line: None)
    return core


def counted() -> dict:
    return {model.__name__: model.objects.count() for model in (Inquiry, Quote, CustomerReply, Booking, AuditEntry)}


def test_the_demo_shows_every_state_a_board_can_show(filled):
    states = Counter(Inquiry.objects.values_list("state", flat=True))
    assert set(states) >= {"answered", "approved", "sent", "won", "lost", "declined"}
    assert states.total() == len(list((stock.DEMO / "inquiries").glob("*.json")))
    assert CustomerReply.objects.get().kind == "change"
    assert {True, False} == set(Booking.objects.exclude(quote="").values_list("firm", flat=True))


def test_a_second_run_adds_nothing_and_keeps_the_log_ins(filled):
    before, logins = counted(), demo.ensure_people()

    demo.ensure_standing_work(ON)
    demo.fill(ON, lambda line: None)

    assert counted() == before
    assert demo.ensure_people() == logins
    for login in logins:
        assert get_user_model().objects.get(username=login.username).check_password(login.password)


def test_the_log_ins_can_be_read_by_their_owner_only(filled, settings):
    assert (settings.DATA_DIR / demo.LOGINS_FILE).stat().st_mode & 0o077 == 0


def test_each_run_gives_one_private_link_that_opens(filled):
    _, first = demo.customer_token()
    quote, second = demo.customer_token()
    assert first != second
    assert quote.inquiry.state == "sent"


@pytest.mark.django_db
def test_the_command_prints_an_address_for_each_role_and_for_the_customer(filled, monkeypatch):
    monkeypatch.setattr(services, "catalog_ensure", lambda: False)
    monkeypatch.setattr(demo_runs, "ensure_past_runs", lambda on, by: None)  # here the house has none of its machines
    out = StringIO()
    call_command("demo", "--no-serve", "--port", "8123", stdout=out)
    for word in ("sales rep", "estimator", "manager", "administrator", "http://127.0.0.1:8123/q/"):
        assert word in out.getvalue()
