"""E-mail: written with the deed, sent at most once, tried again, and never doubtful in silence."""

import socket
import threading
from datetime import timedelta
from smtplib import SMTPServerDisconnected

import pytest
from aiosmtpd.controller import Controller
from django.core.exceptions import PermissionDenied
from django.db import connection, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from quoting.quotes import mailing, outbox, services
from quoting.quotes.mail_model import OutgoingMail
from quoting.quotes.models import AuditEntry, Quote
from tests.quoting.quotes.conftest import approved, sent
from tests.quoting.quotes.test_races import on_postgresql

FORM = "0123456789abcdef"
SECOND = timedelta(seconds=1)


class Server:
    """A mail server of the tests: keeps what it takes, and answers what it is told to."""

    def __init__(self) -> None:
        self.taken, self.answers = [], []

    async def handle_DATA(self, server, session, envelope):  # noqa: N802 - the library's name
        answer = self.answers.pop(0) if self.answers else "250 taken"
        if answer.startswith("250"):
            self.taken.append((envelope.rcpt_tos, envelope.content.decode()))
        return answer


@pytest.fixture
def server(settings):
    kept = Server()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    controller = Controller(kept, hostname="127.0.0.1", port=port)
    controller.start()
    settings.MAIL, settings.EMAIL_BACKEND = "smtp", "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_USE_TLS, settings.BACKGROUND = "127.0.0.1", False, "workers"
    settings.EMAIL_PORT = port
    settings.DEFAULT_FROM_EMAIL = "desk@forming.example"
    yield kept
    controller.stop()


def mailed(office, to: str = "lee@carts.example") -> OutgoingMail:
    return mailing.quote_mail(
        quote=approved(office),
        to=to,
        form=FORM,
        by=office.rep,
        address=lambda token: f"https://desk.example/q/{token}/",
    )


def deliver(mail: OutgoingMail) -> str:
    return mail_task(mail.pk)


def mail_task(pk: int) -> str:
    return outbox.mail_deliver.call(pk)


def make_due(mail: OutgoingMail) -> None:
    OutgoingMail.objects.filter(pk=mail.pk).update(next_try=timezone.now() - SECOND)


def test_the_mail_carries_the_link_and_its_text_is_gone_once_sent(office, server):
    mail = mailed(office)
    secret = mail.text.partition("/q/")[2].partition("/")[0]

    assert deliver(mail) == "sent"

    ((to, text),) = server.taken
    mail.refresh_from_db()
    assert to == ["lee@carts.example"]
    assert secret in text.replace("=\r\n", "")
    assert outbox.message_id(mail.key) in text
    assert (mail.state, mail.text) == ("sent", "")
    assert services.selectors.quote_by_token(secret) == mail.quote
    assert set(AuditEntry.objects.values_list("action", flat=True)) >= {"quote_send", "quote_mail"}


def test_a_form_sent_twice_writes_one_mail_and_keeps_its_link(office, server):
    first = mailed(office)
    again = mailing.quote_mail(quote=Quote.objects.get(), to="lee@carts.example", form=FORM, by=office.rep, address=str)

    assert again == first
    assert OutgoingMail.objects.get().text == first.text


def test_no_mail_is_left_where_the_deed_fails(office, server):
    quote = approved(office)

    def broken(token: str) -> str:
        raise RuntimeError

    with pytest.raises(RuntimeError):
        mailing.quote_mail(quote=quote, to="lee@carts.example", form=FORM, by=office.rep, address=broken)

    quote.refresh_from_db()
    assert (OutgoingMail.objects.count(), quote.link_hash, DBTaskResult.objects.count()) == (0, None, 0)


def test_a_server_that_refuses_for_now_is_tried_again_later(office, server):
    server.answers = ["451 come back later"]
    mail = mailed(office)

    assert deliver(mail) == "later"
    mail.refresh_from_db()
    assert (mail.state, mail.tries) == ("waiting", 1)
    assert mail.next_try > timezone.now()
    assert DBTaskResult.objects.filter(run_after=mail.next_try).exists()
    assert deliver(mail) == "not due"

    make_due(mail)
    assert deliver(mail) == "sent"
    assert len(server.taken) == 1


def test_a_server_that_is_not_there_is_tried_a_limited_number_of_times(office, server, settings):
    settings.EMAIL_PORT = 1  # nobody listens there
    mail, results = mailed(office), []
    for _ in range(len(outbox.WAITS) + 1):
        make_due(mail)
        results.append(deliver(mail))

    assert results == ["later"] * len(outbox.WAITS) + ["failed"]


def test_a_final_refusal_is_not_tried_again(office, server):
    server.answers = ["554 never"]
    mail = mailed(office)

    assert deliver(mail) == "failed"
    mail.refresh_from_db()
    assert "never" in mail.reason
    assert mail.text  # kept, so that a person can send it again


def test_a_line_that_breaks_while_sending_leaves_it_unknown_and_nobody_sends_it_again(office, server, monkeypatch):
    def broken(mail: OutgoingMail) -> None:
        raise SMTPServerDisconnected("gone")

    mail = mailed(office)
    with monkeypatch.context() as patched:
        patched.setattr(outbox, "hand_over", broken)
        assert deliver(mail) == "unknown"

    make_due(mail)
    assert deliver(mail) == "not due"
    assert server.taken == []


def test_a_process_that_dies_between_sending_and_marking_leaves_it_unknown(office, server, monkeypatch):
    def killed(mail: OutgoingMail, **changed: object) -> str:
        raise KeyboardInterrupt  # as if the process were killed: nothing after this runs

    mail = mailed(office)
    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(outbox, "_keep", killed)
        deliver(mail)
    assert len(server.taken) == 1
    assert deliver(mail) == "not due"

    OutgoingMail.objects.update(taken_at=timezone.now() - outbox.LOST_AFTER - SECOND)
    mail.refresh_from_db()
    assert mail.standing == "unknown"
    outbox.settle_lost()
    assert deliver(mail) == "not due"
    assert OutgoingMail.objects.get().state == "unknown"
    assert len(server.taken) == 1


def test_a_person_may_send_an_unknown_mail_again_under_the_same_message_id(office, server):
    mail = mailed(office)
    OutgoingMail.objects.update(state="unknown")
    with pytest.raises(PermissionDenied):
        outbox.mail_again(mail=mail, by=office.rep)

    assert outbox.mail_again(mail=mail, by=office.administrator)
    assert deliver(mail) == "sent"

    assert outbox.message_id(mail.key) in server.taken[0][1]
    assert not outbox.mail_again(mail=mail, by=office.administrator)  # what was sent stays sent
    assert AuditEntry.objects.filter(action="mail_again").count() == 1


def test_a_mail_that_is_given_up_loses_its_text(office, server):
    mail = mailed(office)

    assert outbox.mail_give_up(mail=mail, by=office.administrator)

    assert OutgoingMail.objects.values_list("state", "text").get() == ("dropped", "")
    assert deliver(mail) == "not due"


def test_a_new_link_stops_the_mail_that_carries_the_old_one(office, server):
    mail = mailed(office)

    services.quote_send(quote=mail.quote, by=office.rep)

    assert OutgoingMail.objects.values_list("state", "text").get() == ("dropped", "")


def test_the_rep_is_told_of_a_reply_once(office, server):
    office.rep.email = "rep@forming.example"
    office.rep.save()
    _, token = sent(office)

    for _ in range(2):
        services.customer_reply(token=token, kind="accepted", release=100)

    (mail,) = OutgoingMail.objects.all()
    assert (mail.to, mail.subject.partition(":")[2]) == ("rep@forming.example", " reply to quote Q-2026-0001")
    assert deliver(mail) == "sent"


def test_where_no_mail_is_sent_none_is_written(office, settings):
    settings.MAIL = "off"
    _, token = sent(office)
    services.customer_reply(token=token, kind="change", text="thicker")

    assert OutgoingMail.objects.count() == 0


def test_a_second_worker_that_comes_while_the_first_one_sends_does_nothing(office, server, monkeypatch):
    hand_over, second = outbox.hand_over, []

    def meanwhile(mail: OutgoingMail) -> None:
        second.append(mail_task(mail.pk))
        hand_over(mail)

    mail = mailed(office)
    monkeypatch.setattr(outbox, "hand_over", meanwhile)

    assert deliver(mail) == "sent"
    assert second == ["not due"]
    assert len(server.taken) == 1


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_send_one_mail(server, office):
    mail, results = mailed(office), []
    start = threading.Barrier(2)

    def work() -> None:
        start.wait()
        try:
            results.append(mail_task(mail.pk))
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for one in workers:
        one.start()
    for one in workers:
        one.join()

    assert sorted(results) == ["not due", "sent"]
    assert len(server.taken) == 1


def test_the_queue_takes_the_mail_with_the_transaction(office, server):
    with transaction.atomic():
        mail = mailed(office)
        assert DBTaskResult.objects.count() == 1
        transaction.set_rollback(True)
    assert not OutgoingMail.objects.filter(pk=mail.pk).exists()
    assert DBTaskResult.objects.count() == 0
