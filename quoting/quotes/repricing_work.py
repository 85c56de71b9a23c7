"""Working off a re-pricing run, part by part: claim, price, and write the results as the part is closed."""

import gc
import secrets
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.db import DatabaseError, transaction
from django.db.models import F, Q
from django.db.models.functions import Now

from quoting.answering import judged_groups
from quoting.catalog import Catalog
from quoting.contract import digest, to_plain
from quoting.costing.money import CannotPriceError
from quoting.intake.reading_result import InputErrors
from quoting.quotes import selectors
from quoting.quotes.answers import read_kept
from quoting.quotes.bases import basis_on, keep_basis, kept_candidates, physics_of, plain_priced, priced_from
from quoting.quotes.models import ANSWERED, APPROVED, QUOTE, SENT, AnswerBasis, Inquiry, Quote
from quoting.quotes.repricing_models import (
    DONE,
    GOING,
    PART_CLAIMED,
    PART_DONE,
    PART_WAITING,
    RUN_WAITING,
    RUNNING,
    STOPPED,
    RepricingPart,
    RepricingResult,
    RepricingRun,
)
from quoting.quotes.steps import effective
from quoting.quotes.trying_again import tried_again
from quoting.quotes.workers import living
from quoting.repricing.basis import StaleBasisError, from_text
from quoting.repricing.choice import House
from quoting.repricing.repriced import Priced, Repriced, compared, priced_by_basis, quoted_of

# The open book: a price is on the table or about to be. Before, there is none; after, it is won, lost or declined.
OPEN_BOOK = (ANSWERED, APPROVED, SENT)
LEASE = timedelta(minutes=5)  # within which a part is closed or claimed again; a dead worker's is free at once
MOST_CLAIMS = 5  # of one part: it may be what kills its workers
CHANGED = "plants, machines, sheet or rates have changed since this run began; start a new one"


def book_digest(catalog: Catalog) -> str:
    """SHA-256 of what a whole run shares. Booked work is left out: it goes on while a run is under way."""
    return digest(to_plain(replace(catalog, workload=(), beside=())))


def open_book() -> Any:
    """Inquiries whose quote stands open, oldest first."""
    return Inquiry.objects.filter(state__in=OPEN_BOOK, decision=QUOTE).order_by("pk")


def work_off(run_id: int, worker: str) -> int:
    """Work at a run until nothing of it waits; how many quotes were priced. Any number of workers may do so at once."""
    run = RepricingRun.objects.get(pk=run_id)
    if not run.going:
        return 0
    catalog = selectors.catalog(run.on)
    if book_digest(catalog) != run.catalog_digest:
        _stop(run, CHANGED)
        return 0
    RepricingRun.objects.filter(pk=run.pk, state=RUN_WAITING).update(state=RUNNING, began_at=Now())
    pricing = Pricing(House.of(catalog, run.on), physics_of(catalog, run.on))
    gc.freeze()  # what a run shares lives as long as the worker is at it
    try:
        return _work_off(run, worker, pricing)
    finally:
        gc.unfreeze()


def _work_off(run: RepricingRun, worker: str, pricing: "Pricing") -> int:
    count = 0
    while part := claimed(run, worker):
        try:
            count += closed(part, pricing.of(part.inquiries))
        except DatabaseError:
            raise
        except Exception as failed:
            _stop(run, f"part {part.number} failed: {type(failed).__name__}: {failed}")
            raise
    return count


@tried_again
def claimed(run: RepricingRun, worker: str) -> RepricingPart | None:
    """The next part of a run that waits, or whose worker is dead or late; ours under a new token until it is closed."""
    alive = living().values("worker")
    free = Q(state=PART_WAITING) | Q(state=PART_CLAIMED) & (Q(lease_until__lt=Now()) | ~Q(worker__in=alive))
    with transaction.atomic():
        waiting = RepricingPart.objects.filter(free, run=run, run__state__in=GOING).order_by("number")
        part = waiting.select_for_update(skip_locked=True, of=("self",)).first()
        if part is None:
            return None
        if part.claims >= MOST_CLAIMS:
            _stop(run, f"part {part.number} was begun {part.claims} times and never ended")
            return None
        token = secrets.token_hex(16)
        mine = RepricingPart.objects.filter(pk=part.pk, token=part.token, state=part.state)
        taken = mine.update(
            state=PART_CLAIMED, token=token, worker=worker, lease_until=Now() + LEASE, claims=F("claims") + 1
        )
        part.token = token
        return part if taken else None


@tried_again
@transaction.atomic
def closed(part: RepricingPart, found: "Found") -> int:
    """Write the results of a part and close it, both or neither; 0 where the run is over or the part not ours."""
    run = RepricingRun.objects.select_for_update().get(pk=part.run_id)
    if not run.going:
        return 0
    mine = RepricingPart.objects.filter(pk=part.pk, token=part.token, state=PART_CLAIMED)
    if not mine.update(state=PART_DONE, token="", lease_until=None):
        return 0
    for row in found.results:
        row.run = run
    RepricingResult.objects.bulk_create(found.results)
    for fresh in found.fresh:
        keep_basis(*fresh)
    run.done += len(part.inquiries)
    run.left_out += len(part.inquiries) - len(found.results)
    if not run.parts.exclude(state=PART_DONE).exists():
        run.state, run.ended_at = DONE, Now()
    run.save(update_fields=["done", "left_out", "state", "ended_at"])
    return len(found.results)


def _stop(run: RepricingRun, reason: str) -> None:
    RepricingRun.objects.filter(pk=run.pk, state__in=GOING).update(state=STOPPED, reason=reason[:400], ended_at=Now())


@dataclass(frozen=True)
class Found:
    """Results of a part, and bases that were worked out anew: inquiry, what is quoted, candidates, physics."""

    results: list[RepricingResult]
    fresh: list[tuple[Inquiry, dict[str, Any], str, str]]


class Pricing:
    """One house and its rates, applied to inquiry after inquiry."""

    def __init__(self, house: House, physics: str) -> None:
        self.house, self.physics = house, physics
        self.names = tuple(polymer.name for polymer in house.catalog.polymers)

    def of(self, inquiries: list[int]) -> Found:
        """Price some inquiries; those that are no longer open are left out."""
        rows = open_book().filter(pk__in=inquiries).select_related("basis")
        rows = list(rows.only("number", "state", "decision", "data_digest", "basis"))
        numbers = _quote_numbers(rows)
        found = Found([], [])
        for inquiry in rows:
            quoted = self._quoted(inquiry)
            now, why, by_basis = self._priced(inquiry, quoted, found)
            repriced = compared(quoted, now, why, self.house.catalog)
            found.results.append(_result(inquiry, numbers.get(inquiry.pk, ""), repriced, by_basis))
        return found

    def _quoted(self, inquiry: Inquiry) -> Priced:
        basis = _basis(inquiry)
        if basis and basis.answer == inquiry.data_digest:
            return priced_from(basis.quoted)
        return quoted_of(inquiry.snapshot)

    def _priced(self, inquiry: Inquiry, quoted: Priced, found: Found) -> tuple[Priced | None, str, bool]:
        """The price, or why there is none, and whether the basis told it."""
        basis = _basis(inquiry)
        try:
            if basis and (basis.answer, basis.physics) == (inquiry.data_digest, self.physics):
                return *_or_why(priced_by_basis(basis_on(basis.candidates, self.house.on), self.house)), True
        except StaleBasisError:
            pass  # the whole way below says all that there is to say
        except CannotPriceError as missing:
            return None, str(missing), True
        return *self._anew(inquiry, quoted, found), False

    def _anew(self, inquiry: Inquiry, quoted: Priced, found: Found) -> tuple[Priced | None, str]:
        """The whole way: read the inquiry again and work out its physics; what comes out is kept as its basis."""
        on, catalog = self.house.on, self.house.catalog
        try:
            reading = read_kept(effective(inquiry), on=on, polymer_names=self.names)
            if reading.request is None:
                return None, "more information is needed: " + ", ".join(one.field for one in reading.missing)
            candidates = kept_candidates(reading.request, judged_groups(reading.request, catalog, on))
            found.fresh.append((inquiry, plain_priced(quoted), candidates, self.physics))
            return _or_why(priced_by_basis(from_text(candidates), self.house))
        except InputErrors as wrong:
            return None, "; ".join(error.message for error in wrong.errors)
        except CannotPriceError as missing:
            return None, str(missing)


def _or_why(now: Priced | None) -> tuple[Priced | None, str]:
    return now, "" if now else "no machine, process and sheet fit the part any longer and have free hours"


def _basis(inquiry: Inquiry) -> AnswerBasis | None:
    return getattr(inquiry, "basis", None)


def _quote_numbers(inquiries: list[Inquiry]) -> dict[int, str]:
    """The quote that stands, by inquiry, for those whose quote is issued."""
    issued = [one.pk for one in inquiries if one.state != ANSWERED]
    rows = Quote.objects.filter(inquiry__in=issued, kind=QUOTE).order_by("revision")
    return {inquiry: f"{number} rev. {revision}" for inquiry, number, revision in
            rows.values_list("inquiry_id", "number", "revision")}  # fmt: skip


def _result(inquiry: Inquiry, quote: str, found: Repriced, by_basis: bool) -> RepricingResult:
    return RepricingResult(
        inquiry=inquiry, state=inquiry.state, quote=quote, quoted=plain_priced(found.quoted),
        now=None if found.now is None else plain_priced(found.now), why=found.why[:400], moved=found.moved,
        moved_share=_six(found.moved_share), margin_before=_six(found.margin_before),
        margin_left=_six(found.margin_left), below_floor=found.below_floor, crosses_floor=found.crosses_floor,
        changes_route=found.changes_route, by_basis=by_basis,
    )  # fmt: skip


def _six(share: Decimal | None) -> Decimal | None:
    return None if share is None else share.quantize(Decimal("0.000001"))
