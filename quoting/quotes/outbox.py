"""The outbox: an e-mail is written with the deed that asks for it, and sent later, at most once.

A process takes a row (``sending``, with a token of its own), hands the mail over and marks it ``sent``. A server that
surely refused is tried again later; where nobody can know whether the server took the mail, it is ``unknown``, and a
person decides. Each mail's Message-ID comes from its key, so that a receiver can drop a second copy.
"""

from contextlib import suppress
from datetime import timedelta
from hashlib import sha256
from smtplib import (
    SMTPDataError,
    SMTPException,
    SMTPNotSupportedError,
    SMTPRecipientsRefused,
    SMTPResponseException,
    SMTPSenderRefused,
)

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import transaction
from django.db.models import F
from django.utils.crypto import get_random_string
from django_tasks import task

from quoting.quotes import policies
from quoting.quotes.background import enqueue
from quoting.quotes.mail_model import DROPPED, FAILED, LOST_AFTER, SENDING, SENT, UNKNOWN, WAITING, OutgoingMail
from quoting.quotes.models import Inquiry, Quote
from quoting.quotes.records import audit, now
from quoting.quotes.trying_again import tried_again

WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 720))  # after each failed try; our choice
REPLACED = "its private link was replaced or withdrawn before it went out"


class RefusedMailError(Exception):
    """The server surely did not take the mail; ``is_final`` where trying again is of no use."""

    def __init__(self, reason: str, *, is_final: bool):
        super().__init__(reason)
        self.is_final = is_final


def mail_put(
    *, key: str, to: str, subject: str, text: str, inquiry: Inquiry, quote: Quote | None = None
) -> OutgoingMail | None:
    """Write an e-mail in the caller's transaction, once for each key; None where this office sends no mail."""
    if settings.MAIL == "off":
        return None
    before = OutgoingMail.objects.filter(key=key).first()
    if before is not None:
        return before
    at = now()
    mail = OutgoingMail(
        key=key, to=to, subject=subject[:200], text=text, inquiry=inquiry, quote=quote, written_at=at, next_try=at
    )
    mail.full_clean()
    mail.save()
    enqueue(mail_deliver, mail.pk)
    return mail


@task()
def mail_deliver(mail: int) -> str:
    """Send one mail of the outbox if it is due and nobody else has taken it; harmless to run again."""
    settle_lost()
    token, at = get_random_string(32), now()
    due = OutgoingMail.objects.filter(pk=mail, state=WAITING, next_try__lte=at)
    if not due.update(state=SENDING, token=token, tries=F("tries") + 1, taken_at=at):
        return "not due"
    taken = OutgoingMail.objects.get(pk=mail)
    try:
        hand_over(taken)
    except RefusedMailError as refused:
        return _try_later(taken, refused)
    except (SMTPException, OSError) as broken:
        return _keep(taken, state=UNKNOWN, reason=f"the line broke while sending: {broken}"[:400])
    return _keep(taken, state=SENT, text="", reason="", sent_at=now())


def hand_over(mail: OutgoingMail) -> None:
    """Give the mail to the server; RefusedMailError if it surely was not taken, any other error if that is unclear."""
    message = EmailMessage(
        mail.subject, mail.text, settings.DEFAULT_FROM_EMAIL, [mail.to], headers={"Message-ID": message_id(mail.key)}
    )
    line = get_connection()
    try:
        line.open()
    except (SMTPException, OSError) as unreachable:
        raise RefusedMailError(f"no server: {unreachable}", is_final=False) from unreachable
    try:
        line.send_messages([message])
    except SMTPRecipientsRefused as refused:
        final = all(code >= 500 for code, _ in refused.recipients.values())
        raise RefusedMailError(f"address refused: {refused}", is_final=final) from refused
    except (SMTPSenderRefused, SMTPDataError, SMTPNotSupportedError) as refused:
        final = not isinstance(refused, SMTPResponseException) or refused.smtp_code >= 500
        raise RefusedMailError(f"mail refused: {refused}", is_final=final) from refused
    finally:
        with suppress(SMTPException, OSError):  # what matters has been said before: the goodbye alone failed
            line.close()


def message_id(key: str) -> str:
    """The same for the same key, so that a mail sent twice is seen to be one.

    >>> message_id("reply 1") == message_id("reply 1") != message_id("reply 2")
    True
    """
    domain = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].rstrip(">") or "localhost"
    return f"<{sha256(key.encode()).hexdigest()[:40]}@{domain}>"


def _keep(taken: OutgoingMail, **changed: object) -> str:
    """Only who took the mail writes what became of it."""
    OutgoingMail.objects.filter(pk=taken.pk, state=SENDING, token=taken.token).update(**changed)
    return str(changed["state"])


def _try_later(taken: OutgoingMail, refused: RefusedMailError) -> str:
    reason = str(refused)[:400]
    if refused.is_final or taken.tries > len(WAITS):
        return _keep(taken, state=FAILED, reason=reason)
    at = now() + WAITS[taken.tries - 1]
    with transaction.atomic():
        _keep(taken, state=WAITING, reason=reason, next_try=at)
        enqueue(mail_deliver.using(run_after=at), taken.pk)
    return "later"


def settle_lost() -> int:
    """Mails whose process died while sending: nobody knows whether they arrived."""
    lost = OutgoingMail.objects.filter(state=SENDING, taken_at__lt=now() - LOST_AFTER)
    return lost.update(state=UNKNOWN, reason="the process that sent it died; it may have arrived")


def mails_drop(quote: Quote) -> None:
    """Mails that still carry an ended link are not sent any more."""
    open_ones = OutgoingMail.objects.filter(quote=quote, state__in=(WAITING, FAILED, UNKNOWN))
    open_ones.update(state=DROPPED, text="", reason=REPLACED)


@tried_again
@transaction.atomic
def mail_again(*, mail: OutgoingMail, by: object) -> bool:
    """Send a failed or unknown mail once more, because a person decided so. False where it is neither."""
    policies.require(by, "manage_mail")
    settle_lost()
    open_ones = OutgoingMail.objects.filter(pk=mail.pk, state__in=(FAILED, UNKNOWN))
    if not open_ones.update(state=WAITING, tries=0, next_try=now()):
        return False
    audit("mail_again", by=by, inquiry=mail.inquiry, quote=mail.quote, to=mail.to, subject=mail.subject)
    enqueue(mail_deliver, mail.pk)
    return True


@tried_again
@transaction.atomic
def mail_give_up(*, mail: OutgoingMail, by: object) -> bool:
    """Close a waiting, failed or unknown mail for good; its text is taken away. False where it is none of these."""
    policies.require(by, "manage_mail")
    settle_lost()
    open_ones = OutgoingMail.objects.filter(pk=mail.pk, state__in=(WAITING, FAILED, UNKNOWN))
    if not open_ones.update(state=DROPPED, text=""):
        return False
    audit("mail_give_up", by=by, inquiry=mail.inquiry, quote=mail.quote, to=mail.to, subject=mail.subject)
    return True
