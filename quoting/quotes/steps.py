"""The steps that the deeds share: lock and look, keep an answer, issue a document, book its hours."""

import json
from datetime import date
from hashlib import sha256
from typing import Any

from django.core.exceptions import ValidationError

from machines.loading import hours_available
from machines.models import Booking, Machine
from quoting.documents.pdf import render_letter, render_quote
from quoting.intake.reading import with_overrides
from quoting.intake.reading_result import InputErrors
from quoting.quotes import policies, selectors
from quoting.quotes.answers import BAD_INPUT, Outcome, catalog_digest, outcome, value_at
from quoting.quotes.bases import keep_basis, quoted_in
from quoting.quotes.bookings import laid_out
from quoting.quotes.models import (
    ACCEPTED,
    ANSWERED,
    CHANGE,
    LETTER,
    NEEDS_INFORMATION,
    OPENED,
    QUOTE,
    RECEIVED,
    SENT,
    Customer,
    Inquiry,
    Override,
    Quote,
)
from quoting.quotes.records import next_number, now, today

LARGEST_INQUIRY = 200_000  # bytes; the longest sensible one has a few thousand
_DECISIONS = {"quote": "a quote: approve it", "not_a_fit": "not a fit: decline it with a letter"}


class StateError(ValidationError):
    """The inquiry does not stand where this can be done."""


class ConflictError(ValidationError):
    """Someone else changed the inquiry in between, or the data behind its answer did."""


def effective(inquiry: Inquiry, without: Override | None = None) -> dict:
    """What is answered: the typed inquiry with the overrides in force."""
    rows = inquiry.overrides.filter(withdrawn_at__isnull=True).exclude(pk=without.pk if without else None)
    return overridden(inquiry.typed, tuple((row.field, row.new) for row in rows))


def overridden(typed: object, overrides: tuple[tuple[str, str], ...]) -> object:
    """The typed inquiry with (field, text) pairs in place; ValidationError for a field that an inquiry has not."""
    if not isinstance(typed, dict):
        return typed  # the reader refuses it by name
    try:
        return with_overrides(typed, overrides)
    except InputErrors as errors:
        raise ValidationError({"field": [error.message for error in errors.errors]}) from errors


def save(row: Any, exclude: list[str] | None = None) -> None:
    row.full_clean(exclude=exclude)
    row.save()


def save_link(quote: Quote) -> None:
    """Only the link of an issued document is written: a database role needs no right to more."""
    quote.full_clean(exclude=["pdf"])
    quote.save(update_fields=["link_hash", "link_expires", "link_revoked_at"])


def move(inquiry: Inquiry, state: str) -> None:
    """Only the state changes; the long columns are not written again."""
    inquiry.state, inquiry.version = state, inquiry.version + 1
    inquiry.full_clean(exclude=["typed", "snapshot", "errors"])
    inquiry.save(update_fields=["state", "version"])


def require_storable(typed: object) -> None:
    """What is kept as typed must be a JSON object that every database takes: finite, no NUL, not endless."""
    try:
        text = json.dumps(typed, allow_nan=False, ensure_ascii=False)
        size = len(text.encode())
    except (TypeError, ValueError, RecursionError) as error:
        raise ValidationError({"typed": "accepted is an inquiry of plain JSON values"}) from error
    if not isinstance(typed, dict) or "\\u0000" in text or size > LARGEST_INQUIRY:
        raise ValidationError({"typed": "accepted is a JSON object without NUL characters, at most 200 kB"})


def locked(inquiry: Inquiry, action: str, version: int | None = None) -> Inquiry:
    """The row, locked until commit; refused where another version (if asked) or a wrong state stands there by now."""
    kept = Inquiry.objects.select_for_update().get(pk=inquiry.pk)
    if version is not None and kept.version != version:
        last = selectors.history(kept).first()
        who = (last.by.get_full_name() or last.by.get_username()) if last and last.by else "someone else"
        raise ConflictError(f"{kept.number} was changed by {who} in the meantime; load it again and look.")
    moves = policies.ACTS[action].moves
    if kept.state not in moves:
        standing, needed = kept.get_state_display(), " or ".join(state.replace("_", " ") for state in moves)
        words = policies.ACTS[action].words
        raise StateError(f"{kept.number} is {standing}; to {words} this inquiry, it must be {needed}.")
    return kept


def read_heading(inquiry: Inquiry) -> None:
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


def forget_answer(inquiry: Inquiry) -> None:
    inquiry.snapshot, inquiry.decision, inquiry.errors = None, "", []
    inquiry.data_digest = inquiry.catalog_digest = ""
    inquiry.answered_at = inquiry.answered_on = None
    inquiry.state, inquiry.version = RECEIVED, inquiry.version + 1


def keep_answer(inquiry: Inquiry, found: Outcome, on: date) -> None:
    inquiry.snapshot, inquiry.decision, inquiry.errors = found.snapshot, found.decision, list(found.errors)
    inquiry.data_digest, inquiry.catalog_digest = found.digest, found.catalog_digest
    inquiry.answered_at, inquiry.answered_on = now(), on
    unready = found.decision in (BAD_INPUT, "needs_information")
    inquiry.state, inquiry.version = NEEDS_INFORMATION if unready else ANSWERED, inquiry.version + 1
    save(inquiry)
    if found.candidates:
        keep_basis(inquiry, quoted_in(found.snapshot), found.candidates, found.physics)


def refuse_wrong(field: str, found: Outcome) -> None:
    """Refuse an override whose own field is wrong; other wrong fields of the inquiry do not concern it."""
    wrong = [error["message"] for error in found.errors if error["field"].partition("[")[0].startswith(field)]
    if wrong:
        raise ValidationError({"value": wrong})


def require_decision(inquiry: Inquiry, decision: str) -> None:
    """The stored answer must be of that kind; an inquiry without an answer is refused by ``locked``."""
    if inquiry.state == ANSWERED and inquiry.decision != decision:
        raise StateError(f"The answer to {inquiry.number} is {_DECISIONS[inquiry.decision]}.")


def require_same_answer(inquiry: Inquiry, on: date) -> None:
    """The answer must still be what today's plants, sheet, rates and bookings give."""
    if inquiry.state != ANSWERED:
        return  # ``locked`` refuses with the better words
    catalog = selectors.catalog(on)
    if catalog_digest(catalog) == inquiry.catalog_digest:
        return
    again = outcome(effective(inquiry), catalog, inquiry.answered_on)
    if again.digest != inquiry.data_digest:
        raise ConflictError(
            f"Since {inquiry.number} was answered, a rate, a sheet price, a machine or the booked work has changed; "
            "answer it again and look at the new figures before approving."
        )


def issue(inquiry: Inquiry, kind: str, by: object, on: date, valid_until: date) -> Quote:
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
    save(quote, exclude=["pdf"])
    inquiry.derive_search_text()
    inquiry.save(update_fields=["search_text"])
    return quote


def latest(quote: Quote) -> Quote:
    """The row, locked; refused where a later revision has been issued."""
    kept = Quote.objects.select_for_update().get(pk=quote.pk)
    if kept.is_superseded:
        raise StateError(f"{kept} has been replaced by a later revision.")
    return kept


def refuse_expired(quote: Quote) -> None:
    if quote.valid_until < today():
        raise StateError(
            f"{quote} was valid until {quote.valid_until:%d %b %Y}; revise the inquiry and answer it again."
        )


def break_of(quote: Quote, release: int) -> dict:
    breaks = {one["quantity"]: one for one in quote.snapshot["chosen"]["cost"]["breaks"]}
    if release not in breaks:
        listed = ", ".join(str(quantity) for quantity in breaks)
        raise ValidationError({"release": f"got {release}; accepted is one of the quoted releases {listed}"})
    return breaks[release]


def book(quote: Quote, price_break: dict, on: date, *, firm: bool) -> None:
    """Put the press hours of one release on the board in place of what this quote had there."""
    Booking.objects.filter(quote=quote.number).delete()
    code = quote.snapshot["chosen"]["judged"]["planned"]["candidate"]["machine"]["code"]
    machine = Machine.objects.select_related("plant").get(code=code)
    weekly = hours_available(machine.plant.to_domain(), machine.to_domain())
    label = f"{quote.number} {quote.inquiry.part_name}"[:120]
    for taken in laid_out(price_break["press_hours"], on, price_break["lead_time_weeks"], weekly):
        save(Booking(machine=machine, week=taken.week, hours=taken.hours, firm=firm, label=label, quote=quote.number))


def unbook(inquiry: Inquiry) -> None:
    """Take the quoted hours of an inquiry off the board."""
    Booking.objects.filter(quote__in=inquiry.quotes.values_list("number", flat=True), firm=False).delete()


def check_reply(quote: Quote, kind: str, text: str, release: int | None) -> None:
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
        break_of(quote, release)
        if quote.replies.filter(kind=ACCEPTED).exists():
            raise StateError("This quote has been accepted already for another quantity; please call us to change it.")
