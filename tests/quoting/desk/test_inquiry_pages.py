"""The two pages of an inquiry: what they show is of the answer that is stored now, and who looked is on record."""

from copy import deepcopy
from datetime import timedelta

import pytest
from django.urls import reverse

from quoting.desk import pages
from quoting.quotes import models, records, selectors

from .conftest import NOT_A_FIT, QUOTED, issued

PAGES = (("rep", "inquiry"), ("estimator", "work"))


def shown(client, people, role, page, number) -> str:
    client.force_login(people[role])
    response = client.get(reverse(page, args=[number]))
    assert response.status_code == 200
    return response.content.decode()


@pytest.mark.parametrize(("role", "page"), PAGES)
def test_another_stored_answer_shows_at_once_whoever_wrote_it(client, kept, people, role, page):
    inquiry = kept()
    before = shown(client, people, role, page, inquiry.number)
    front = deepcopy(inquiry.front)
    front["chosen"]["cost"]["breaks"][0]["landed_unit_price"] = "4321.99"
    models.Inquiry.objects.filter(pk=inquiry.pk).update(front=front)  # neither version nor digest moves

    after = shown(client, people, role, page, inquiry.number)

    assert "$4,321.99" not in before
    assert "$4,321.99" in after


@pytest.mark.parametrize("name", [QUOTED, NOT_A_FIT])
@pytest.mark.parametrize(("role", "page"), PAGES)
def test_an_answer_kept_before_there_were_fronts_shows_the_same(client, kept, people, role, page, name):
    inquiry = kept(name)
    shown(client, people, role, page, inquiry.number)  # the look is in the history of the next ones
    before = shown(client, people, role, page, inquiry.number)
    models.Inquiry.objects.filter(pk=inquiry.pk).update(front=None)

    assert body(shown(client, people, role, page, inquiry.number)) == body(before)


def body(page: str) -> str:
    """Without the secrets that differ in each page."""
    return "\n".join(line for line in page.splitlines() if "csrfmiddlewaretoken" not in line)


def test_prices_are_a_draft_until_somebody_approved_them(client, kept, people):
    inquiry = kept()
    assert "draft, not yet approved" in shown(client, people, "rep", "inquiry", inquiry.number)
    issued(inquiry, people)

    assert "draft, not yet approved" not in shown(client, people, "rep", "inquiry", inquiry.number)


def test_pages_record_a_look_once_an_hour_for_each_person_and_page(client, kept, people, monkeypatch):
    number = kept().number
    for role, page in (*PAGES, *PAGES, ("estimator", "inquiry"), ("manager", "work")):
        shown(client, people, role, page, number)
    looks = models.AuditEntry.objects.filter(action__startswith="saw_").order_by("pk")
    assert [(one.action, one.by.username) for one in looks] == [
        ("saw_page", "rep"), ("saw_cost", "estimator"), ("saw_page", "estimator"), ("saw_cost", "manager"),
    ]  # fmt: skip

    later = records.now() + timedelta(hours=1, seconds=1)
    monkeypatch.setattr(records, "now", lambda: later)
    shown(client, people, "rep", "inquiry", number)
    assert looks.all().count() == 5


def test_a_look_at_somebody_elses_inquiry_is_none_and_recorded_nowhere(client, kept, people):
    number = kept().number
    client.force_login(people["other_rep"])

    assert client.get(reverse("inquiry", args=[number])).status_code == 404
    assert not models.AuditEntry.objects.filter(action="saw_page").exists()


def test_a_quote_says_the_same_of_later_revisions_read_with_its_row_or_asked_alone(kept, people):
    first = issued(kept(), people)
    assert [one.is_superseded for one in selectors.quotes_of(first.inquiry)] == [False]
    second = models.Quote.objects.get(pk=first.pk)
    second.pk, second.revision, second._state.adding = None, 2, True
    second.save(force_insert=True)

    read = {one.revision: one.is_superseded for one in pages.documents_of(first.inquiry)}

    alone = {one.revision: one.is_superseded for one in models.Quote.objects.all()}
    assert read == alone == {1: True, 2: False}
