"""No form of any kind overwrites unseen what somebody else saved meanwhile: each says what stands there now."""

from datetime import date, time

import pytest
from django.contrib import admin
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.urls import reverse

from machines import models as machine_tables
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


@pytest.fixture
def plant(administrator):
    """A plant with two shifts, opened by an administrator before somebody else saves."""
    plant = machine_tables.Plant.objects.get(code="ALDER")
    machine_tables.Shift.objects.filter(plant=plant).delete()
    for hour in (6, 14):
        machine_tables.Shift.objects.create(
            plant=plant, days=[0, 1, 2], start=time(hour), length_hours=8, first_day=date(2026, 1, 5)
        )
    return plant


def stale_page(client, plant, typed, meanwhile):
    """The plant's form opened, then ``meanwhile`` done by somebody else, then sent with what was typed into it."""
    address = reverse("admin:machines_plant_change", args=[plant.pk])
    early = sent_back(client.get(address))
    meanwhile()
    return client.post(address, early | typed)


def errors_at(page, prefix, place):
    formset = next(one.formset for one in page.context["inline_admin_formsets"] if one.formset.prefix == prefix)
    return {name: " ".join(told) for name, told in formset.forms[place].errors.items()}


def test_each_field_of_an_inner_row_shows_what_was_typed_and_what_stands_there_now(administrator, plant):
    first = plant.shifts.first()

    def meanwhile():
        plant.shifts.filter(pk=first.pk).update(days=[0, 1, 2, 3], length_hours=7.5)

    page = stale_page(administrator, plant, {"shifts-0-length_hours": "7", "name": "Alder Works"}, meanwhile)

    assert page.status_code == 200
    assert errors_at(page, "shifts", 0) == {
        "days": "Yours: Mon, Tue, Wed. Stands there now: Mon, Tue, Wed, Thu",
        "length_hours": "Yours: 7. Stands there now: 7.5",
    }
    assert errors_at(page, "shifts", 1) == {}
    assert "Yours: Alder Works. Stands there now: Alder Creek Plant" in page.content.decode()
    assert plant.shifts.get(pk=first.pk).length_hours == 7.5
    # what was typed is still in the form, and saving it once more lets it stand
    again = sent_back(page)
    assert (again["shifts-0-length_hours"], again["name"]) == ("7", "Alder Works")
    assert administrator.post(reverse("admin:machines_plant_change", args=[plant.pk]), again).status_code == 302
    assert plant.shifts.get(pk=first.pk).length_hours == 7


def test_an_inner_row_with_a_unit_shows_both_values_with_it(administrator, plant):
    trimmer = plant.trimmers.order_by("pk").first()

    def meanwhile():
        plant.trimmers.filter(pk=trimmer.pk).update(setup_hours=3.0, twin_table=not trimmer.twin_table)

    page = stale_page(administrator, plant, {"trimmers-0-setup_hours": "2.5 h"}, meanwhile)

    told = errors_at(page, "trimmers", 0)
    words = ("yes", "no") if trimmer.twin_table else ("no", "yes")
    assert told == {
        "setup_hours": "Yours: 2.5 h. Stands there now: 3.0 h",
        "twin_table": "Yours: {}. Stands there now: {}".format(*words),
    }


def test_a_row_taken_away_meanwhile_keeps_what_was_typed_and_is_put_in_again_by_saving(administrator, plant):
    first, second = plant.shifts.all()

    page = stale_page(administrator, plant, {"shifts-0-length_hours": "7"}, lambda: first.delete())

    assert errors_at(page, "shifts", 0) == {}
    assert "took this row away" in errors_at(page, "shifts", 1)["__all__"]
    formset = next(one.formset for one in page.context["inline_admin_formsets"] if one.formset.prefix == "shifts")
    assert [form["length_hours"].value() for form in formset.forms] == ["8.0", "7"]
    again = sent_back(page) | {
        f"shifts-1-{name}": formset.forms[1][name].value() or "" for name in formset.forms[1].fields
    }
    assert administrator.post(reverse("admin:machines_plant_change", args=[plant.pk]), again).status_code == 302
    assert sorted(plant.shifts.values_list("length_hours", flat=True)) == [7, 8]
    assert plant.shifts.filter(pk=second.pk).exists()


def test_a_row_that_came_meanwhile_is_named_and_stays(administrator, plant):
    def meanwhile():
        machine_tables.ClosedDay.objects.create(plant=plant, day=date(2027, 3, 3), reason="stock taking")

    page = stale_page(administrator, plant, {"name": "Alder Works"}, meanwhile)

    text = page.content.decode()
    assert "Somebody added a row while you typed" in text
    assert "stock taking" in text
    assert (
        administrator.post(reverse("admin:machines_plant_change", args=[plant.pk]), sent_back(page)).status_code == 302
    )
    assert plant.closed_days.filter(reason="stock taking").count() == 1


def test_a_row_that_both_took_away_is_no_obstacle(administrator, plant):
    first = plant.shifts.first()

    page = stale_page(administrator, plant, {"shifts-0-DELETE": "on"}, lambda: first.delete())

    assert page.status_code == 200
    again = sent_back(page) | {"shifts-1-DELETE": "on"}
    assert administrator.post(reverse("admin:machines_plant_change", args=[plant.pk]), again).status_code == 302
    assert plant.shifts.count() == 1
