"""Re-pricing the open book: what it finds, who may, and that nothing is done twice or changed."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from quoting.quotes import repricing, repricing_work, selectors, services
from quoting.quotes.answers import outcome
from quoting.quotes.models import (
    AnswerBasis,
    AuditEntry,
    Inquiry,
    Quote,
    RateRow,
    RepricingPart,
    RepricingResult,
    RepricingRun,
)
from quoting.quotes.reviewing import KEYS
from quoting.quotes.steps import StateError, effective
from quoting.quotes.workers import beat
from tests.quoting.quotes.open_book import LATER, ON, new_rate, open_book


@pytest.fixture
def book(db, settings, monkeypatch):
    """Twelve open quotes in three parts; tasks are enqueued, and the test works them off itself."""
    settings.BACKGROUND = "workers"
    monkeypatch.setattr(repricing, "PARTS_AT_LEAST", 3)
    monkeypatch.setattr(repricing, "SMALLEST_PART", 4)
    return open_book(12)


def started(book, on=LATER):
    return repricing.run_start(on=on, by=book.manager)


def worked(run, worker="w"):
    beat(worker)
    repricing_work.work_off(run.pk, worker)
    run.refresh_from_db()
    return run


def pricing(run):
    catalog = selectors.catalog(run.on)
    house = repricing_work.House.of(catalog, run.on)
    return repricing_work.Pricing(house, repricing_work.physics_of(catalog, run.on))


def test_a_run_finds_what_a_full_answer_under_the_new_rates_finds(book):
    new_rate("price.margin", "0.2")
    new_rate("freight.ltl_base", "60")
    run = worked(started(book))

    full = outcome(effective(book.first), selectors.catalog(LATER), LATER).snapshot["chosen"]["cost"]["breaks"]
    results = list(run.results.all())
    assert (run.state, run.done, run.total, len(results)) == ("done", 12, 12, 12)
    for result in results:
        assert [one["landed"] for one in result.now["releases"]] == [one["landed_unit_price"] for one in full]
        was = Decimal(result.quoted["releases"][-1]["landed"])
        assert result.moved == Decimal(full[-1]["landed_unit_price"]) - was > 0
        assert result.moved_share == pytest.approx(result.moved / was, abs=Decimal("0.000001"))
        assert result.by_basis


def test_a_quote_whose_margin_falls_through_the_floor_crosses_it(book):
    floor = selectors.rates(LATER).price.margin_floor
    new_rate("price.overhead", "0.3")
    run = worked(started(book))

    result = run.results.first()
    assert result.margin_before >= floor > result.margin_left
    assert result.crosses_floor and result.below_floor


def test_equal_rates_move_nothing_and_leave_the_margin(book):
    run = worked(started(book, on=ON))

    for result in run.results.all():
        assert (result.moved, result.margin_left, result.crosses_floor) == (0, result.margin_before, False)
        assert result.now["releases"] == result.quoted["releases"]


def test_an_inquiry_without_a_basis_is_answered_the_whole_way_and_then_has_one(book):
    new_rate("price.margin", "0.2")
    AnswerBasis.objects.filter(inquiry=book.first).delete()
    stale = book.inquiries[1]
    AnswerBasis.objects.filter(inquiry=stale).update(physics="of other machines")
    run = worked(started(book))

    anew = set(run.results.filter(by_basis=False).values_list("inquiry", flat=True))
    assert anew == {book.first.pk, stale.pk}
    assert len({str(result.now) for result in run.results.all()}) == 1
    basis = AnswerBasis.objects.get(inquiry=book.first)
    assert basis.physics == AnswerBasis.objects.get(inquiry=stale).physics != ""
    assert basis.answer == book.first.data_digest
    again = worked(started(book))
    assert not again.results.filter(by_basis=False).exists()


def test_a_machine_that_changed_makes_the_basis_stale(book):
    from machines.models import Machine

    Machine.objects.update(efficiency=0.5)
    run = worked(started(book))

    full = outcome(effective(book.first), selectors.catalog(LATER), LATER).snapshot["chosen"]["cost"]["breaks"]
    result = run.results.first()
    assert not result.by_basis
    assert result.now["releases"][-1]["landed"] == full[-1]["landed_unit_price"]


def test_an_issued_quote_and_its_inquiry_stay_as_they_are(book):
    quote = services.quote_approve(inquiry=book.first, confirmed=KEYS, by=book.estimator, on=ON)
    before = Inquiry.objects.filter(pk=book.first.pk).values().get()
    issued = Quote.objects.filter(pk=quote.pk).values("digest", "pdf_digest", "snapshot", "valid_until").get()
    new_rate("price.margin", "0.3")
    run = worked(started(book))

    result = run.results.get(inquiry=book.first)
    assert (result.state, result.quote) == ("approved", f"{quote.number} rev. 1")
    assert result.moved > 0
    assert Inquiry.objects.filter(pk=book.first.pk).values().get() == before
    assert Quote.objects.filter(pk=quote.pk).values("digest", "pdf_digest", "snapshot", "valid_until").get() == issued
    assert Quote.objects.get(pk=quote.pk).is_intact()


def test_what_is_no_longer_open_is_left_out(book):
    run = started(book)
    Inquiry.objects.filter(pk=book.first.pk).update(state="received", decision="")
    worked(run)

    assert (run.state, run.done, run.left_out) == ("done", 12, 1)
    assert not run.results.filter(inquiry=book.first).exists()


def test_an_inquiry_that_can_no_longer_be_priced_says_why(book):
    typed = book.first.typed | {"needed_by": "2026-11-30"}
    Inquiry.objects.filter(pk=book.first.pk).update(typed=typed)
    AnswerBasis.objects.filter(inquiry=book.first).update(physics="")
    run = worked(started(book))

    result = run.results.get(inquiry=book.first)
    assert result.now is None and result.moved is None
    assert "needed_by" in result.why and "2026-12-01" in result.why


def test_a_date_asked_for_that_has_passed_is_read_anew(book):
    basis = AnswerBasis.objects.get(inquiry=book.first)
    assert '"needed_by":null' in basis.candidates
    basis.candidates = basis.candidates.replace('"needed_by":null', '"needed_by":"2026-11-30"')
    basis.save()
    run = worked(started(book))

    assert not run.results.get(inquiry=book.first).by_basis


# --- who may, and what is refused -----------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["rep", "estimator"])
def test_only_a_manager_or_the_administrator_starts_cancels_and_resumes(book, who):
    run = started(book)
    with pytest.raises(PermissionDenied, match="manager"):
        repricing.run_start(on=LATER, by=getattr(book, who))
    with pytest.raises(PermissionDenied):
        repricing.run_cancel(run=run, by=getattr(book, who))
    with pytest.raises(PermissionDenied):
        repricing.run_resume(run=run, by=getattr(book, who))


def test_a_rate_that_is_missing_is_named_and_nothing_begins(book):
    RateRow.objects.filter(key="price.margin").delete()
    with pytest.raises(ValidationError, match=r"price\.margin"):
        started(book)
    assert not RepricingRun.objects.exists()


def test_without_an_open_quote_nothing_begins(book):
    Inquiry.objects.update(state="lost")
    with pytest.raises(ValidationError, match="No quote is open"):
        started(book)


def test_a_second_run_waits_for_the_first(book):
    started(book)
    with pytest.raises(StateError, match="under way"):
        started(book)


def test_each_deed_is_in_the_audit(book):
    run = started(book)
    repricing.run_cancel(run=run, by=book.manager)
    repricing.run_resume(run=run, by=book.manager)

    deeds = AuditEntry.objects.filter(action__startswith="reprice").order_by("pk")
    assert [(one.action, one.by, one.detail["run"]) for one in deeds] == [
        (action, book.manager, run.pk) for action in ("reprice_start", "reprice_cancel", "reprice_resume")
    ]


# --- nothing twice --------------------------------------------------------------------------------------------------


def test_a_part_is_closed_once_though_two_worked_at_it(book):
    run = started(book)
    beat("slow")
    beat("quick")
    slow = repricing_work.claimed(run, "slow")
    RepricingPart.objects.filter(pk=slow.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    quick = repricing_work.claimed(run, "quick")
    assert (slow.pk, slow.claims) == (quick.pk, 0) and slow.token != quick.token
    found = pricing(run).of(slow.inquiries)
    again = pricing(run).of(quick.inquiries)

    assert repricing_work.closed(slow, found) == 0
    assert repricing_work.closed(quick, again) == 4
    assert repricing_work.closed(quick, pricing(run).of(quick.inquiries)) == 0
    assert RepricingResult.objects.count() == 4


def test_a_part_of_a_living_worker_within_its_lease_is_left_to_it(book):
    run = started(book)
    beat("first")
    parts = {repricing_work.claimed(run, "first").number for _ in range(3)}

    assert parts == {1, 2, 3}
    assert repricing_work.claimed(run, "second") is None


def test_a_part_of_a_worker_without_a_sign_of_life_is_free_at_once(book):
    run = started(book)
    lost = repricing_work.claimed(run, "killed")

    assert repricing_work.claimed(run, "other").pk == lost.pk
    worked(run, "third")
    assert (run.state, run.results.count()) == ("done", 12)


def test_a_run_goes_on_after_cancelling_where_it_left_off(book):
    run = started(book)
    beat("w")
    first = repricing_work.claimed(run, "w")
    repricing_work.closed(first, pricing(run).of(first.inquiries))
    late = repricing_work.claimed(run, "w")
    found = pricing(run).of(late.inquiries)
    repricing.run_cancel(run=run, by=book.manager)

    assert repricing_work.closed(late, found) == 0
    assert repricing_work.claimed(run, "w") is None
    assert worked(run).state == "cancelled"
    assert (run.done, run.results.count()) == (4, 4)
    repricing.run_resume(run=run, by=book.manager)
    assert worked(run).state == "done"
    assert (run.done, run.resumed, run.results.count()) == (12, 1, 12)
    with pytest.raises(StateError, match="nothing left"):
        repricing.run_resume(run=run, by=book.manager)


def test_rates_that_change_under_way_stop_the_run_and_resuming_is_refused(book):
    run = started(book)
    new_rate("price.margin", "0.2")
    worked(run)

    assert (run.state, run.done) == ("stopped", 0)
    assert "changed" in run.reason
    with pytest.raises(StateError, match="start a new one"):
        repricing.run_resume(run=run, by=book.manager)


def test_work_that_is_booked_under_way_does_not_stop_the_run(book):
    run = started(book)
    services.quote_approve(inquiry=book.first, confirmed=KEYS, by=book.estimator, on=ON)

    assert worked(run).state == "done"


def test_a_part_that_nobody_survives_stops_the_run(book):
    run = started(book)
    for number in range(repricing_work.MOST_CLAIMS):
        assert repricing_work.claimed(run, f"killed {number}").number == 1

    assert repricing_work.claimed(run, "next") is None
    run.refresh_from_db()
    assert run.state == "stopped" and "part 1" in run.reason
    repricing.run_resume(run=run, by=book.manager)
    assert worked(run).state == "done"


def test_an_error_nobody_foresaw_stops_the_run_and_is_told(book, monkeypatch):
    run = started(book)

    def broken(*_):
        raise ZeroDivisionError("a fault of the program")

    monkeypatch.setattr(repricing_work, "compared", broken)
    with pytest.raises(ZeroDivisionError):
        worked(run)
    run.refresh_from_db()
    assert run.state == "stopped" and "ZeroDivisionError: a fault of the program" in run.reason
