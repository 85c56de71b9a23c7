"""The page where correction factors are proposed, seen against what is in force, accepted or refused."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse

from machines.models import Machine
from machines.runs import Factor
from quoting.catalog import Corrections, MeasureCorrection
from quoting.planning.models import FactorVersion
from quoting.quotes import models, selectors, services
from quoting.quotes.answers import catalog_digest, outcome
from quoting.quotes.records import today
from quoting.quotes.runs.estimates import basis_of
from tests.quoting.quotes.test_correction_factors import record_runs

PAGE = "shop-runs-factors"


@pytest.fixture
def desk(client, people):
    def enter(role):
        client.force_login(people[role])
        return client

    return enter


@pytest.fixture
def recorded(sent):
    """Runs on the machine of the quote that was sent, each some fifth longer than estimated."""
    chosen = sent[0].snapshot["chosen"]["judged"]["planned"]["candidate"]
    machine = Machine.objects.get(code=chosen["machine"]["code"])
    record_runs(machine, [1.15, 1.2, 1.25, 1.1, 1.3, 1.18, 1.22, 1.2, 1.21, 1.19, 1.17, 1.24])
    return machine


def text(response):
    return response.content.decode()


def version_on(page):
    return text(page).partition('name="version" value="')[2].partition('"')[0]


def post(client, name, *args, **fields):
    fields = {"version": version_on(client.get(reverse(PAGE)))} | fields
    return client.post(reverse(name, args=args), fields, follow=True)


def test_a_proposal_is_seen_against_what_is_in_force_with_its_effect_on_a_quote_and_accepted(
    desk, recorded, sent, people
):
    client = desk("estimator")
    inquiry = services.inquiry_log(typed=sent[0].inquiry.typed, by=people["rep"])
    services.inquiry_answer(inquiry=inquiry, on=today(), by=people["estimator"])
    before = selectors.catalog(today())
    page = text(post(client, "shop-factors-propose", what="runs"))
    made = FactorVersion.objects.get()
    assert "Proposed: version 1" in page and "1.200" in page and "from 12 recorded runs" in page
    assert f"What it does to {inquiry.number}" in page and "Landed price" in page
    assert selectors.catalog(today()) == before and catalog_digest(selectors.catalog(today())) == catalog_digest(before)

    page = text(post(client, "shop-factors-accept", made.pk, valid_from=today().isoformat()))
    assert "Version 1, from" in page and selectors.catalog(today()).corrections.version == 1
    changed = text(client.get(reverse("changes", args=[inquiry.number])))
    assert "Correction factors" in changed and f"{recorded.code}: factor" in changed


def test_an_accepted_version_moves_hours_price_and_range_of_an_answer_and_no_issued_quote(desk, recorded, sent, people):
    quote, client = sent[0], desk("estimator")
    kept = models.Quote.objects.values("snapshot", "digest", "pdf_digest").get(pk=quote.pk)
    post(client, "shop-factors-propose", what="runs")
    post(client, "shop-factors-accept", FactorVersion.objects.get().pk, valid_from=today().isoformat())
    inquiry = services.inquiry_log(typed=quote.inquiry.typed, by=people["rep"])
    again = services.inquiry_answer(inquiry=inquiry, on=today(), by=people["estimator"])

    machine = recorded.code
    hours = [
        next(
            one["cost"]["breaks"][-1]["press_hours"]
            for one in snapshot["candidates"]
            if one["cost"] and one["judged"]["planned"]["candidate"]["machine"]["code"] == machine
        )
        for snapshot in (quote.snapshot, again.snapshot)
    ]
    assert 1.1 < hours[1] / hours[0] < 1.25
    told = [one for one in again.snapshot["range"]["inputs"] if one["name"] == "cycle"]
    assert told[0]["source"] == "from 12 recorded runs, version 1"
    assert again.catalog_digest != quote.inquiry.catalog_digest
    assert models.Quote.objects.values("snapshot", "digest", "pdf_digest").get(pk=quote.pk) == kept


def test_refusing_asks_why_and_loses_nothing_typed(desk, recorded):
    client = desk("manager")
    post(client, "shop-factors-propose", what="runs")
    made = FactorVersion.objects.get()
    assert post(client, "shop-factors-refuse", made.pk, reason=" ").status_code == 422
    wrong = post(client, "shop-factors-refuse", made.pk, reason="<b>one bad week</b>", version="other")
    assert wrong.status_code == 409 and "&lt;b&gt;one bad week&lt;/b&gt;" in text(wrong)
    page = text(post(client, "shop-factors-refuse", made.pk, reason="<b>one bad week</b>"))
    assert "&lt;b&gt;one bad week" in page and FactorVersion.objects.get().state == "refused"


@pytest.mark.parametrize("day", ["", "tomorrow", "2026-13-01", "20261128", "9" * 400])
def test_a_day_that_is_none_is_refused_by_name(desk, recorded, day):
    client = desk("estimator")
    post(client, "shop-factors-propose", what="runs")
    page = post(client, "shop-factors-accept", FactorVersion.objects.get().pk, valid_from=day)
    assert page.status_code == 422 and "From: got" in text(page)
    assert FactorVersion.objects.get().state == "proposed"


def test_a_form_sent_twice_does_it_once(desk, recorded):
    client = desk("estimator")
    post(client, "shop-factors-propose", what="runs")
    made, version = FactorVersion.objects.get(), version_on(client.get(reverse(PAGE)))
    later = (today() + timedelta(days=2)).isoformat()
    address = reverse("shop-factors-accept", args=[made.pk])
    answers = [client.post(address, {"version": version, "valid_from": later}).status_code for _ in range(2)]
    assert answers == [302, 409]


def test_without_runs_nothing_can_be_proposed(desk, sent):
    page = post(desk("estimator"), "shop-factors-propose", what="runs")
    assert page.status_code == 422 and "Nothing to propose" in text(page)


def test_a_rep_neither_sees_nor_decides(desk, recorded):
    post(desk("estimator"), "shop-factors-propose", what="runs")
    made, client = FactorVersion.objects.get(), desk("rep")
    assert client.get(reverse(PAGE)).status_code == 403
    for name, args in (("propose", []), ("accept", [made.pk]), ("refuse", [made.pk])):
        assert client.post(reverse(f"shop-factors-{name}", args=args)).status_code == 403


def test_an_answer_moves_to_another_machine_where_the_chosen_one_takes_far_longer(recorded, sent):
    slow = MeasureCorrection("run_hours", 42, (Factor("machine", recorded.code, 42, 8.0, 8.0),))
    slower = replace(selectors.catalog(today()), corrections=Corrections(1, (slow,)))
    found = outcome(sent[0].inquiry.typed, slower, today())

    assert found.snapshot["chosen"]["judged"]["planned"]["candidate"]["machine"]["code"] != recorded.code


def test_runs_of_a_corrected_quote_are_held_against_the_estimate_before_any_factor(desk, recorded, sent, people):
    client = desk("estimator")
    before = basis_of(sent[0].snapshot, 100).estimated(100)
    post(client, "shop-factors-propose", what="runs")
    post(client, "shop-factors-accept", FactorVersion.objects.get().pk, valid_from=today().isoformat())
    found = outcome(sent[0].inquiry.typed, selectors.catalog(today()), today())
    after = basis_of(found.snapshot, 100).estimated(100)

    assert found.snapshot["chosen"]["cost"] != sent[0].snapshot["chosen"]["cost"]
    # the estimate as quoted is what the answer counted, its factors in it
    release = found.snapshot["chosen"]["cost"]["breaks"][0]
    quoted = basis_of(found.snapshot, release["quantity"]).estimated(release["quantity"])["quoted"]
    assert quoted["run_hours"] + quoted["setup_hours"] == pytest.approx(release["press_hours"], rel=1e-9)
    assert after.pop("factors") and not before.pop("factors")
    for name in ("quoted", "ranges"):
        after.pop(name), before.pop(name)
    assert after == before  # else a further version would be learned from factors, and they would undo themselves
