"""An open book for tests: one demo inquiry answered by the real core, and as many copies as a test wants."""

import json
from datetime import date
from pathlib import Path
from types import SimpleNamespace

from django.contrib.auth import get_user_model
from django.utils import timezone

from quoting.quotes import policies, services, stock
from quoting.quotes.models import AnswerBasis, Inquiry, RateRow

ON = date(2026, 11, 25)
LATER = date(2026, 12, 1)  # from which other rates hold
FILE = Path(__file__).resolve().parents[3] / "fixtures" / "demo" / "inquiries" / "07-coach-side-panel.json"


def people():
    groups = stock.ensure_groups()
    found = SimpleNamespace()
    for name, group in (("rep", policies.REP), ("estimator", policies.ESTIMATOR), ("manager", policies.MANAGER)):
        user = get_user_model().objects.create_user(name, password="a long test word")
        user.groups.add(groups[group])
        setattr(found, name, user)
    return found


def open_book(copies: int):
    """People, and so many answered inquiries of which all but the first are copies of the first."""
    services.catalog_ensure()
    found = people()
    typed = json.loads(FILE.read_text(encoding="utf-8-sig"))
    first = services.inquiry_answer(inquiry=services.inquiry_log(typed=typed, by=found.rep), on=ON, by=found.rep)
    assert first.decision == "quote"
    found.first = first
    found.inquiries = [first, *(copied(first, number) for number in range(1, copies))]
    return found


def copied(first, number: int):
    basis = AnswerBasis.objects.get(inquiry=first)
    inquiry = Inquiry.objects.get(pk=first.pk)
    inquiry.pk, inquiry.number = None, f"I-2026-9{number:04d}"
    inquiry.created_at = timezone.now()
    inquiry.save(force_insert=True)
    basis.pk, basis.inquiry = None, inquiry
    basis.save(force_insert=True)
    return inquiry


def new_rate(key: str, value: str, begins: date = LATER) -> RateRow:
    return RateRow.objects.create(key=key, value=value, valid_from=begins, source="a test's new rate table")
