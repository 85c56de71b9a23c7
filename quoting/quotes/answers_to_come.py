"""Answers that have to wait for a model: nobody waits with them. The inquiry is kept, the answer follows by itself."""

from datetime import date

from django.contrib.auth import get_user_model
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django_tasks import task

from quoting.intake.reading_result import InputErrors
from quoting.quotes import answers, model_reports, policies, selectors, services, steps
from quoting.quotes.answers import read_at_once, value_at
from quoting.quotes.background import enqueue
from quoting.quotes.models import RECEIVED, Inquiry, Override
from quoting.quotes.records import now, today
from quoting.quotes.trying_again import tried_again


def inquiry_answer_soon(*, inquiry: Inquiry, on: date, by: object) -> bool:
    """Answer an inquiry at once, or in the background where its model has to be measured first; whether at once."""
    if can_be_answered_now(inquiry, on):
        services.inquiry_answer(inquiry=inquiry, on=on, by=by)
        model_reports.report_ask_once(inquiry=inquiry, by=by)
        return True
    _ask(inquiry, by)
    return False


def can_be_answered_now(inquiry: Inquiry, on: date) -> bool:
    if not model_reports.model_of(inquiry):
        return True
    names = tuple(polymer.name for polymer in selectors.catalog(on).polymers)
    try:
        return read_at_once(model_reports.answered_inquiry(inquiry), on=on, polymer_names=names)
    except InputErrors:
        return True  # wrong without its model already: that is its answer


def require_measured(
    inquiry: Inquiry, *, on: date, override: tuple[str, str] | None = None, without: Override | None = None
) -> None:
    """Before a deed that answers in the request: ValidationError where its model has to be measured for longer first.

    ``override`` is a field and its text that the deed puts in place; ``without`` is an override that it takes back.
    """
    raw = steps.overridden(steps.effective(inquiry, without), (override,) if override else ())
    if value_at(raw, "part.model"):
        names = tuple(polymer.name for polymer in selectors.catalog(on).polymers)
        answers.require_measured(raw, on=on, polymer_names=names)


@tried_again
@transaction.atomic
def _ask(inquiry: Inquiry, by: object) -> None:
    policies.require(by, "answer", inquiry)
    enqueue(answer_inquiry, inquiry.pk, inquiry.version, by.pk)


@task()
def answer_inquiry(inquiry: int, version: int, by: int) -> str:
    """Measure the model and answer, unless the inquiry was changed or answered meanwhile; harmless to run again."""
    kept, person = Inquiry.objects.get(pk=inquiry), get_user_model().objects.get(pk=by)
    if kept.version != version:
        return "changed since"
    try:
        services.inquiry_answer(inquiry=kept, on=today(), by=person)
        kept.refresh_from_db()
        model_reports.report_ask_once(inquiry=kept, by=person)
    except (PermissionDenied, ValidationError) as refused:
        return f"not answered: {refused}"
    return "answered"


def is_to_come(inquiry: Inquiry) -> bool:
    """Whether the inquiry waits for its model to be measured."""
    return inquiry.state == RECEIVED and bool(model_reports.model_of(inquiry))


def is_lost(inquiry: Inquiry) -> bool:
    """Whether it has waited for longer than any model takes."""
    last = selectors.changes(inquiry).first()
    return last is not None and now() - last.at > model_reports.PATIENCE
