"""What the customer does by the private link. Nothing happens on a visit; each reply is kept once, with its origin."""

from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from quoting.quotes import mail_texts, selectors
from quoting.quotes.models import (
    ACCEPTED,
    CHANGE,
    DECLINED_BY_CUSTOMER,
    LETTER,
    OPENED,
    SENT,
    CustomerReply,
    Inquiry,
    Quote,
)
from quoting.quotes.records import audit, now, today
from quoting.quotes.steps import StateError, break_of, held
from quoting.quotes.trying_again import tried_again

LONGEST_AGENT = 200
_NEEDS_WORDS = {CHANGE: "say what should change", DECLINED_BY_CUSTOMER: "say why, such as price, lead time or no need"}


@dataclass(frozen=True)
class Origin:
    """From where a reply came: network address and browser, as told by the request."""

    address: str = ""
    agent: str = ""


@tried_again
@transaction.atomic
def customer_reply(
    *, token: str, kind: str, text: str = "", release: int | None = None, key: str = "", origin: Origin | None = None
) -> CustomerReply:
    """Keep what the customer did on the private page; call it from a POST only. A repeated reply is kept once.

    ``key`` is that of the form. Raises Quote.DoesNotExist for a link that does not hold, ValidationError for a reply
    that cannot be taken. Inquiry, then quote are locked, as every deed of ours does, so that one of two wins.
    """
    found = selectors.quote_by_token(token)
    held(found)
    quote = selectors.quote_by_token(token)  # as it stands now that nobody else can change it
    text, origin = text.strip(), origin or Origin()
    before = _repeated(quote, kind, text, release, key)
    if before is not None:
        return before
    check_reply(quote, kind, text, release)
    reply = CustomerReply(
        quote=quote, kind=kind, text=text, release=release, at=now(), key=key,
        address=origin.address[:45], agent=origin.agent[:LONGEST_AGENT],
    )  # fmt: skip
    reply.full_clean()
    reply.save()
    if kind != OPENED:  # what our people have before them was made without it
        Inquiry.objects.filter(pk=quote.inquiry_id).update(version=F("version") + 1)
    customer_replied(reply)
    return reply


def customer_replied(reply: CustomerReply) -> None:
    """The one place that is told of each new reply, inside its transaction.

    It writes the record. Whoever must be informed besides is enqueued here, so that word goes out exactly when the
    reply is kept.
    """
    audit(
        f"customer_{reply.kind}", by=None, inquiry=reply.quote.inquiry, quote=reply.quote, text=reply.text,
        release=reply.release, address=reply.address, agent=reply.agent,
    )  # fmt: skip
    mail_texts.reply_told(reply)


def _repeated(quote: Quote, kind: str, text: str, release: int | None, key: str) -> CustomerReply | None:
    """The reply that this one repeats. The same form with other words is no repetition and is refused."""
    if key:
        same_form = quote.replies.filter(key=key).first()
        if same_form is not None:
            if (same_form.kind, same_form.text, same_form.release) != (kind, text, release):
                raise StateError("This form was sent already, with other words; load the page again and look.")
            return same_form
    return quote.replies.filter(kind=kind, text=text, release=release).first()


def check_reply(quote: Quote, kind: str, text: str, release: int | None) -> None:
    """Refuse a reply that cannot be taken as the quote stands."""
    if kind == OPENED:
        return
    if kind in _NEEDS_WORDS and not text:
        raise ValidationError({"text": _NEEDS_WORDS[kind]})
    if quote.kind == LETTER:
        raise StateError("This letter offers nothing to accept or change; please write to us instead.")
    if quote.is_superseded:
        raise StateError("This quote has been replaced by a newer revision; please ask for its link.")
    if quote.inquiry.state != SENT:
        raise StateError("This quote can no longer be answered here; please call us.")
    if quote.valid_until < today():
        raise StateError(f"This quote was valid until {quote.valid_until:%d %b %Y}; please ask for a new one.")
    if kind == ACCEPTED:
        break_of(quote, release)
    if quote.replies.filter(kind=ACCEPTED).exists():
        raise StateError("This quote has been accepted already; please call us to change the order.")
    if quote.replies.filter(kind=DECLINED_BY_CUSTOMER).exists():
        raise StateError("This quote has been declined already; please write to us to take it up again.")
