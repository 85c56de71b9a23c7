"""Sending an issued document by e-mail: the private link and the mail that carries it are one deed."""

from collections.abc import Callable

from django.db import transaction

from quoting.quotes import outbox, policies, services
from quoting.quotes.mail_model import OutgoingMail
from quoting.quotes.mail_texts import subject_of, text_of
from quoting.quotes.models import Quote
from quoting.quotes.records import audit
from quoting.quotes.steps import StateError, held
from quoting.quotes.trying_again import tried_again


@tried_again
@transaction.atomic
def quote_mail(*, quote: Quote, to: str, form: str, by: object, address: Callable[[str], str]) -> OutgoingMail:
    """Make the private link and write the mail that carries it, in one transaction.

    ``form`` names one filled-in form: sent twice, it makes one link and one mail. ``address`` turns the secret into
    the address of the customer's page.
    """
    policies.require(by, "send", quote)
    kept = held(quote)
    key = f"quote {kept.number}-{kept.revision} {form}"
    before = OutgoingMail.objects.filter(key=key).first()
    if before is not None:
        if before.to != to:
            raise StateError(f"This form was sent already, to {before.to}; open it anew to send another e-mail.")
        return before
    token = services.quote_send(quote=kept, by=by)
    mail = outbox.mail_put(
        key=key, to=to, subject=subject_of(kept), text=text_of(kept, address(token), by), inquiry=kept.inquiry,
        quote=kept,
    )  # fmt: skip
    audit("quote_mail", by=by, inquiry=kept.inquiry, quote=kept, to=to)
    return mail
