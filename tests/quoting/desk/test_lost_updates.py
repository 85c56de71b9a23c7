"""No form of any kind overwrites unseen what somebody else saved meanwhile: each says what stands there now."""

import pytest
from django.contrib import admin
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.urls import reverse

from quoting.desk import rights
from quoting.desk.admin_versions import VersionedAdmin
from quoting.quotes import models, policies, services
from quoting.quotes.reviewing import KEYS

from .conftest import NOT_A_FIT, QUOTED


def editable() -> dict[str, object]:
    """Each table that some role may change in the admin, with its admin."""
    found = {}
    for model, one in admin.site._registry.items():
        table = model._meta.db_table if model._meta.db_table in rights.ADMIN_TABLES else model._meta.label_lower
        table = table.replace(".", "_")
        if table in rights.ADMIN_TABLES and "change" in rights._ONLY.get(table, ("change",)):
            found[table] = one
    return found


def test_every_form_of_the_admin_that_changes_a_row_carries_its_version():
    found = editable()
    assert {"auth_user", "quotes_raterow", "machines_machine", "materials_sheetoffer"} <= set(found)
    assert [table for table, one in found.items() if not isinstance(one, VersionedAdmin)] == []


@pytest.fixture
def administrator(client, loaded, db):
    client.force_login(get_user_model().objects.create_superuser("ada"))
    return client


def sent_back(page: object) -> dict:
    """What a browser would post of an unchanged admin form."""
    form = page.context["adminform"].form
    data = {name: form[name].value() for name in form.fields}
    for name, value in data.items():
        if isinstance(value, list):
            data[name] = [getattr(one, "pk", one) for one in value]
    for inline in page.context["inline_admin_formsets"]:
        management = inline.formset.management_form
        data |= {management.add_prefix(name): management[name].value() for name in management.fields}
        for row in inline.formset.forms[: inline.formset.initial_form_count()]:
            data |= {row.add_prefix(name): row[name].value() for name in row.fields}
    return {key: value for key, value in data.items() if value is not None and value is not False}


def test_two_administrators_of_one_person_do_not_undo_each_other(administrator, people):
    emil = people["estimator"]
    address = reverse("admin:auth_user_change", args=[emil.pk])
    early = sent_back(administrator.get(address))
    emil.email = "emil.e@desk.example"
    emil.save()
    emil.groups.set(Group.objects.filter(name=policies.MANAGER))

    response = administrator.post(address, early | {"first_name": "Emil"})

    text = response.content.decode()
    assert response.status_code == 200
    assert "Stands there now: emil.e@desk.example" in text
    assert f"Stands there now: {policies.MANAGER}" in text
    assert 'value="Emil"' in text
    emil.refresh_from_db()
    assert (emil.first_name, emil.email) == ("", "emil.e@desk.example")
    again = sent_back(response) | {"first_name": "Emil"}
    assert administrator.post(address, again).status_code == 302


def test_that_a_person_logged_in_meanwhile_makes_no_form_stale(administrator, people):
    emil = people["estimator"]
    address = reverse("admin:auth_user_change", args=[emil.pk])
    early = sent_back(administrator.get(address))
    get_user_model().objects.filter(pk=emil.pk).update(last_login=services.end_of(services.today()))

    response = administrator.post(address, early | {"first_name": "Emil"})

    assert response.status_code == 302, (response.context["adminform"].errors, response.context["errors"])


@pytest.mark.parametrize("table", sorted(set(editable()) - {"auth_user"}))
def test_each_table_refuses_a_form_without_the_version_that_stands(administrator, table):
    one = editable()[table]
    row = one.model.objects.first()
    if row is None:
        pytest.skip("the demo has no row of it; the test above says that its form carries the version")
    address = reverse(f"admin:{table}_change", args=[row.pk])
    data = sent_back(administrator.get(address)) | {"seen_version": "an older one"}

    response = administrator.post(address, data)

    assert response.status_code == 200
    assert "changed while you typed" in response.content.decode()


# Every form of the desk that changes an inquiry, with what is typed into it.
FORMS = {
    "inquiry-change": ("rep", QUOTED, {"part_name": "typed words"}, 422),
    "override-add": ("estimator", QUOTED, {"field": "part.holes", "value": "40", "reason": "typed words"}, 422),
    "approve": ("estimator", QUOTED, dict.fromkeys(KEYS, "on") | {"note": "typed words"}, 422),
    "decline": ("estimator", NOT_A_FIT, {"reason": "typed words"}, 422),
    "answer-again": ("estimator", QUOTED, {}, 409),
}
AFTER_ISSUE = {
    "send": ("rep", {}, 409),
    "revoke": ("rep", {}, 409),
    "won": ("rep", {"release": "1", "reason": "typed words"}, 422),
    "lost": ("rep", {"reason": "typed words"}, 422),
}


@pytest.mark.parametrize("route", FORMS)
def test_a_form_made_from_an_older_version_saves_nothing_and_keeps_what_was_typed(client, kept, people, route):
    who, name, typed, status = FORMS[route]
    inquiry = kept(name)
    refuses(client, people[who], route, inquiry, typed, status)


@pytest.mark.parametrize("route", AFTER_ISSUE)
def test_so_does_a_form_of_an_issued_quote(client, sent, people, route):
    who, typed, status = AFTER_ISSUE[route]
    quote, _ = sent
    if "release" in typed:
        typed = typed | {"release": str(quote.snapshot["chosen"]["cost"]["breaks"][0]["quantity"])}
    refuses(client, people[who], route, models.Inquiry.objects.get(), typed, status)


def refuses(client, person, route, inquiry, typed, status):
    client.force_login(person)
    before = models.Inquiry.objects.values("typed", "state", "version", "snapshot").get()

    page = client.post(reverse(route, args=[inquiry.number]), typed | {"version": inquiry.version - 1})

    text = page.content.decode()
    assert page.status_code == status
    assert "changed while this page was open" in text
    assert ("typed words" in text) == (status == 422)
    assert models.Inquiry.objects.values("typed", "state", "version", "snapshot").get() == before


def test_the_managers_word_on_an_older_version_is_not_taken(client, kept, people):
    models.RateRow.objects.filter(key="price.margin_floor").update(value="99 %")
    inquiry = services.inquiry_answer(inquiry=kept(), on=services.today(), by=people["estimator"])
    assert services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=people["estimator"]) is None
    inquiry.refresh_from_db()
    refuses(client, people["manager"], "second", inquiry, {"decision": "approve", "note": "typed words"}, 422)
