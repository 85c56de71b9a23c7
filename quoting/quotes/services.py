"""What people do with inquiries and quotes. Each deed: allowed? in the right state? one pure call, save, record."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from quoting.quotes import mail_texts, outbox, policies, selectors, steps
from quoting.quotes.answers import outcome, value_at
from quoting.quotes.links import fresh_token, hashed
from quoting.quotes.models import (
    APPROVED,
    DECLINED,
    LETTER,
    LOST,
    QUOTE,
    SENT,
    WON,
    CustomerReply,
    Inquiry,
    Override,
    Quote,
)
from quoting.quotes.records import audit, next_number, now, today
from quoting.quotes.steps import ConflictError, StateError, effective
from quoting.quotes.stock import catalog_ensure, catalog_load, ensure_groups

__all__ = [
    "ConflictError", "StateError", "catalog_ensure", "catalog_load", "customer_reply", "effective", "ensure_groups",
    "inquiry_answer", "inquiry_change", "inquiry_decline", "inquiry_log", "link_revoke", "override_add",
    "override_withdraw", "quote_approve", "quote_lost", "quote_send", "quote_won", "today",
]  # fmt: skip

LETTER_LINK_DAYS = 60  # how long a not-a-fit letter can be opened; common practice, no source


# --- the inquiry -----------------------------------------------------------------------------------------------------


@transaction.atomic
def inquiry_log(*, typed: dict, by: object) -> Inquiry:
    """Keep a new inquiry exactly as typed, good or bad, under a number of its own."""
    policies.require(by, "log_inquiry")
    steps.require_storable(typed)
    at = now()
    inquiry = Inquiry(number=next_number("I", today().year), typed=typed, created_by=by, created_at=at)
    steps.read_heading(inquiry)
    steps.save(inquiry)
    audit("inquiry_log", by=by, inquiry=inquiry, typed=typed)
    return inquiry


@transaction.atomic
def inquiry_change(*, inquiry: Inquiry, typed: dict, by: object, version: int) -> Inquiry:
    """Replace what was typed. After approval this is a revision: estimators only, and the old document stays."""
    action = "revise" if inquiry.state not in policies.ACTS["change"].moves else "change"
    policies.require(by, action, inquiry)
    steps.require_storable(typed)
    locked = steps.locked(inquiry, action, version)
    if action == "revise":
        steps.unbook(locked)
    old, locked.typed = locked.typed, typed
    steps.read_heading(locked)
    steps.forget_answer(locked)
    steps.save(locked)
    audit(f"inquiry_{action}", by=by, inquiry=locked, old=old, new=typed)
    return locked


def inquiry_answer(*, inquiry: Inquiry, on: date, by: object) -> Inquiry:
    """Compute the answer of that day and keep it. Bad input is kept as a list of wrong fields."""
    policies.require(by, "answer", inquiry)
    found = outcome(effective(inquiry), selectors.catalog(on), on)
    with transaction.atomic():
        locked = steps.locked(inquiry, "answer", inquiry.version)
        steps.keep_answer(locked, found, on)
        audit("inquiry_answer", by=by, inquiry=locked, decision=found.decision, digest=found.digest)
    return locked


def override_add(
    *, inquiry: Inquiry, field: str, value: str, reason: str, by: object, on: date | None = None
) -> Inquiry:
    """Put another value in place of a typed one, say why, and answer again. Results are never overridden.

    ``value`` is text as in a form (lists parted by commas); empty text takes the input away.
    """
    policies.require(by, "override", inquiry)
    if not reason.strip():
        raise ValidationError({"reason": "say why this value is used instead of the typed one"})
    on = on or today()
    before = effective(inquiry)
    found = outcome(steps.overridden(before, ((field, value),)), selectors.catalog(on), on)
    steps.refuse_wrong(field, found)
    with transaction.atomic():
        locked = steps.locked(inquiry, "override", inquiry.version)
        override = Override(
            inquiry=locked, field=field, old=value_at(before, field), new=value, reason=reason.strip(), by=by, at=now()
        )
        steps.save(override)
        steps.keep_answer(locked, found, on)
        audit("override_add", by=by, inquiry=locked, field=field, old=override.old, new=value, reason=override.reason)
    return locked


def override_withdraw(*, override: Override, by: object, on: date | None = None) -> Inquiry:
    """Take an override back and answer again from what was typed."""
    inquiry, on = override.inquiry, on or today()
    policies.require(by, "override", inquiry)
    if override.withdrawn_at is not None:
        return inquiry
    found = outcome(effective(inquiry, without=override), selectors.catalog(on), on)
    with transaction.atomic():
        locked = steps.locked(inquiry, "override", inquiry.version)
        override.withdrawn_by, override.withdrawn_at = by, now()
        steps.save(override)
        steps.keep_answer(locked, found, on)
        audit("override_withdraw", by=by, inquiry=locked, field=override.field, was=override.new)
    return locked


# --- the issued document ---------------------------------------------------------------------------------------------


def quote_approve(*, inquiry: Inquiry, by: object, on: date | None = None) -> Quote:
    """Issue the quote: number, frozen snapshot, PDF, and its hours on the board, all in one transaction."""
    policies.require(by, "approve", inquiry)
    on = on or today()
    steps.require_decision(inquiry, "quote")
    steps.require_same_answer(inquiry, on)
    value = value_a_year(inquiry.snapshot)
    if not policies.approves_alone(by, inquiry, value):
        limit = f"${policies.OWN_APPROVAL_LIMIT:,.0f}"
        raise ValidationError(f"You logged this inquiry; above {limit} a year another estimator must approve it.")
    days = selectors.rates(on).price.validity_days
    with transaction.atomic():
        locked = steps.locked(inquiry, "approve", inquiry.version)
        quote = steps.issue(locked, QUOTE, by, on, on + timedelta(days=days))
        steps.book(quote, locked.snapshot["chosen"]["cost"]["breaks"][0], on, firm=False)
        steps.move(locked, APPROVED)
        audit("quote_approve", by=by, inquiry=locked, quote=quote, digest=quote.digest, pdf_digest=quote.pdf_digest)
    return quote


def inquiry_decline(*, inquiry: Inquiry, by: object, reason: str = "", on: date | None = None) -> Quote:
    """Issue the not-a-fit letter. ``reason`` is for our file only."""
    policies.require(by, "decline", inquiry)
    on = on or today()
    steps.require_decision(inquiry, "not_a_fit")
    with transaction.atomic():
        locked = steps.locked(inquiry, "decline", inquiry.version)
        letter = steps.issue(locked, LETTER, by, on, on + timedelta(days=LETTER_LINK_DAYS))
        steps.move(locked, DECLINED)
        audit("inquiry_decline", by=by, inquiry=locked, quote=letter, digest=letter.digest, reason=reason)
    return letter


@transaction.atomic
def quote_send(*, quote: Quote, by: object) -> str:
    """Make the customer's private link and return its secret, which is shown once and kept only as a hash.

    Sending again makes a new link and ends the one before.
    """
    policies.require(by, "send", quote)
    locked = steps.locked(quote.inquiry, "send")
    kept = steps.latest(quote)
    steps.refuse_expired(kept)
    token = fresh_token()
    kept.link_hash, kept.link_revoked_at = hashed(token), None
    kept.link_expires = datetime.combine(kept.valid_until + timedelta(days=1), time(), tzinfo=UTC)
    steps.save_link(kept)
    outbox.mails_drop(kept)
    steps.move(locked, DECLINED if kept.kind == LETTER else SENT)
    audit("quote_send", by=by, inquiry=locked, quote=kept, expires=kept.link_expires.isoformat())
    return token


@transaction.atomic
def link_revoke(*, quote: Quote, by: object) -> Quote:
    """End the private link at once. A second call is harmless."""
    policies.require(by, "revoke_link", quote)
    kept = Quote.objects.select_for_update().get(pk=quote.pk)
    if kept.link_hash is None or kept.link_revoked_at is not None:
        return kept
    kept.link_revoked_at = now()
    steps.save_link(kept)
    outbox.mails_drop(kept)
    audit("link_revoke", by=by, inquiry=kept.inquiry, quote=kept)
    return kept


@transaction.atomic
def quote_won(*, quote: Quote, release: int, by: object, on: date | None = None, evidence: str = "") -> Inquiry:
    """Record the order: the quoted hours leave the board and those of the ordered release are booked firmly."""
    policies.require(by, "win", quote)
    locked = steps.locked(quote.inquiry, "win")
    kept = steps.latest(quote)
    price_break = steps.break_of(kept, release)
    steps.book(kept, price_break, on or today(), firm=True)
    steps.move(locked, WON)
    audit("quote_won", by=by, inquiry=locked, quote=kept, release=release, evidence=evidence)
    return locked


@transaction.atomic
def quote_lost(*, quote: Quote, reason: str, by: object) -> Inquiry:
    """Record that the customer went elsewhere, and why; the quoted hours leave the board."""
    policies.require(by, "lose", quote)
    if not reason.strip():
        raise ValidationError({"reason": "say why it was lost, such as price, lead time or the design changed"})
    locked = steps.locked(quote.inquiry, "lose")
    kept = steps.latest(quote)
    steps.unbook(locked)
    steps.move(locked, LOST)
    audit("quote_lost", by=by, inquiry=locked, quote=kept, reason=reason.strip())
    return locked


@transaction.atomic
def customer_reply(*, token: str, kind: str, text: str = "", release: int | None = None) -> CustomerReply:
    """Keep what the customer did on the private page; call it from a POST only. A repeated reply is kept once.

    Raises Quote.DoesNotExist for a link that does not hold, ValidationError for a reply that cannot be taken.
    """
    quote = Quote.objects.select_for_update(of=("self",)).get(pk=selectors.quote_by_token(token).pk)
    text = text.strip()
    before = quote.replies.filter(kind=kind, text=text, release=release).first()
    if before is not None:
        return before
    steps.check_reply(quote, kind, text, release)
    reply = CustomerReply(quote=quote, kind=kind, text=text, release=release, at=now())
    reply.full_clean()
    reply.save()
    audit(f"customer_{kind}", by=None, inquiry=quote.inquiry, quote=quote, text=text, release=release)
    mail_texts.reply_told(reply)
    return reply


def value_a_year(snapshot: dict) -> Decimal:
    """Landed value of a year's parts at the largest release [$], from a stored answer."""
    landed = Decimal(snapshot["chosen"]["cost"]["breaks"][-1]["landed_unit_price"])
    return landed * snapshot["request"]["annual"]
