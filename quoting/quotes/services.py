"""What people do with inquiries and quotes. Each deed: allowed? in the right state? one pure call, save, record."""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import date, datetime, time, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from quoting.quotes import mail_texts, outbox, policies, selectors, steps
from quoting.quotes.answers import outcome, value_at
from quoting.quotes.links import fresh_token, hashed
from quoting.quotes.models import (
    ANSWERED,
    APPROVED,
    DECLINED,
    LETTER,
    LOST,
    QUOTE,
    REVIEWED,
    SECONDED,
    SENT,
    SENT_BACK,
    WAITS_FOR_MANAGER,
    WON,
    Inquiry,
    Override,
    Quote,
    Review,
)
from quoting.quotes.records import audit, next_number, now, today
from quoting.quotes.replies import Origin, customer_reply
from quoting.quotes.reviewing import Item, manager_reasons, review_items, value_a_year
from quoting.quotes.steps import ConflictError, DataChangedError, StateError, effective
from quoting.quotes.stock import catalog_ensure, catalog_load, ensure_groups
from quoting.quotes.trying_again import tried_again

__all__ = [
    "ConflictError", "DataChangedError", "Origin", "StateError", "catalog_ensure", "catalog_load", "customer_reply",
    "effective", "ensure_groups", "inquiry_answer", "inquiry_change", "inquiry_decline", "inquiry_log", "link_revoke",
    "override_add", "override_withdraw", "quote_approve", "quote_lost", "quote_second", "quote_send",
    "quote_send_back", "quote_won", "today", "what_to_confirm", "why_a_manager",
]  # fmt: skip

LETTER_LINK_DAYS = 60  # how long a not-a-fit letter can be opened; common practice, no source


# --- the inquiry -----------------------------------------------------------------------------------------------------


@tried_again
@transaction.atomic
def inquiry_log(*, typed: dict, by: object, form_digest: str = "") -> Inquiry:
    """Keep a new inquiry exactly as typed, good or bad, under a number of its own; ``once`` knows forms again."""
    policies.require(by, "log_inquiry")
    steps.require_storable(typed)
    at = now()
    inquiry = Inquiry(number=next_number("I", today().year), typed=typed, created_by=by, created_at=at)
    steps.read_heading(inquiry)
    steps.save(inquiry)
    told = {"form_digest": form_digest} if form_digest else {}
    audit("inquiry_log", by=by, inquiry=inquiry, typed=typed, **told)
    return inquiry


@tried_again
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


@tried_again
def inquiry_answer(*, inquiry: Inquiry, on: date, by: object) -> Inquiry:
    """Compute the answer of that day and keep it. Bad input is kept as a list of wrong fields."""
    policies.require(by, "answer", inquiry)
    catalog = selectors.catalog(on)
    found = outcome(effective(inquiry), catalog, on)
    with transaction.atomic():
        locked = steps.locked(inquiry, "answer", inquiry.version)
        steps.keep_answer(locked, found, on, catalog)
        audit("inquiry_answer", by=by, inquiry=locked, decision=found.decision, digest=found.digest)
    return locked


@tried_again
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
    before, catalog = effective(inquiry), selectors.catalog(on)
    found = outcome(steps.overridden(before, ((field, value),)), catalog, on)
    steps.refuse_wrong(field, found)
    with transaction.atomic():
        locked = steps.locked(inquiry, "override", inquiry.version)
        override = Override(
            inquiry=locked, field=field, old=value_at(before, field), new=value, reason=reason.strip(), by=by, at=now()
        )
        steps.save(override)
        steps.keep_answer(locked, found, on, catalog)
        audit("override_add", by=by, inquiry=locked, field=field, old=override.old, new=value, reason=override.reason)
    return locked


@tried_again
def override_withdraw(*, override: Override, by: object, on: date | None = None) -> Inquiry:
    """Take an override back and answer again from what was typed."""
    inquiry, on = override.inquiry, on or today()
    policies.require(by, "override", inquiry)
    if override.withdrawn_at is not None:
        return inquiry
    catalog = selectors.catalog(on)
    found = outcome(effective(inquiry, without=override), catalog, on)
    with transaction.atomic():
        locked = steps.locked(inquiry, "override", inquiry.version)
        kept = Override.objects.get(pk=override.pk)  # what is handed in stays as it is until the commit
        kept.withdrawn_by, kept.withdrawn_at = by, now()
        steps.save(kept)
        steps.keep_answer(locked, found, on, catalog)
        audit("override_withdraw", by=by, inquiry=locked, field=kept.field, was=kept.new)
    return locked


# --- the issued document ---------------------------------------------------------------------------------------------


def what_to_confirm(inquiry: Inquiry) -> tuple[Item, ...]:
    """The checklist of the review before approval."""
    rows = inquiry.overrides.filter(withdrawn_at__isnull=True).values_list("field", "reason")
    return review_items(inquiry.snapshot or {}, list(rows))


def why_a_manager(inquiry: Inquiry, on: date) -> tuple[str, ...]:
    """Why this answer needs a second person; empty where the estimator may commit alone."""
    return manager_reasons(inquiry.snapshot, selectors.rates(on).price)


@tried_again
def quote_approve(
    *, inquiry: Inquiry, by: object, confirmed: Iterable[str], note: str = "", on: date | None = None
) -> Quote | None:
    """Keep the review and issue the quote: number, frozen record, PDF, its hours on the board, in one transaction.

    ``confirmed`` names every item of ``what_to_confirm``. None where a manager must decide: then it waits.
    """
    policies.require(by, "approve", inquiry)
    steps.require_state(inquiry, "approve")
    on = on or today()
    steps.require_decision(inquiry, "quote")
    seen = steps.require_same_answer(inquiry, on)
    value = value_a_year(inquiry.snapshot)
    if not policies.approves_alone(by, inquiry, value):
        limit = f"${policies.OWN_APPROVAL_LIMIT:,.0f}"
        raise ValidationError(f"You logged this inquiry; above {limit} a year another estimator must approve it.")
    items = what_to_confirm(inquiry)
    steps.require_confirmed(items, tuple(confirmed))
    reasons = why_a_manager(inquiry, on)
    review = _review(inquiry, REVIEWED, by, note, [asdict(one) | {"about": list(one.about)} for one in items], reasons)
    if reasons:
        with transaction.atomic():
            locked = steps.locked(inquiry, "approve", inquiry.version)
            steps.save(review)
            steps.move(locked, WAITS_FOR_MANAGER)
            audit("quote_wait", by=by, inquiry=locked, reasons=list(reasons), note=note)
            mail_texts.waiting_told(review)
        return None
    return _issue("approve", inquiry, by, by, on, seen, review)


@tried_again
def quote_second(*, inquiry: Inquiry, by: object, note: str = "", on: date | None = None) -> Quote:
    """The manager's approval of an answer that an estimator reviewed: it is issued as by ``quote_approve``."""
    policies.require(by, "second", inquiry)
    steps.require_state(inquiry, "second")
    on = on or today()
    first = _first_review(inquiry)
    if not policies.is_second_person(by, inquiry, first.by_id if first else None):
        raise ValidationError("Who logged or reviewed this inquiry cannot also be the second person; ask another.")
    seen = steps.require_same_answer(inquiry, on)
    review = _review(inquiry, SECONDED, by, note, [], why_a_manager(inquiry, on))
    return _issue("second", inquiry, by, first.by if first else by, on, seen, review)


@tried_again
@transaction.atomic
def quote_send_back(*, inquiry: Inquiry, by: object, note: str, version: int | None = None) -> Inquiry:
    """The manager does not commit to it and says why; the estimator looks again."""
    policies.require(by, "send_back", inquiry)
    if not note.strip():
        raise ValidationError({"reason": "say what must change before you would approve it"})
    locked = steps.locked(inquiry, "send_back", version)
    review, first = _review(locked, SENT_BACK, by, note, [], ()), _first_review(locked)
    steps.save(review)
    steps.move(locked, ANSWERED)
    audit("quote_send_back", by=by, inquiry=locked, reason=note.strip())
    if first:
        mail_texts.decision_told(review, first.by)
    return locked


def _first_review(inquiry: Inquiry) -> Review | None:
    """The estimator's review because of which the inquiry waits."""
    return inquiry.reviews.filter(kind=REVIEWED).select_related("by").last()


def _review(inquiry: Inquiry, kind: str, by: object, note: str, confirmed: list, reasons: tuple[str, ...]) -> Review:
    return Review(
        inquiry=inquiry, version=inquiry.version, data_digest=inquiry.data_digest, kind=kind, confirmed=confirmed,
        reasons=list(reasons), note=note.strip(), by=by, at=now(),
    )  # fmt: skip


def _issue(
    action: str, inquiry: Inquiry, by: object, prepared_by: object, on: date, seen: str, review: Review
) -> Quote:
    """Print first, then commit everything at once; nobody waits while it is printed."""
    valid_until = on + timedelta(days=selectors.rates(on).price.validity_days)
    issuing = steps.Issuing(inquiry, QUOTE, by, prepared_by, on, valid_until, seen, now(), (review,))
    draft = issuing.draft()
    with transaction.atomic():
        locked = steps.locked(inquiry, action, inquiry.version)
        steps.require_same_data(on, seen)
        steps.save(review)
        quote = steps.issue(locked, issuing, draft)
        steps.book(quote, locked.snapshot["chosen"]["cost"]["breaks"][0], on, firm=False)
        steps.move(locked, APPROVED)
        audit(
            f"quote_{action}", by=by, inquiry=locked, quote=quote, digest=quote.digest, pdf_digest=quote.pdf_digest,
            record_digest=quote.record_digest, confirmed=[one["key"] for one in review.confirmed], note=review.note,
        )  # fmt: skip
        if review.kind == SECONDED:
            mail_texts.decision_told(review, prepared_by, quote)
    return quote


@tried_again
def inquiry_decline(
    *, inquiry: Inquiry, by: object, reason: str = "", on: date | None = None, version: int | None = None
) -> Quote:
    """Issue the not-a-fit letter, if it is still what today's data say. ``reason`` is for our file only."""
    policies.require(by, "decline", inquiry)
    on = on or today()
    steps.require_decision(inquiry, "not_a_fit")
    valid_until = on + timedelta(days=LETTER_LINK_DAYS)
    seen = steps.require_same_answer(inquiry, on)
    issuing = steps.Issuing(inquiry, LETTER, by, by, on, valid_until, seen, now())
    draft = issuing.draft() if inquiry.state in policies.ACTS["decline"].moves else None
    with transaction.atomic():
        locked = steps.locked(inquiry, "decline", inquiry.version if version is None else version)
        steps.require_same_data(on, seen)
        letter = steps.issue(locked, issuing, draft)
        steps.move(locked, DECLINED)
        audit("inquiry_decline", by=by, inquiry=locked, quote=letter, digest=letter.digest, reason=reason)
    return letter


def end_of(day: date) -> datetime:
    """The moment at which a day ends in the office."""
    return datetime.combine(day + timedelta(days=1), time(), tzinfo=timezone.get_default_timezone())


@tried_again
@transaction.atomic
def quote_send(*, quote: Quote, by: object, version: int | None = None) -> str:
    """Make the customer's private link and return its secret, which is shown once and kept only as a hash.

    Sending again makes a new link and ends the one before.
    """
    policies.require(by, "send", quote)
    locked = steps.locked(quote.inquiry, "send", version)
    kept = steps.latest(quote)
    steps.refuse_expired(kept)
    token = fresh_token()
    kept.link_hash, kept.link_revoked_at = hashed(token), None
    kept.link_expires = end_of(kept.valid_until)
    steps.save_link(kept)
    outbox.mails_drop(kept)
    steps.move(locked, DECLINED if kept.kind == LETTER else SENT)
    audit("quote_send", by=by, inquiry=locked, quote=kept, expires=kept.link_expires.isoformat())
    return token


@tried_again
@transaction.atomic
def link_revoke(*, quote: Quote, by: object, version: int | None = None) -> Quote:
    """End the private link at once. A second call is harmless."""
    policies.require(by, "revoke_link", quote)
    kept = steps.held(quote)
    if kept.link_hash is None or kept.link_revoked_at is not None:
        return kept
    steps.require_version(kept.inquiry, version)
    kept.link_revoked_at = now()
    steps.save_link(kept)
    outbox.mails_drop(kept)
    audit("link_revoke", by=by, inquiry=kept.inquiry, quote=kept)
    return kept


@tried_again
@transaction.atomic
def quote_won(
    *, quote: Quote, release: int, by: object, on: date | None = None, evidence: str = "", version: int | None = None
) -> Inquiry:
    """Record the order: the quoted hours leave the board and those of the ordered release are booked firmly."""
    policies.require(by, "win", quote)
    locked = steps.locked(quote.inquiry, "win", version)
    kept = steps.latest(quote)
    price_break = steps.break_of(kept, release)
    steps.book(kept, price_break, on or today(), firm=True)
    steps.move(locked, WON)
    audit("quote_won", by=by, inquiry=locked, quote=kept, release=release, evidence=evidence)
    return locked


@tried_again
@transaction.atomic
def quote_lost(*, quote: Quote, reason: str, by: object, version: int | None = None) -> Inquiry:
    """Record that the customer went elsewhere, and why; the quoted hours leave the board."""
    policies.require(by, "lose", quote)
    if not reason.strip():
        raise ValidationError({"reason": "say why it was lost, such as price, lead time or the design changed"})
    locked = steps.locked(quote.inquiry, "lose", version)
    kept = steps.latest(quote)
    steps.unbook(locked)
    steps.move(locked, LOST)
    audit("quote_lost", by=by, inquiry=locked, quote=kept, reason=reason.strip())
    return locked
