"""Logging an inquiry once for each filled-in form, however often the form arrives."""

from datetime import timedelta

from django.contrib.auth import get_user_model
from django.db import transaction

from quoting.quotes import policies, services
from quoting.quotes.links import hashed
from quoting.quotes.models import AuditEntry, Inquiry
from quoting.quotes.records import now
from quoting.quotes.trying_again import tried_again

FORMS_KNOWN = timedelta(days=30)  # how long a form that was sent is known again; our choice


class OtherWordsError(services.StateError):
    """A form that was sent already came again with other values; ``before`` is what it logged."""

    def __init__(self, before: Inquiry):
        super().__init__(
            f"This form was sent already and is kept as {before.number}, with other values than these. Change it "
            "there, or save again to log another inquiry."
        )
        self.before = before


@tried_again
@transaction.atomic
def inquiry_log_once(*, typed: dict, by: object, form: str) -> tuple[Inquiry, bool]:
    """Keep a new inquiry, or find the one that this person's form logged before: (inquiry, whether it is new).

    ``form`` names one filled-in form; without it every call logs. Raises OtherWordsError for a known form that tells
    something else. The person's row is locked meanwhile, so that of many same forms at once one logs.
    """
    policies.require(by, "log_inquiry")
    if not form:
        return services.inquiry_log(typed=typed, by=by), True
    get_user_model().objects.select_for_update(no_key=True).get(pk=by.pk)
    made = Inquiry.objects.filter(created_by=by, created_at__gt=now() - FORMS_KNOWN).values("pk")
    entries = AuditEntry.objects.filter(inquiry__in=made, action="inquiry_log", detail__form_digest=hashed(form))
    before = entries.select_related("inquiry").defer("inquiry__snapshot", "inquiry__front").first()
    if before is None:
        return services.inquiry_log(typed=typed, by=by, form_digest=hashed(form)), True
    if _without_file(before.detail["typed"]) != _without_file(typed):
        raise OtherWordsError(before.inquiry)
    return before.inquiry, False


def _without_file(typed: dict) -> dict:
    """A model that is sent again is kept under another name, which is no other value."""
    part = typed.get("part")
    if not isinstance(part, dict):
        return typed
    return typed | {"part": {key: value for key, value in part.items() if key != "model"}}
