"""The estimator: every figure behind the price, overrides with reasons, approval after a review."""

from html import unescape

import pytest
from django.urls import reverse

from quoting.quotes import models, services
from quoting.quotes.reviewing import KEYS
from quoting.quotes.verifying import verified

from .conftest import NOT_A_FIT, issued


@pytest.fixture
def estimator(client, people):
    client.force_login(people["estimator"])
    return client


def test_the_route_page_shows_each_cost_line_with_formula_and_source(estimator, kept):
    inquiry = kept()
    page = estimator.get(reverse("work", args=[inquiry.number])).content.decode()

    lines = inquiry.snapshot["chosen"]["cost"]["lines"]
    assert {line["name"] for line in lines} <= set(page.replace("</span>", ">").split(">"))
    assert lines[0]["basis"].split(" /")[0] in page
    assert lines[0]["inputs"][2]["source"] in page


def test_lines_shown_add_up_to_the_unit_price(estimator, kept):
    from decimal import Decimal

    context = estimator.get(reverse("work", args=[kept().number])).context
    for place, one in enumerate(context["cost"]["breaks"]):
        total = sum(Decimal(row["cells"][place]["per_part"]) for row in context["cost_rows"])
        assert total == Decimal(one["unit_price"])


def test_candidates_stand_side_by_side_fitting_first_by_price(estimator, kept):
    grid = estimator.get(reverse("candidates", args=[kept().number]) + "?all=1").context["grid"]

    fits = [row["fits"] for row in grid["rows"]]
    prices = [float(row["landed"]) for row in grid["rows"] if row["fits"]]
    assert len(grid["rows"]) == grid["total"] > 0
    assert fits == sorted(fits, reverse=True)
    assert prices == sorted(prices)
    assert grid["rows"][0]["chosen"]


def test_every_rule_is_a_column_or_named_as_passed_by_all(estimator, kept):
    inquiry = kept()
    grid = estimator.get(reverse("candidates", args=[inquiry.number])).context["grid"]

    rules = {verdict["rule"] for verdict in inquiry.snapshot["candidates"][0]["judged"]["verdicts"]}
    assert set(grid["rules"]) | set(grid["passed_by_all"]) == rules


def test_one_candidate_opens_to_every_verdict(estimator, kept):
    inquiry = kept(NOT_A_FIT)
    page = estimator.get(reverse("candidate", args=[inquiry.number, 0])).content.decode()
    page = unescape(page)

    verdicts = inquiry.snapshot["candidates"][0]["judged"]["verdicts"]
    assert all(verdict["basis"] in page for verdict in verdicts)
    assert f"({len(verdicts)} rules)" in page


def test_a_candidate_refused_for_its_process_opens_without_a_plan_and_says_why(estimator, kept):
    inquiry = kept()
    places = [at for at, one in enumerate(inquiry.snapshot["candidates"]) if one["judged"]["planned"]["plan"] is None]
    grid = estimator.get(reverse("candidates", args=[inquiry.number]) + "?all=1").context["grid"]
    assert places and grid["unplanned"] == len(places)
    assert [row["number"] for row in grid["rows"]][-len(places) :] == places

    page = unescape(estimator.get(reverse("candidate", args=[inquiry.number, places[0]])).content.decode())

    failed = [one for one in inquiry.snapshot["candidates"][places[0]]["judged"]["verdicts"] if not one["passed"]]
    assert failed and "No forming plan and no price" in page
    assert all(one["basis"] in page for one in failed)
    assert "Heating and sag" not in page


def test_a_candidate_that_does_not_exist_is_not_found(estimator, kept):
    assert estimator.get(reverse("candidate", args=[kept().number, 9999])).status_code == 404


def test_an_override_is_kept_with_reason_and_answers_again(estimator, kept):
    inquiry = kept()
    response = estimator.post(
        reverse("override-add", args=[inquiry.number]),
        {"field": "part.holes", "value": "40", "reason": "the drawing shows 40", "version": inquiry.version},
        follow=True,
    )

    page = response.content.decode()
    override = models.Override.objects.get()
    assert (override.field, override.new, override.reason) == ("part.holes", "40", "the drawing shows 40")
    assert "the drawing shows 40" in page
    assert models.Inquiry.objects.get().data_digest != inquiry.data_digest


@pytest.mark.parametrize(
    ("data", "field"),
    [
        ({"field": "part.length", "value": "48", "reason": "why"}, "value"),
        ({"field": "part.length", "value": "48 in", "reason": ""}, "reason"),
        ({"field": "quantities.releases", "value": "48, 1,200", "reason": "why"}, "value"),
        ({"field": "", "value": "48 in", "reason": "why"}, "field"),
    ],
)
def test_a_wrong_override_is_refused_beside_its_field_and_keeps_what_was_typed(estimator, kept, data, field):
    inquiry = kept()
    response = estimator.post(reverse("override-add", args=[inquiry.number]), data | {"version": inquiry.version})

    assert response.status_code == 422
    assert response.context["override_form"].errors[field]
    assert 'value="48' in response.content.decode()
    assert not models.Override.objects.exists()


@pytest.fixture
def strict(loaded, db):
    """A margin floor that the low end of the demo's first quote does not reach."""
    models.RateRow.objects.filter(key="price.margin_floor").update(value="8 %")


@pytest.mark.usefixtures("strict")
def test_approval_shows_the_final_figures_before_it_freezes_them(estimator, kept):
    inquiry = kept()
    address = reverse("approve", args=[inquiry.number])

    review = estimator.get(address).content.decode()
    assert f"${inquiry.snapshot['chosen']['cost']['breaks'][0]['unit_price']}" in review
    assert models.Quote.objects.count() == 0

    estimator.post(address, {"version": inquiry.version, **dict.fromkeys(KEYS, "on")})
    inquiry.refresh_from_db()
    assert inquiry.state == models.WAITS_FOR_MANAGER  # the low end of its margin lies below the floor
    assert models.Quote.objects.count() == 0


@pytest.mark.usefixtures("strict")
def test_the_manager_finds_what_waits_sees_why_and_approves_it(client, kept, people):
    inquiry = kept()
    services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=people["estimator"])
    client.force_login(people["manager"])
    inquiry.refresh_from_db()

    assert inquiry.number in client.get(reverse("waiting")).content.decode()
    page = client.get(reverse("second", args=[inquiry.number])).content.decode()
    assert "Why you are asked" in page
    assert "Sizes, material, quantities and needs are those that the customer asked for." in page
    client.post(
        reverse("second", args=[inquiry.number]), {"version": inquiry.version, "decision": "approve", "note": ""}
    )
    assert models.Quote.objects.get().inquiry.state == models.APPROVED


def test_what_changed_since_the_answer_is_shown_rate_by_rate_with_the_new_price(estimator, kept, people):
    inquiry = services.inquiry_answer(inquiry=kept(), on=services.today(), by=people["estimator"])
    models.RateRow.objects.create(key="price.overhead", value="20 %", valid_from=services.today(), source="a test")

    page = estimator.get(reverse("changes", args=[inquiry.number])).content.decode()

    assert "Price: overhead (price.overhead)" in page
    assert "<strong>20 %</strong>" in page
    assert "landed price each" in page
    before = inquiry.data_digest
    inquiry.refresh_from_db()
    assert inquiry.data_digest == before


def test_an_issued_quote_comes_out_again_from_its_own_data_to_the_cent(kept, people):
    inquiry = services.inquiry_answer(inquiry=kept(), on=services.today(), by=people["estimator"])
    quote = issued(inquiry, people)
    models.RateRow.objects.create(key="price.overhead", value="20 %", valid_from=services.today(), source="a test")

    found = verified(models.Quote.objects.get(pk=quote.pk))

    assert found.good
    assert found.same_code
    assert (found.faults, found.notes, found.differences) == ([], [], ())


def test_approving_an_older_version_is_refused_and_says_why(estimator, kept):
    inquiry = kept()
    ticked = dict.fromkeys(KEYS, "on") | {"version": inquiry.version - 1, "note": "as agreed by telephone"}
    response = estimator.post(reverse("approve", args=[inquiry.number]), ticked)

    assert response.status_code == 422
    assert "changed while this page was open" in response.content.decode()
    assert "as agreed by telephone" in response.content.decode()
    assert models.Quote.objects.count() == 0


@pytest.mark.parametrize("ticked", [KEYS, KEYS[1:]], ids=["all ticked", "one left out"])
def test_ticks_below_older_figures_do_not_count_for_those_of_now(estimator, kept, ticked):
    inquiry = kept()
    page = estimator.post(
        reverse("approve", args=[inquiry.number]), dict.fromkeys(ticked, "on") | {"version": inquiry.version - 1}
    )

    assert page.status_code == 422
    assert " checked" not in page.content.decode()
    assert "confirm each point again" in page.content.decode()


def test_why_an_override_was_not_taken_stands_at_the_top_of_the_long_page(estimator, kept):
    inquiry = kept()
    given = {"field": "part.holes", "value": "40", "reason": "drawing", "version": inquiry.version - 1}
    text = estimator.post(reverse("override-add", args=[inquiry.number]), given).content.decode()

    assert text.index("changed while this page was open") < text.index('id="decision"')
    assert 'href="#overrides">To the override' in text


def test_a_thinnest_wall_that_a_gauge_overrides_is_shown_as_not_in_force(estimator, kept):
    inquiry = kept("06-rail-seat-back")  # asks for a thinnest wall
    given = {"field": "part.gauge", "value": "0.250 in", "reason": "the mill's only gauge", "version": inquiry.version}
    page = estimator.post(reverse("override-add", args=[inquiry.number]), given, follow=True).content.decode()

    assert "not in force: overridden by starting sheet gauge" in page
    assert "not read" not in page
    assert "field starting sheet gauge" in page  # the history, in the form's words


def test_a_part_that_does_not_fit_is_declined_with_a_letter(estimator, kept):
    inquiry = kept(NOT_A_FIT)
    given = {"reason": "too little draft", "version": inquiry.version}
    estimator.post(reverse("decline", args=[inquiry.number]), given)

    letter = models.Quote.objects.get()
    assert letter.kind == models.LETTER
    assert estimator.get(reverse("document", args=[inquiry.number])).content == bytes(letter.pdf)


def test_sending_shows_the_private_link_once(estimator, kept, people):
    inquiry = kept()
    issued(inquiry, people)

    inquiry.refresh_from_db()
    told = {"version": inquiry.version}
    first = estimator.post(reverse("send", args=[inquiry.number]), told, follow=True).content.decode()
    second = estimator.get(reverse("work", args=[inquiry.number])).content.decode()

    assert "/q/" in first
    assert "/q/" not in second


def test_winning_books_the_release_that_was_ordered(estimator, sent):
    quote, _ = sent
    release = quote.snapshot["chosen"]["cost"]["breaks"][0]["quantity"]

    given = {"release": release, "reason": "PO 4711", "version": quote.inquiry.version}
    estimator.post(reverse("won", args=[quote.inquiry.number]), given)

    assert models.Inquiry.objects.get().state == models.WON


def test_losing_needs_a_reason(estimator, sent):
    quote, _ = sent

    response = estimator.post(reverse("lost", args=[quote.inquiry.number]), {"reason": ""})

    assert response.status_code == 422
    assert models.Inquiry.objects.get().state == models.SENT


def test_the_route_page_needs_few_queries(estimator, kept, django_assert_max_num_queries):
    inquiry = kept()
    with django_assert_max_num_queries(9):
        estimator.get(reverse("work", args=[inquiry.number]))


STORED = {"text": "The box stores {energy}.", "figures": [{"name": "energy", "value": 310e3, "unit": "J"}]}


def test_hazards_stand_on_the_estimators_page_with_their_numbers_and_on_no_other(estimator, kept):
    inquiry = kept()
    inquiry.snapshot = inquiry.snapshot | {"hazards": [STORED]}
    inquiry.save()

    assert "The box stores 310 kJ." in estimator.get(reverse("work", args=[inquiry.number])).content.decode()
    assert "The box stores" not in estimator.get(reverse("inquiry", args=[inquiry.number])).content.decode()


def test_an_answer_stored_before_there_were_hazards_is_still_shown(estimator, kept):
    inquiry = kept()
    inquiry.snapshot = {name: value for name, value in inquiry.snapshot.items() if name != "hazards"}
    inquiry.save()

    page = estimator.get(reverse("work", args=[inquiry.number]))
    assert page.status_code == 200
    assert "What can hurt people" not in page.content.decode()
