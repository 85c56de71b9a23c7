"""People of each role, and demo inquiries answered once for the whole run and kept in several states."""

import json
from functools import cache
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.cache import caches
from django.db import transaction

from quoting.quotes import models, policies, selectors, services
from quoting.quotes.answers import Outcome, outcome
from quoting.quotes.reviewing import KEYS

INQUIRIES = Path(settings.BASE_DIR) / "fixtures" / "demo" / "inquiries"
QUOTED, NOT_A_FIT, INCOMPLETE = "01-equipment-cover", "10-texture-without-draft", "19-kiosk-shroud-no-depth"


@cache
def typed(name: str) -> dict:
    return json.loads((INQUIRIES / f"{name}.json").read_text())


_answers: dict[str, Outcome] = {}


def answer_of(name: str) -> Outcome:
    if name not in _answers:
        _answers[name] = outcome(typed(name), selectors.catalog(services.today()), services.today())
    return _answers[name]


def person(username: str, role: str | None) -> object:
    user = get_user_model().objects.create_user(username, f"{username}@desk.example")
    if role:
        user.groups.add(Group.objects.get(name=role))
    return user


@pytest.fixture(autouse=True)
def no_page_written_before():
    """What a page tells a test was written for it, so that its context can be looked at."""
    caches["fragments"].clear()


@pytest.fixture(scope="package")
def loaded(django_db_setup, django_db_blocker):
    """Plants, sheet, rates and groups, loaded once for all tests of the desk and taken back after the last one."""
    with django_db_blocker.unblock(), transaction.atomic():
        services.catalog_ensure()
        services.ensure_groups()
        yield
        transaction.set_rollback(True)


@pytest.fixture
def people(loaded, db) -> dict[str, object]:
    return {
        "rep": person("rep", policies.REP),
        "other_rep": person("other", policies.REP),
        "estimator": person("estimator", policies.ESTIMATOR),
        "manager": person("manager", policies.MANAGER),
        "nobody": person("nobody", None),
    }


@pytest.fixture
def kept(people):
    """Make an inquiry of the rep with its stored answer, without computing the same answer again."""

    def make(name: str = QUOTED) -> models.Inquiry:
        inquiry = services.inquiry_log(typed=typed(name), by=people["rep"])
        found = answer_of(name)
        inquiry.snapshot, inquiry.decision, inquiry.data_digest = found.snapshot, found.decision, found.digest
        inquiry.catalog_digest = found.catalog_digest
        inquiry.answered_on, inquiry.answered_at = services.today(), inquiry.created_at
        inquiry.state = models.NEEDS_INFORMATION if found.decision == "needs_information" else models.ANSWERED
        inquiry.save()
        inquiry.refresh_from_db()  # its own copy, so that a test may change it
        return inquiry

    return make


def issued(inquiry: models.Inquiry, people: dict[str, object]) -> models.Quote:
    """Reviewed by the estimator and, where the answer asks for one, approved by the manager as the second person."""
    quote = services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=people["estimator"])
    if quote is None:
        inquiry.refresh_from_db()
        quote = services.quote_second(inquiry=inquiry, by=people["manager"])
    return quote


@pytest.fixture
def sent(kept, people):
    """A quote that was approved and sent, with the secret of its link."""
    quote = issued(kept(), people)
    token = services.quote_send(quote=quote, by=people["estimator"])
    quote.refresh_from_db()
    return quote, token
