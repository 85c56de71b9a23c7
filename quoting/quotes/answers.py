"""From a kept inquiry to its answer as stored: typed values with overrides, through the answering core."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError

from quoting.answer import Answer
from quoting.answering import answered, answered_of, judged_groups
from quoting.catalog import Catalog
from quoting.contract import digest, to_plain
from quoting.intake.reading import OF_MODEL, read_inquiry
from quoting.intake.reading_result import InputErrors, Reading
from quoting.quotes.bases import kept_candidates, physics_of
from quoting.quotes.collecting import collector_at_rest
from quoting.quotes.drawings import drawings_folder
from quoting.quotes.model_memory import NotMeasuredError, only_remembered, remembered, remembered_soon

BAD_INPUT = "bad_input"
MEASURED_ANEW = (
    "The CAD model has to be measured anew for this, which takes some seconds and goes on by itself. Nothing was "
    "changed yet: send it again in a moment."
)


@dataclass(frozen=True)
class Outcome:
    """The stored form of one attempt to answer: a snapshot, or the wrong fields."""

    decision: str
    snapshot: dict | None
    digest: str
    catalog_digest: str
    errors: tuple[dict, ...] = ()
    candidates: str = ""  # of a quote: what new rates will not change of it, see ``bases``
    physics: str = ""


def outcome(raw: object, catalog: Catalog, on: date) -> Outcome:
    """Answer an inquiry in the contract's format; bad input is an outcome too, not an exception."""
    data = catalog_digest(catalog)
    names = tuple(polymer.name for polymer in catalog.polymers)
    try:
        reading = read_kept(raw, on=on, polymer_names=names)
    except InputErrors as errors:
        return Outcome(BAD_INPUT, None, "", data, tuple(_error(error) for error in errors.errors))
    with collector_at_rest():
        if reading.request is None:
            return _outcome(answered(reading, catalog, on), data)
        groups = judged_groups(reading.request, catalog, on)
        found = _outcome(answered_of(reading, groups, catalog, on), data)
        if found.decision != "quote":
            return found
        return replace(found, candidates=kept_candidates(reading.request, groups), physics=physics_of(catalog, on))


def _outcome(answer: Answer, data: str) -> Outcome:
    snapshot = to_plain(answer)
    return Outcome(answer.decision, snapshot, digest(snapshot), data)


def read_kept(raw: object, *, on: date, polymer_names: tuple[str, ...], wait: bool = True) -> Reading:
    """Read an inquiry whose model lies among the drawings; what was found out about a model before is remembered.

    Without ``wait`` NotMeasuredError where its model would have to be measured first.
    """
    run = remembered if wait else only_remembered
    return read_inquiry(raw, on=on, polymer_names=polymer_names, base_dir=drawings_folder(), run=run)


def read_at_once(raw: object, *, on: date, polymer_names: tuple[str, ...]) -> bool:
    """Read an inquiry as far as that needs no measuring; whether that was all of it. InputErrors as ``read_kept``."""
    try:
        read_kept(raw, on=on, polymer_names=polymer_names, wait=settings.MODEL_REPORTS == "at once")
    except NotMeasuredError:
        read_kept(without_model(raw), on=on, polymer_names=polymer_names)
        return False
    return True


def require_measured(raw: object, *, on: date, polymer_names: tuple[str, ...]) -> None:
    """Have the model measured as an inquiry asks it, unless it was; a request waits for it no longer than a moment.

    Raises
    ------
    ValidationError
        That it takes longer and to come again; or why the model cannot be used as it is asked.
    """
    if settings.MODEL_REPORTS == "at once" or not value_at(raw, "part.model"):
        return
    try:
        read_inquiry(raw, on=on, polymer_names=polymer_names, base_dir=drawings_folder(), run=remembered_soon)
    except NotMeasuredError:
        raise ValidationError(MEASURED_ANEW) from None
    except InputErrors as errors:
        of_model = [f"Not taken: {error.message}." for error in errors.errors if error.field in OF_MODEL]
        if of_model:
            raise ValidationError(of_model) from errors


def without_model(raw: dict) -> dict:
    """The same inquiry without its model and what was said of it."""
    bare = {key.removeprefix("part.") for key in OF_MODEL}
    return raw | {"part": {key: value for key, value in raw["part"].items() if key not in bare}}


def catalog_digest(catalog: Catalog) -> str:
    """SHA-256 of all that an answer is computed from; quoted work is left out, since it blocks nothing."""
    won = tuple(booking for booking in catalog.workload if booking.firm)
    return digest(to_plain(replace(catalog, workload=won)))


def _error(error: Any) -> dict:
    return {"field": error.field, "given": error.given, "accepted": error.accepted, "message": error.message}


def value_at(typed: object, field: str) -> Any:
    """The value at a dotted field such as part.length; None where nothing stands there."""
    for key in field.split("."):
        typed = typed.get(key) if isinstance(typed, dict) else None
    return typed
