"""The pages of re-pricing: who sees them, how a run is started, followed, cancelled, and taken away as CSV."""

import csv
import io
from decimal import Decimal

import pytest
from django.urls import reverse

from quoting.quotes import repricing_work, services
from quoting.quotes.bases import quoted_in
from quoting.quotes.models import AnswerBasis, Inquiry, RateRow, RepricingRun
from quoting.quotes.workers import beat


@pytest.fixture
def at_desk(client, settings):
    settings.BACKGROUND = "workers"

    def enter(person):
        client.force_login(person)
        return client

    return enter


@pytest.fixture
def book(kept, people):
    """One open quote whose part's name would be a formula in a spreadsheet."""
    inquiry = kept()
    typed = inquiry.typed | {"part": inquiry.typed["part"] | {"name": "=HYPERLINK(1)"}}
    Inquiry.objects.filter(pk=inquiry.pk).update(typed=typed)
    return inquiry


def started(client):
    page = client.post(reverse("repricing-start"), {"on": services.today().isoformat()})
    run = RepricingRun.objects.get()
    assert page.headers["Location"] == reverse("repricing-run", args=[run.pk])
    return run


def worked(run):
    beat("w")
    repricing_work.work_off(run.pk, "w")


def test_a_manager_starts_a_run_follows_it_and_reads_what_moved(at_desk, people, book):
    manager = at_desk(people["manager"])
    RateRow.objects.create(key="price.margin", value="0.3", valid_from=services.today(), source="new table")
    page = manager.get(reverse("repricing-start")).content.decode()
    assert "1 quote open" in page and services.today().isoformat() in page

    run = started(manager)
    waiting = manager.get(reverse("repricing-run", args=[run.pk])).content.decode()
    assert "0 of 1" in waiting and 'http-equiv="refresh"' in waiting and "No worker" in waiting
    worked(run)
    done = manager.get(reverse("repricing-run", args=[run.pk])).content.decode()
    result = run.results.get()
    assert "1 of 1" in done and 'http-equiv="refresh"' not in done
    assert f"+{result.moved:.2f}" in done and book.number in done
    assert f"Run {run.pk}" in manager.get(reverse("repricing")).content.decode()


def test_a_filter_shows_only_what_it_names(at_desk, people, book):
    manager = at_desk(people["manager"])
    run = started(manager)
    worked(run)

    address = reverse("repricing-run", args=[run.pk])
    assert book.number not in manager.get(address, {"show": "crosses"}).content.decode()
    assert book.number not in manager.get(address, {"show": "moves"}).content.decode()
    run.results.update(crosses_floor=True)
    assert book.number in manager.get(address, {"show": "crosses"}).content.decode()


def test_a_run_is_cancelled_and_resumed_by_its_buttons(at_desk, people, book):
    manager = at_desk(people["manager"])
    run = started(manager)
    page = manager.post(reverse("repricing-cancel", args=[run.pk]), follow=True).content.decode()
    assert "cancelled" in page and "Resume the run" in page
    manager.post(reverse("repricing-resume", args=[run.pk]))
    worked(run)
    run.refresh_from_db()
    assert (run.state, run.resumed) == ("done", 1)


def test_csv_holds_every_release_and_no_formula(at_desk, people, book):
    manager = at_desk(people["manager"])
    run = started(manager)
    worked(run)

    text = manager.get(reverse("repricing-csv", args=[run.pk])).content.decode()
    head, *lines = csv.reader(io.StringIO(text))
    quoted = quoted_in(Inquiry.objects.get(pk=book.pk).snapshot)["releases"]
    assert [line[head.index("release")] for line in lines] == [str(one["quantity"]) for one in quoted]
    assert {line[head.index("part")] for line in lines} == {"'=HYPERLINK(1)"}
    assert Decimal(lines[0][head.index("quoted landed $")]) == Decimal(quoted[0]["landed"])


def test_an_estimator_reads_but_does_not_start(at_desk, people, book):
    run = started(at_desk(people["manager"]))
    estimator = at_desk(people["estimator"])

    page = estimator.get(reverse("repricing-run", args=[run.pk]))
    assert page.status_code == 200 and "Cancel the run" not in page.content.decode()
    assert estimator.get(reverse("repricing-start")).status_code == 403
    assert estimator.post(reverse("repricing-cancel", args=[run.pk])).status_code == 403


@pytest.mark.parametrize("name", ["repricing", "repricing-start"])
def test_a_rep_sees_none_of_it(at_desk, people, name):
    rep = at_desk(people["rep"])
    assert rep.get(reverse(name)).status_code == 403
    assert reverse("repricing") not in rep.get(reverse("inquiries")).content.decode()


def test_a_run_of_another_number_is_not_found(at_desk, people):
    assert at_desk(people["manager"]).get(reverse("repricing-run", args=[99])).status_code == 404


@pytest.mark.parametrize("typed", ["", "next week", "2026-13-45"])
def test_a_day_that_is_none_is_refused_by_its_field_and_kept(at_desk, people, book, typed):
    page = at_desk(people["manager"]).post(reverse("repricing-start"), {"on": typed}).content.decode()
    assert "such as 2026-12-01" in page and f'value="{typed}"' in page or not typed
    assert not RepricingRun.objects.exists()


def test_a_missing_rate_is_named_on_the_start_page(at_desk, people, book):
    RateRow.objects.filter(key="price.margin").delete()
    page = at_desk(people["manager"]).post(reverse("repricing-start"), {"on": services.today().isoformat()})
    assert "price.margin" in page.content.decode()


def test_an_answer_keeps_a_basis_beside_it(people):
    from tests.quoting.desk.conftest import QUOTED, typed

    inquiry = services.inquiry_log(typed=typed(QUOTED), by=people["rep"])
    answered = services.inquiry_answer(inquiry=inquiry, on=services.today(), by=people["rep"])
    basis = AnswerBasis.objects.get(inquiry=answered)
    assert basis.answer == answered.data_digest and basis.quoted == quoted_in(answered.snapshot)
