"""Word of a quote that waits for a manager, and of what the manager decided: once each, with the deed or not at all."""

import pytest
from django.core.exceptions import ValidationError

from quoting.quotes import mail_texts, outbox, services
from quoting.quotes.mail_model import OutgoingMail
from quoting.quotes.models import AuditEntry, Inquiry, Quote, Review
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.conftest import ON, answered, stored_answer
from tests.quoting.quotes.test_outbox import deliver, make_due, server

__all__ = ["server"]

DEAR = "1000.01"  # times 1,000 a year: just above the limit of 1,000,000


@pytest.fixture
def mails(office, settings):
    """An office that sends mail, and whose people have addresses."""
    settings.MAIL = "smtp"
    for person in (office.rep, office.estimator, office.manager, office.administrator):
        person.email = f"{person.username}@forming.example"
        person.save()
    return office


def another_manager(office, name: str, **more: object) -> object:
    person = type(office.manager).objects.create_user(name, email=f"{name}@forming.example", **more)
    person.groups.set(office.manager.groups.all())
    return person


def waiting(office, note: str = "") -> Inquiry:
    office.core.snapshot = stored_answer(landed=DEAR)
    inquiry = answered(office)
    assert services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, note=note, on=ON) is None
    return Inquiry.objects.get()


def test_every_manager_who_may_decide_is_told_why_and_nobody_else(mails):
    another_manager(mails, "second-manager")
    another_manager(mails, "gone", is_active=False)
    nameless = another_manager(mails, "without-address")
    nameless.email = ""
    nameless.save()
    mails.rep.groups.add(*mails.manager.groups.all())  # logged it, so cannot be the second person
    mails.estimator.groups.add(*mails.manager.groups.all())  # reviewed it

    waiting(mails, note="tight but wanted")

    found = OutgoingMail.objects.order_by("to")
    assert [mail.to for mail in found] == ["manager@forming.example", "second-manager@forming.example"]
    for words in ("I-2026-0001", "Example Carts", "$1,000,010.00 landed", "limit is $1,000,000", "tight but wanted"):
        assert words in found[0].text
    assert "$" not in found[0].subject  # the outbox shows it to those who see no price


def test_a_quote_that_waits_for_nobody_tells_no_manager(mails):
    assert services.quote_approve(inquiry=answered(mails), confirmed=KEYS, by=mails.estimator, on=ON) is not None
    assert not OutgoingMail.objects.exists()


def test_the_estimator_is_told_of_an_approval_by_the_second_person(mails):
    quote = services.quote_second(inquiry=waiting(mails), by=mails.manager, note="agreed", on=ON)

    mail = OutgoingMail.objects.get(key__startswith="decided")
    assert (mail.to, mail.subject) == ("estimator@forming.example", "I-2026-0001 was approved by manager")
    assert f"{quote.number} revision 1" in mail.text
    assert "agreed" in mail.text
    assert AuditEntry.objects.filter(action="quote_second").count() == 1


def test_the_estimator_is_told_why_it_was_sent_back_each_time_anew(mails):
    inquiry = waiting(mails)
    for note in ("ask for a drawing", "still no drawing"):
        services.quote_send_back(inquiry=inquiry, by=mails.manager, note=note)
        inquiry.refresh_from_db()
        services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=mails.estimator, on=ON)
        inquiry.refresh_from_db()

    back = OutgoingMail.objects.filter(key__startswith="decided").order_by("pk")
    assert [mail.text.partition("Note: ")[2].strip() for mail in back] == ["ask for a drawing", "still no drawing"]
    assert OutgoingMail.objects.filter(key__startswith="waits").count() == 3  # one for each review


def test_the_same_review_is_told_once(mails):
    waiting(mails)
    before = OutgoingMail.objects.count()

    mail_texts.waiting_told(Review.objects.get())

    assert OutgoingMail.objects.count() == before == 1


def test_a_deed_that_fails_leaves_no_mail(mails, monkeypatch):
    def broken(*_: object) -> None:
        raise RuntimeError

    inquiry = waiting(mails)
    with pytest.raises(ValidationError):
        services.quote_send_back(inquiry=inquiry, by=mails.manager, note=" ")
    monkeypatch.setattr(mail_texts, "decision_told", broken)
    with pytest.raises(RuntimeError):
        services.quote_second(inquiry=inquiry, by=mails.manager, on=ON)

    assert not OutgoingMail.objects.filter(key__startswith="decided").exists()
    assert not Quote.objects.exists()
    assert Inquiry.objects.get().state == "waits_for_manager"


def test_where_no_mail_is_sent_or_nobody_has_an_address_none_is_written(office, settings):
    services.quote_second(inquiry=waiting(office), by=office.manager, on=ON)
    settings.MAIL = "off"
    office.manager.email = office.estimator.email = "somebody@forming.example"
    office.manager.save()
    mail_texts.waiting_told(Review.objects.get(kind="reviewed"))
    assert not OutgoingMail.objects.exists()


def test_it_is_tried_again_and_goes_out_once(mails, server):  # noqa: F811
    server.answers = ["451 come back later"]
    waiting(mails)
    mail = OutgoingMail.objects.get()

    assert deliver(mail) == "later"
    make_due(mail)
    assert [deliver(mail), deliver(mail)] == ["sent", "not due"]
    ((to, text),) = server.taken
    assert to == ["manager@forming.example"]
    assert outbox.message_id(mail.key) in text
