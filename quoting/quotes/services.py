"""What people do with inquiries and quotes. Each deed: allowed? in the right state? one pure call, save, record."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from hashlib import sha256
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from machines.models import Booking, Machine
from quoting.documents.pdf import render_letter, render_quote
from quoting.quotes import policies, selectors
from quoting.quotes.answers import BAD_INPUT, Outcome, outcome, value_at, with_overrides
from quoting.quotes.bookings import laid_out
from quoting.quotes.links import fresh_token, hashed
from quoting.quotes.models import (
    ACCEPTED,
    ANSWERED,
    APPROVED,
    CHANGE,
    DECLINED,
    LETTER,
    LOST,
    NEEDS_INFORMATION,
    OPENED,
    QUOTE,
    RECEIVED,
    SENT,
    WON,
    Customer,
    CustomerReply,
    Inquiry,
    Override,
    Quote,
)
from quoting.quotes.records import audit, next_number, now, today
from quoting.quotes.stock import catalog_ensure, catalog_load, ensure_groups

__all__ = [
    "ConflictError", "StateError", "catalog_ensure", "catalog_load", "customer_reply", "effective", "ensure_groups",
    "inquiry_answer", "inquiry_change", "inquiry_decline", "inquiry_log", "link_revoke", "override_add",
    "override_withdraw", "quote_approve", "quote_lost", "quote_send", "quote_won", "today",
]  # fmt: skip

LETTER_LINK_DAYS = 60  # how long a not-a-fit letter can be opened; common practice, no source


class StateError(ValidationError):
    """The inquiry does not stand where this can be done."""


class ConflictError(ValidationError):
    """Someone else changed the inquiry in between, or the data behind its answer did."""


# --- the inquiry -----------------------------------------------------------------------------------------------------


@transaction.atomic
def inquiry_log(*, typed: dict, by: object) -> Inquiry:
    """Keep a new inquiry exactly as typed, good or bad, under a number of its own."""
    policies.require(by, "log_inquiry")
    at = now()
    inquiry = Inquiry(number=next_number("I", today().year), typed=typed, created_by=by, created_at=at)
    _read_heading(inquiry)
    _save(inquiry)
    audit("inquiry_log", by=by, inquiry=inquiry, typed=typed)
    return inquiry


@transaction.atomic
def inquiry_change(*, inquiry: Inquiry, typed: dict, by: object, version: int) -> Inquiry:
    """Replace what was typed. After approval this is a revision: estimators only, and the old document stays."""
    action = "revise" if inquiry.state not in policies.ACTS["change"].moves else "change"
    policies.require(by, action, inquiry)
    locked = _locked(inquiry, action, version)
    old, locked.typed = locked.typed, typed
    _read_heading(locked)
    _forget_answer(locked)
    _save(locked)
    audit(f"inquiry_{action}", by=by, inquiry=locked, old=old, new=typed)
    return locked


def inquiry_answer(*, inquiry: Inquiry, on: date, by: object) -> Inquiry:
    """Compute the answer of that day and keep it. Bad input is kept as a list of wrong fields."""
    policies.require(by, "answer", inquiry)
    found = outcome(effective(inquiry), selectors.catalog(on), on)
    with transaction.atomic():
        locked = _locked(inquiry, "answer", inquiry.version)
        _keep_answer(locked, found, on)
        audit("inquiry_answer", by=by, inquiry=locked, decision=found.decision, digest=found.digest)
    return locked


def override_add(
    *, inquiry: Inquiry, field: str, value: Any, reason: str, by: object, on: date | None = None
) -> Inquiry:
    """Put another value in place of a typed one, say why, and answer again. Results are never overridden."""
    policies.require(by, "override", inquiry)
    on = on or today()
    before = effective(inquiry)
    found = outcome(with_overrides(before, [(field, value)]), selectors.catalog(on), on)
    _refuse_wrong(field, found)
    with transaction.atomic():
        locked = _locked(inquiry, "override", inquiry.version)
        override = Override(
            inquiry=locked, field=field, old=value_at(before, field), new=value, reason=reason.strip(), by=by, at=now()
        )
        _save(override)
        _keep_answer(locked, found, on)
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
        locked = _locked(inquiry, "override", inquiry.version)
        override.withdrawn_by, override.withdrawn_at = by, now()
        _save(override)
        _keep_answer(locked, found, on)
        audit("override_withdraw", by=by, inquiry=locked, field=override.field, was=override.new)
    return locked


def effective(inquiry: Inquiry, without: Override | None = None) -> dict:
    """What is answered: the typed inquiry with the overrides in force."""
    rows = inquiry.overrides.filter(withdrawn_at__isnull=True).exclude(pk=without.pk if without else None)
    return with_overrides(inquiry.typed, [(row.field, row.new) for row in rows])


# --- the issued document ---------------------------------------------------------------------------------------------


def quote_approve(*, inquiry: Inquiry, by: object, on: date | None = None) -> Quote:
    """Issue the quote: number, frozen snapshot, PDF, and its hours on the board, all in one transaction."""
    policies.require(by, "approve", inquiry)
    on = on or today()
    _require_decision(inquiry, "quote")
    _require_same_answer(inquiry, on)
    value = value_a_year(inquiry.snapshot)
    if not policies.approves_alone(by, inquiry, value):
        limit = f"${policies.OWN_APPROVAL_LIMIT:,.0f}"
        raise ValidationError(f"You logged this inquiry; above {limit} a year another estimator must approve it.")
    days = selectors.rates(on).price.validity_days
    with transaction.atomic():
        locked = _locked(inquiry, "approve", inquiry.version)
        quote = _issue(locked, QUOTE, by, on, on + timedelta(days=days))
        _book(quote, locked.snapshot["chosen"]["cost"]["breaks"][0], on, firm=False)
        _move(locked, APPROVED)
        audit("quote_approve", by=by, inquiry=locked, quote=quote, digest=quote.digest, pdf_digest=quote.pdf_digest)
    return quote


def inquiry_decline(*, inquiry: Inquiry, by: object, reason: str = "", on: date | None = None) -> Quote:
    """Issue the not-a-fit letter. ``reason`` is for our file only."""
    policies.require(by, "decline", inquiry)
    on = on or today()
    _require_decision(inquiry, "not_a_fit")
    with transaction.atomic():
        locked = _locked(inquiry, "decline", inquiry.version)
        letter = _issue(locked, LETTER, by, on, on + timedelta(days=LETTER_LINK_DAYS))
        _move(locked, DECLINED)
        audit("inquiry_decline", by=by, inquiry=locked, quote=letter, digest=letter.digest, reason=reason)
    return letter


@transaction.atomic
def quote_send(*, quote: Quote, by: object) -> str:
    """Make the customer's private link and return its secret, which is shown once and kept only as a hash.

    Sending again makes a new link and ends the one before.
    """
    policies.require(by, "send", quote)
    locked = _locked(quote.inquiry, "send", quote.inquiry.version)
    kept = _latest(quote)
    _refuse_expired(kept)
    token = fresh_token()
    kept.link_hash, kept.link_revoked_at = hashed(token), None
    kept.link_expires = datetime.combine(kept.valid_until + timedelta(days=1), time(), tzinfo=UTC)
    _save(kept, exclude=["pdf"])
    _move(locked, DECLINED if kept.kind == LETTER else SENT)
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
    _save(kept, exclude=["pdf"])
    audit("link_revoke", by=by, inquiry=kept.inquiry, quote=kept)
    return kept


@transaction.atomic
def quote_won(*, quote: Quote, release: int, by: object, on: date | None = None, evidence: str = "") -> Inquiry:
    """Record the order: the quoted hours leave the board and those of the ordered release are booked firmly."""
    policies.require(by, "win", quote)
    locked = _locked(quote.inquiry, "win", quote.inquiry.version)
    kept = _latest(quote)
    price_break = _break_of(kept, release)
    _book(kept, price_break, on or today(), firm=True)
    _move(locked, WON)
    audit("quote_won", by=by, inquiry=locked, quote=kept, release=release, evidence=evidence)
    return locked


@transaction.atomic
def quote_lost(*, quote: Quote, reason: str, by: object) -> Inquiry:
    """Record that the customer went elsewhere, and why; the quoted hours leave the board."""
    policies.require(by, "lose", quote)
    if not reason.strip():
        raise ValidationError({"reason": "say why it was lost, such as price, lead time or the design changed"})
    locked = _locked(quote.inquiry, "lose", quote.inquiry.version)
    kept = _latest(quote)
    Booking.objects.filter(quote=kept.number, firm=False).delete()
    _move(locked, LOST)
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
    _check_reply(quote, kind, text, release)
    reply = CustomerReply(quote=quote, kind=kind, text=text, release=release, at=now())
    reply.full_clean()
    reply.save()
    audit(f"customer_{kind}", by=None, inquiry=quote.inquiry, quote=quote, text=text, release=release)
    return reply


def value_a_year(snapshot: dict) -> Decimal:
    """Landed value of a year's parts at the largest release [$], from a stored answer."""
    landed = Decimal(snapshot["chosen"]["cost"]["breaks"][-1]["landed_unit_price"])
    return landed * snapshot["request"]["annual"]


# --- shared steps ----------------------------------------------------------------------------------------------------


def _save(row: Any, exclude: list[str] | None = None) -> None:
    row.full_clean(exclude=exclude)
    row.save()


def _move(inquiry: Inquiry, state: str) -> None:
    inquiry.state, inquiry.version = state, inquiry.version + 1
    _save(inquiry)


def _locked(inquiry: Inquiry, action: str, version: int) -> Inquiry:
    """The row, locked until commit; refused where another version or state stands there by now."""
    locked = Inquiry.objects.select_for_update().get(pk=inquiry.pk)
    if locked.version != version:
        last = selectors.history(locked).first()
        who = (last.by.get_full_name() or last.by.get_username()) if last and last.by else "someone else"
        raise ConflictError(f"{locked.number} was changed by {who} in the meantime; load it again and look.")
    moves = policies.ACTS[action].moves
    if locked.state not in moves:
        standing, needed = locked.get_state_display(), " or ".join(state.replace("_", " ") for state in moves)
        raise StateError(f"{locked.number} is {standing}; to {policies.ACTS[action].words} it, it must be {needed}.")
    return locked


def _read_heading(inquiry: Inquiry) -> None:
    """Customer and reference as far as they can be read; the typed inquiry stays the truth."""
    reference = value_at(inquiry.typed, "reference")
    inquiry.reference = reference[:200] if isinstance(reference, str) else ""
    given = {name: value_at(inquiry.typed, f"customer.{name}") for name in ("company", "contact", "email")}
    inquiry.customer = None
    if all(isinstance(value, str) and 0 < len(value.strip()) <= 200 for value in given.values()):
        given = {name: value.strip() for name, value in given.items()}
        try:
            Customer(**given).clean_fields()
        except ValidationError:
            return
        inquiry.customer, _ = Customer.objects.get_or_create(**given)


def _forget_answer(inquiry: Inquiry) -> None:
    inquiry.snapshot, inquiry.decision, inquiry.errors, inquiry.data_digest = None, "", [], ""
    inquiry.answered_at = inquiry.answered_on = None
    inquiry.state, inquiry.version = RECEIVED, inquiry.version + 1


def _keep_answer(inquiry: Inquiry, found: Outcome, on: date) -> None:
    inquiry.snapshot, inquiry.decision, inquiry.errors = found.snapshot, found.decision, list(found.errors)
    inquiry.data_digest, inquiry.answered_at, inquiry.answered_on = found.digest, now(), on
    unready = found.decision in (BAD_INPUT, "needs_information")
    _move(inquiry, NEEDS_INFORMATION if unready else ANSWERED)


def _refuse_wrong(field: str, found: Outcome) -> None:
    wrong = [
        error
        for error in found.errors
        if error["field"] == field or error["field"].startswith((f"{field}.", f"{field}["))
    ]
    if wrong:
        raise ValidationError({"value": [error["message"] for error in wrong]})


def _require_decision(inquiry: Inquiry, decision: str) -> None:
    if inquiry.state == ANSWERED and inquiry.decision != decision:
        words = {"quote": "a quote", "not_a_fit": "not a fit"}
        raise ValidationError(
            f"The answer to {inquiry.number} is not {words[decision].removeprefix('not ')}."
            if decision == "not_a_fit"
            else f"The answer to {inquiry.number} is no quote."
        )


def _require_same_answer(inquiry: Inquiry, on: date) -> None:
    """The answer must still be what today's plants, sheet, rates and bookings give."""
    if inquiry.state != ANSWERED:
        return  # _locked refuses with the better words
    again = outcome(effective(inquiry), selectors.catalog(on), inquiry.answered_on)
    if again.digest != inquiry.data_digest:
        raise ConflictError(
            f"Since {inquiry.number} was answered, a rate, a sheet price, a machine or the booked work has changed; "
            "answer it again and look at the new figures before approving."
        )


def _issue(inquiry: Inquiry, kind: str, by: object, on: date, valid_until: date) -> Quote:
    last = inquiry.quotes.filter(kind=kind).order_by("-revision").first()
    number = last.number if last else next_number("Q" if kind == QUOTE else "L", on.year)
    revision = last.revision + 1 if last else 1
    heading = {"number": number, "revision": revision, "issued_on": on}
    heading["prepared_by"] = by.get_full_name() or by.get_username()
    if kind == QUOTE:
        pdf = render_quote(inquiry.snapshot, **heading, valid_until=valid_until)
    else:
        pdf = render_letter(inquiry.snapshot, **heading)
    quote = Quote(
        number=number, revision=revision, inquiry=inquiry, kind=kind, snapshot=inquiry.snapshot,
        digest=inquiry.data_digest, pdf=pdf, pdf_digest=sha256(pdf).hexdigest(), issued_by=by, issued_at=now(),
        valid_until=valid_until,
    )  # fmt: skip
    _save(quote, exclude=["pdf"])
    return quote


def _latest(quote: Quote) -> Quote:
    """The row, locked; refused where a later revision has been issued."""
    kept = Quote.objects.select_for_update().get(pk=quote.pk)
    if kept.is_superseded:
        raise StateError(f"{kept} has been replaced by a later revision.")
    return kept


def _refuse_expired(quote: Quote) -> None:
    if quote.valid_until < today():
        raise StateError(
            f"{quote} was valid until {quote.valid_until:%d %b %Y}; revise the inquiry and answer it again."
        )


def _break_of(quote: Quote, release: int) -> dict:
    breaks = {one["quantity"]: one for one in quote.snapshot["chosen"]["cost"]["breaks"]}
    if release not in breaks:
        listed = ", ".join(str(quantity) for quantity in breaks)
        raise ValidationError({"release": f"got {release}; accepted is one of the quoted releases {listed}"})
    return breaks[release]


def _book(quote: Quote, price_break: dict, on: date, *, firm: bool) -> None:
    """Put the press hours of one release on the board in place of what this quote had there."""
    Booking.objects.filter(quote=quote.number).delete()
    code = quote.snapshot["chosen"]["judged"]["planned"]["candidate"]["machine"]["code"]
    machine = Machine.objects.select_related("plant").get(code=code)
    plant = machine.plant
    weekly = plant.shifts_per_day * plant.hours_per_shift * plant.days_per_week
    label = f"{quote.number} {quote.inquiry.part_name}"[:120]
    for taken in laid_out(price_break["press_hours"], on, price_break["lead_time_weeks"], weekly):
        _save(Booking(machine=machine, week=taken.week, hours=taken.hours, firm=firm, label=label, quote=quote.number))


def _check_reply(quote: Quote, kind: str, text: str, release: int | None) -> None:
    if kind == OPENED:
        return
    if kind == CHANGE and not text:
        raise ValidationError({"text": "say what should change"})
    if quote.kind == LETTER:
        raise StateError("This letter offers nothing to accept or change; please write to us instead.")
    if quote.is_superseded:
        raise StateError("This quote has been replaced by a newer revision; please ask for its link.")
    if quote.inquiry.state != SENT:
        raise StateError("This quote can no longer be answered here; please call us.")
    if quote.valid_until < today():
        raise StateError(f"This quote was valid until {quote.valid_until:%d %b %Y}; please ask for a new one.")
    if kind == ACCEPTED:
        _break_of(quote, release)
        if quote.replies.filter(kind=ACCEPTED).exists():
            raise StateError("This quote has been accepted already for another quantity; please call us to change it.")
