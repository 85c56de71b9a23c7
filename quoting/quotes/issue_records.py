"""The record of an issued document: every input it rests on, by value or by digest, and the code that made it."""

from dataclasses import dataclass
from datetime import date, datetime
from hashlib import file_digest
from typing import Any

from django.conf import settings

from quoting.quotes.answers import value_at
from quoting.quotes.code_version import code_version
from quoting.quotes.drawings import drawings_folder
from quoting.quotes.models import Inquiry, Quote, Review

SCHEMA = 1  # of the record; a later shape counts on


@dataclass(frozen=True)
class Heading:
    """What a document says of itself before its content."""

    kind: str
    number: str
    revision: int
    issued_at: datetime
    issued_on: date
    valid_until: date


def issue_record(
    inquiry: Inquiry, heading: Heading, *, catalog_digest: str, by: object, prepared_by: object,
    before: Quote | None, reviews: tuple[Review, ...],
) -> dict:  # fmt: skip
    """Typed inquiry, overrides, reviews, digests of answer and master data, who issued it when, and the code."""
    return {
        "schema": SCHEMA,
        "kind": heading.kind,
        "number": heading.number,
        "revision": heading.revision,
        "supersedes": f"{before.number} revision {before.revision}" if before else None,
        "inquiry": inquiry.number,
        "inquiry_version": inquiry.version,
        "typed": inquiry.typed,
        "overrides": [_override(one) for one in inquiry.overrides.filter(withdrawn_at=None).select_related("by")],
        "model": _model(inquiry),
        "decision": inquiry.decision,
        "answered_on": inquiry.answered_on.isoformat(),
        "answer_digest": inquiry.data_digest,
        "catalog_digest": catalog_digest,
        "reviews": [_review(one) for one in (*reviews_of_answer(inquiry), *reviews)],
        "issued_at": heading.issued_at.isoformat(),
        "issued_on": heading.issued_on.isoformat(),
        "valid_until": heading.valid_until.isoformat(),
        "time_zone": settings.TIME_ZONE,
        "prepared_by": prepared_by.get_username(),
        "issued_by": by.get_username(),
        "code": code_version(),
    }


def reviews_of_answer(inquiry: Inquiry) -> list[Review]:
    """What was confirmed of the answer as it stands, oldest first; older answers' reviews do not count."""
    found = inquiry.reviews.filter(data_digest=inquiry.data_digest).select_related("by")
    rows = list(found)
    last_back = max((place for place, one in enumerate(rows) if one.kind == "sent_back"), default=-1)
    return rows[last_back + 1 :]


def _override(one: Any) -> dict:
    return {
        "field": one.field, "old": one.old, "new": one.new, "reason": one.reason, "by": one.by.get_username(),
        "at": one.at.isoformat(),
    }  # fmt: skip


def _review(one: Review) -> dict:
    return {
        "kind": one.kind, "confirmed": one.confirmed, "reasons": one.reasons, "note": one.note,
        "by": one.by.get_username(), "at": one.at.isoformat(),
    }  # fmt: skip


def _model(inquiry: Inquiry) -> dict | None:
    """Name and digest of the CAD model, whose file lies among the drawings."""
    name = value_at(inquiry.typed, "part.model")
    if not isinstance(name, str) or not name:
        return None
    path = drawings_folder() / name
    if not path.is_file():
        return {"file": name, "digest": ""}
    with path.open("rb") as file:
        return {"file": name, "digest": file_digest(file, "sha256").hexdigest()}
