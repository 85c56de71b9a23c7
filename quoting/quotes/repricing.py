"""What people do with a re-pricing run: start, cancel, resume. No inquiry and no quote is changed by any of it."""

import os
from datetime import date
from math import ceil

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction

from quoting.intake.reading_result import InputErrors
from quoting.quotes import policies, selectors
from quoting.quotes.background import enqueue
from quoting.quotes.records import audit, now
from quoting.quotes.repricing_models import (
    CANCELLED,
    GOING,
    PART_CLAIMED,
    PART_WAITING,
    RUN_WAITING,
    STOPPED,
    RepricingPart,
    RepricingRun,
)
from quoting.quotes.repricing_tasks import reprice
from quoting.quotes.repricing_work import CHANGED, book_digest, open_book
from quoting.quotes.steps import StateError, save
from quoting.quotes.trying_again import tried_again
from quoting.quotes.workers import living

LARGEST_PART, SMALLEST_PART = 40, 5  # inquiries: about a second of work, so that cancelling is felt soon
PARTS_AT_LEAST = 8  # of a book that is large enough, so that several workers find something to do
MOST_WORKERS = 32


@tried_again
def run_start(*, on: date, by: object) -> RepricingRun:
    """Price the open book anew with the rates of a day, in the background."""
    policies.require(by, "reprice")
    catalog = _catalog(on)
    with transaction.atomic():
        if RepricingRun.objects.select_for_update().filter(state__in=GOING).exists():
            raise StateError("Another re-pricing is under way; wait for its end or cancel it first.")
        inquiries = list(open_book().values_list("pk", flat=True))
        if not inquiries:
            raise ValidationError("No quote is open, so there is nothing to re-price.")
        run = RepricingRun(on=on, by=by, at=now(), total=len(inquiries), catalog_digest=book_digest(catalog))
        save(run)
        _cut(run, inquiries)
        audit("reprice_start", by=by, run=run.pk, on=on.isoformat(), quotes=run.total)
        _set_workers_on(run)
    return run


@tried_again
@transaction.atomic
def run_cancel(*, run: RepricingRun, by: object) -> RepricingRun:
    """Stop a run; what is priced stays, what is under way is let go. A second call is harmless."""
    policies.require(by, "reprice")
    kept = RepricingRun.objects.select_for_update().get(pk=run.pk)
    if kept.state == CANCELLED:
        return kept
    if not kept.going:
        raise StateError(f"This run is {kept.state}; only one that is under way can be cancelled.")
    kept.state, kept.ended_at = CANCELLED, now()
    kept.save(update_fields=["state", "ended_at"])
    _let_go(kept)
    audit("reprice_cancel", by=by, run=kept.pk, done=kept.done)
    return kept


@tried_again
def run_resume(*, run: RepricingRun, by: object) -> RepricingRun:
    """Go on with a run that was cancelled or stopped, or that nobody is at any longer, where it left off."""
    policies.require(by, "reprice")
    if book_digest(_catalog(run.on)) != run.catalog_digest:
        raise StateError(CHANGED[0].upper() + CHANGED[1:] + ".")
    with transaction.atomic():
        kept = RepricingRun.objects.select_for_update().get(pk=run.pk)
        if kept.state not in (CANCELLED, STOPPED, *GOING):
            raise StateError(f"This run is {kept.state}; there is nothing left to do.")
        if RepricingRun.objects.filter(state__in=GOING).exclude(pk=kept.pk).exists():
            raise StateError("Another re-pricing is under way; wait for its end or cancel it first.")
        if not kept.going:
            _let_go(kept)
        kept.state, kept.reason, kept.ended_at, kept.resumed = RUN_WAITING, "", None, kept.resumed + 1
        kept.save(update_fields=["state", "reason", "ended_at", "resumed"])
        audit("reprice_resume", by=by, run=kept.pk, done=kept.done)
        _set_workers_on(kept)
    return kept


def _catalog(on: date) -> object:
    try:
        return selectors.catalog(on)
    except InputErrors as missing:
        raise ValidationError({"on": [error.message for error in missing.errors]}) from missing


def _cut(run: RepricingRun, inquiries: list[int]) -> None:
    size = max(SMALLEST_PART, min(LARGEST_PART, ceil(len(inquiries) / PARTS_AT_LEAST)))
    RepricingPart.objects.bulk_create(
        RepricingPart(run=run, number=number, inquiries=inquiries[start : start + size])
        for number, start in enumerate(range(0, len(inquiries), size), start=1)
    )


def _let_go(run: RepricingRun) -> None:
    """Parts under way wait again; whoever is at one finds another token and writes nothing."""
    run.parts.filter(state=PART_CLAIMED).update(state=PART_WAITING, token="", worker="", lease_until=None)
    run.parts.filter(state=PART_WAITING).update(claims=0)


def _set_workers_on(run: RepricingRun) -> None:
    """As many tasks as workers can take up at once: the cores of this machine, or the workers that are alive."""
    parts = run.parts.filter(state__in=(PART_WAITING, PART_CLAIMED)).count()
    there = (os.cpu_count() or 1) if settings.BACKGROUND == "as needed" else max(2, living().count())
    for _ in range(min(parts, there, MOST_WORKERS)):
        enqueue(reprice, run.pk)
