"""The steps that the deeds share: lock and look, keep an answer, issue a document, book its hours."""

import json
from dataclasses import dataclass, replace
from datetime import date, datetime
from hashlib import sha256
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.timezone import localtime

from quoting.catalog import Catalog
from quoting.contract import digest
from quoting.documents.pdf import render_letter, render_quote
from quoting.intake.reading import with_overrides
from quoting.intake.reading_result import InputErrors
from quoting.planning.jobs import job_write, jobs_drop
from quoting.planning.occupying import occupied
from quoting.quotes import master_data, policies, selectors
from quoting.quotes.answers import BAD_INPUT, Outcome, catalog_digest, outcome, value_at
from quoting.quotes.bases import keep_basis, quoted_in
from quoting.quotes.issue_records import Heading, issue_record
from quoting.quotes.models import (
    ANSWERED,
    NEEDS_INFORMATION,
    QUOTE,
    RECEIVED,
    WAITS_FOR_MANAGER,
    Customer,
    Inquiry,
    Override,
    Quote,
    Review,
)
from quoting.quotes.records import expected_number, next_number, now, today
from quoting.quotes.reviewing import Item

LARGEST_INQUIRY = 200_000  # bytes; the longest sensible one has a few thousand
_DECISIONS = {"quote": "a quote: approve it", "not_a_fit": "not a fit: decline it with a letter"}


class StateError(ValidationError):
    """The inquiry does not stand where this can be done."""


class ConflictError(ValidationError):
    """Someone else changed the inquiry in between, or the data behind its answer did."""


class DataChangedError(ConflictError):
    """Rates, plants, sheet or booked work behind an answer changed, so that it would come out otherwise today."""


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
    kept = Inquiry.objects.select_for_update(no_key=True).get(pk=inquiry.pk)
    require_version(kept, version)
    require_state(kept, action)
    return kept


def require_version(kept: Inquiry, version: int | None) -> None:
    """Nobody may have changed the locked inquiry since the version that was looked at, where one is named."""
    if version is not None and kept.version != version:
        raise ConflictError(f"{kept.number} was changed by {last_hand(kept)} in the meantime; load it again and look.")


def held(quote: Quote) -> Quote:
    """The issued document as it stands, locked after its inquiry: in the order of every deed, so that no two of them
    wait for each other. Keys never change, so rows that only refer to the two are written meanwhile.
    """
    Inquiry.objects.select_for_update(no_key=True).only("pk").get(pk=quote.inquiry_id)
    return Quote.objects.select_for_update(no_key=True).get(pk=quote.pk)


def require_state(inquiry: Inquiry, action: str) -> None:
    """The inquiry must stand where the table of deeds lets this be done."""
    moves = policies.ACTS[action].moves
    if inquiry.state not in moves:
        standing, needed = inquiry.get_state_display(), " or ".join(state.replace("_", " ") for state in moves)
        words = policies.ACTS[action].words
        raise StateError(
            f"{inquiry.number} is {standing}; to {words} this inquiry, it must be {needed}. "
            f"It was changed last by {last_hand(inquiry)}."
        )


def last_hand(inquiry: Inquiry) -> str:
    """Who changed an inquiry last, and when by the clock of the office."""
    last = selectors.changes(inquiry).first()
    if last is None:
        return "someone else"
    who = (last.by.get_full_name() or last.by.get_username()) if last.by else "the customer"
    return f"{who} at {localtime(last.at):%H:%M on %d %b %Y}"


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


def keep_answer(inquiry: Inquiry, found: Outcome, on: date, catalog: Catalog) -> None:
    """The answer, and the data that it was computed from."""
    master_data.keep(found.catalog_digest, catalog)
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


def require_confirmed(items: tuple[Item, ...], confirmed: tuple[str, ...]) -> None:
    """Every item of the review must have been ticked."""
    left = [one.text for one in items if one.key not in confirmed]
    if left:
        raise ValidationError({"confirmed": [f"Not confirmed yet: {text}" for text in left]})


def require_decision(inquiry: Inquiry, decision: str) -> None:
    """The stored answer must be of that kind; an inquiry without an answer is refused by ``locked``."""
    if inquiry.state in (ANSWERED, WAITS_FOR_MANAGER) and inquiry.decision != decision:
        raise StateError(f"The answer to {inquiry.number} is {_DECISIONS[inquiry.decision]}.")


def require_same_answer(inquiry: Inquiry, on: date) -> str:
    """The answer must still be what today's plants, sheet, rates and bookings give. Digest of the data behind it."""
    catalog = selectors.catalog(on)
    today_digest = catalog_digest(catalog)
    if inquiry.state not in (ANSWERED, WAITS_FOR_MANAGER):
        return today_digest  # ``locked`` refuses with the better words
    if today_digest != inquiry.catalog_digest:
        again = outcome(effective(inquiry), catalog, inquiry.answered_on)
        if again.digest != inquiry.data_digest:
            raise DataChangedError(
                f"Since {inquiry.number} was answered, a rate, a sheet price, a machine or the booked work has "
                "changed, and the answer with it; look at what changed and answer it again first."
            )
    master_data.keep(today_digest, catalog)
    return today_digest


def require_same_data(on: date, seen: str) -> None:
    """The data must be those that were compared before the transaction began."""
    if catalog_digest(selectors.catalog(on)) != seen:
        raise DataChangedError("A rate, a sheet price, a machine or the booked work changed just now; look again.")


@dataclass(frozen=True)
class Draft:
    """A document made before its number is taken: what it is about, its record, the record's digest, its bytes."""

    heading: Heading
    before: Quote | None
    record: dict
    digest: str
    pdf: bytes


@dataclass(frozen=True)
class Issuing:
    """What one document is made from. ``prepared_by`` answers for it, ``by`` issues it; mostly they are one person."""

    inquiry: Inquiry
    kind: str
    by: Any
    prepared_by: Any
    on: date
    valid_until: date
    catalog_digest: str
    at: datetime
    reviews: tuple[Review, ...] = ()

    @property
    def series(self) -> str:
        return "Q" if self.kind == QUOTE else "L"

    def draft(self) -> Draft:
        """The document under its number: the inquiry's own for a revision, else the one that is expected next.

        Made outside the transaction that issues, since printing takes seconds and the number's counter waits meanwhile.
        """
        before = self.inquiry.quotes.filter(kind=self.kind).order_by("-revision").first()
        number = before.number if before else expected_number(self.series, self.on.year)
        revision = before.revision + 1 if before else 1
        heading = Heading(self.kind, number, revision, self.at, self.on, self.valid_until)
        record = issue_record(
            self.inquiry, heading, catalog_digest=self.catalog_digest, by=self.by, prepared_by=self.prepared_by,
            before=before, reviews=self.reviews,
        )  # fmt: skip
        return self._printed(heading, before, record)

    def renumbered(self, draft: Draft, number: str) -> Draft:
        """The same first revision under another number; nothing is read again, since the counter is locked."""
        heading = replace(draft.heading, number=number)
        return self._printed(heading, None, draft.record | {"number": number})

    def _printed(self, heading: Heading, before: Quote | None, record: dict) -> Draft:
        record_digest = digest(record)
        told = {"number": heading.number, "revision": heading.revision, "issued_on": self.on, "digest": record_digest}
        told["prepared_by"] = self.prepared_by.get_full_name() or self.prepared_by.get_username()
        if self.kind == QUOTE:
            pdf = render_quote(self.inquiry.snapshot, **told, valid_until=self.valid_until)
        else:
            pdf = render_letter(self.inquiry.snapshot, **told)
        return Draft(heading, before, record, record_digest, pdf)


def issue(locked_inquiry: Inquiry, issuing: Issuing, draft: Draft) -> Quote:
    """Take the number and keep the document, inside the caller's transaction, which holds the inquiry.

    The counter is locked from here to the commit. Where somebody else took the expected number meanwhile, the
    document is printed again under its own.
    """
    if draft.before is None:
        number = next_number(issuing.series, issuing.on.year)
        if number != draft.heading.number:
            draft = issuing.renumbered(draft, number)
    quote = Quote(
        number=draft.heading.number, revision=draft.heading.revision, inquiry=locked_inquiry, kind=issuing.kind,
        snapshot=locked_inquiry.snapshot, digest=locked_inquiry.data_digest, pdf=draft.pdf,
        pdf_digest=sha256(draft.pdf).hexdigest(), issued_by=issuing.prepared_by, issued_at=issuing.at,
        valid_until=issuing.valid_until, record=draft.record, record_digest=draft.digest, supersedes=draft.before,
    )  # fmt: skip
    save(quote, exclude=["pdf"])
    locked_inquiry.derive_search_text()
    locked_inquiry.save(update_fields=["search_text"])
    return quote


def latest(quote: Quote) -> Quote:
    """The row, locked; refused where a later revision has been issued."""
    kept = Quote.objects.select_for_update(no_key=True).get(pk=quote.pk)
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
    """Write the job of one release and put its hours on the board, in place of what this quote had there."""
    inquiry = quote.inquiry
    job_write(
        quote=quote.number,
        part=inquiry.part_name,
        customer=inquiry.customer.company if inquiry.customer else "",
        occupied=occupied(quote.snapshot, price_break, float(selectors.rates(on).price.first_article_weeks)),
        since=on,
        won=firm,
        valid_until=None if firm else quote.valid_until,
    )


def unbook(inquiry: Inquiry) -> None:
    """Take the quoted hours and jobs of an inquiry off the board."""
    jobs_drop(quotes=tuple(inquiry.quotes.values_list("number", flat=True)))
