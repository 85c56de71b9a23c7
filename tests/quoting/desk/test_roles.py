"""Every page opens for the roles that may see it and for nobody else."""

import re

import pytest
from django.urls import reverse

from quoting.desk import navigation
from quoting.quotes import models

OPENS = {
    "inquiries": {"rep", "estimator", "manager"},
    "inquiry-log": {"rep", "estimator"},
    "review": {"estimator", "manager"},
    "loading": {"estimator", "manager"},
}
OPENS_FOR_ONE = {
    "inquiry": {"rep": 200, "other_rep": 404, "estimator": 200, "manager": 200, "nobody": 403},
    "inquiry-change": {"rep": 200, "other_rep": 404, "estimator": 200, "manager": 403, "nobody": 403},
    "work": {"rep": 403, "other_rep": 403, "estimator": 200, "manager": 200, "nobody": 403},
    "candidates": {"rep": 403, "other_rep": 403, "estimator": 200, "manager": 200, "nobody": 403},
    "approve": {"rep": 403, "other_rep": 403, "estimator": 200, "manager": 403, "nobody": 403},
    "decline": {"rep": 403, "other_rep": 403, "estimator": 409, "manager": 403, "nobody": 403},
}
POSTS = ("send", "revoke", "override-add", "answer-again", "approve", "decline", "won", "lost")


@pytest.mark.parametrize("who", ["rep", "estimator", "manager", "nobody"])
@pytest.mark.parametrize("name", OPENS)
def test_a_page_opens_for_its_roles_only(client, people, name, who):
    client.force_login(people[who])

    status = client.get(reverse(name)).status_code

    assert status == (200 if who in OPENS[name] else 403)


@pytest.mark.parametrize("name", OPENS_FOR_ONE)
def test_a_page_of_one_inquiry_opens_for_its_roles_only(client, kept, people, name):
    address = reverse(name, args=[kept().number])
    found = {}
    for who in OPENS_FOR_ONE[name]:
        client.force_login(people[who])
        found[who] = client.get(address).status_code

    assert found == OPENS_FOR_ONE[name]


@pytest.mark.parametrize("name", [*OPENS, "home"])
def test_without_a_log_in_every_page_leads_to_it(client, db, name):
    response = client.get(reverse(name))

    assert response.status_code == 302
    assert response.url.startswith(reverse("login"))


@pytest.mark.parametrize("name", POSTS)
def test_another_rep_can_do_nothing_to_an_inquiry(client, kept, people, name):
    inquiry = kept()
    client.force_login(people["other_rep"])

    response = client.post(reverse(name, args=[inquiry.number]), {"reason": "x", "version": inquiry.version})

    assert response.status_code in (403, 404)
    assert models.Inquiry.objects.get().state == models.ANSWERED


@pytest.mark.parametrize(("who", "page"), [("rep", "inquiries"), ("estimator", "review"), ("manager", "loading")])
def test_home_leads_each_role_to_its_own_page(client, people, who, page):
    client.force_login(people[who])

    assert client.get(reverse("home")).url == reverse(page)


def test_a_person_without_a_role_is_told_so(client, people):
    client.force_login(people["nobody"])

    assert "no role yet" in client.get(reverse("home")).content.decode()


def test_a_refusal_says_who_may(client, people):
    client.force_login(people["rep"])

    response = client.get(reverse("review"))

    assert response.status_code == 403
    assert "Estimators review routes" in response.content.decode()


@pytest.mark.parametrize("who", ["rep", "estimator", "manager"])
def test_the_bar_offers_no_page_that_would_refuse(client, people, who):
    client.force_login(people[who])
    page = client.get(reverse("home"), follow=True).content.decode()
    bar = page[page.index('<nav class="bar-links"') : page.index("</nav>")]
    offered = re.findall(r'href="([^"]+)"', bar)

    assert offered
    assert {client.get(address).status_code for address in offered} == {200}


def test_pages_of_the_bar_are_grouped_and_a_group_of_one_is_that_page(people):
    manager = navigation.links(people["manager"], reverse("plans"))
    named = {one["label"]: [page["label"] for page in one.get("pages", [])] for one in manager}

    assert named["Plants"] == ["Plant loading", "What-if plans", "Recorded runs"]
    assert [one["label"] for one in manager if one["here"]] == ["Plants"]
    assert all(len(pages) != 1 for pages in named.values())
    assert [one["label"] for one in navigation.links(people["rep"])] == ["Inquiries", "Log inquiry"]
