"""Rates and data in the admin: typed with units, and open only to the role that may edit them."""

from datetime import date

import pytest
from django.contrib.admin.models import LogEntry
from django.urls import reverse

from machines.models import Machine, Plant
from quoting.desk.unit_fields import COLUMN_KINDS, written
from quoting.quotes.models import AuditEntry, RateRow
from quoting.quotes.records import audit


def address(machine: Machine) -> str:
    return reverse("admin:machines_machine_change", args=[machine.pk])


def form_data(response) -> dict[str, str]:
    """What a browser would send back when nothing was touched."""
    form = response.context["adminform"].form
    data = {bound.html_name: bound.value() for bound in form if bound.value() is not None}
    data = {name: value for name, value in data.items() if value is not False}
    for inline in response.context["inline_admin_formsets"]:
        forms = [inline.formset.management_form, *inline.formset.forms]
        data |= {bound.html_name: bound.value() for form in forms for bound in form if bound.value() is not None}
    return {name: value for name, value in data.items() if not name.endswith("-DELETE")}


@pytest.fixture
def estimator_client(client, people):
    client.force_login(people.estimator)
    return client


def test_an_untouched_form_leaves_every_value_as_it_was_bit_for_bit(estimator_client, machine):
    Machine.objects.update(platen_length=1.23456789, oven_air_temperature=423.456)
    before = Machine.objects.values().get()

    response = estimator_client.post(address(machine), form_data(estimator_client.get(address(machine))))

    assert response.status_code == 302, response.context["adminform"].errors
    assert Machine.objects.values().get() == before


def test_a_length_typed_in_inches_is_kept_in_metres_and_logged(estimator_client, machine):
    data = form_data(estimator_client.get(address(machine)))
    assert data["platen_length"] == "59.1 in"

    response = estimator_client.post(address(machine), data | {"platen_length": "72 in"})

    assert response.status_code == 302
    assert Machine.objects.get().platen_length == pytest.approx(1.8288)  # 72 x 25.4 mm, exact by definition
    assert LogEntry.objects.get().user.username == "estimator"


@pytest.mark.parametrize("wrong", ["72", "72 psi", "-72 in", "wide", "1e3 in", "72,5 in"])
def test_a_wrong_text_is_refused_at_its_field_and_kept_in_the_form(estimator_client, machine, wrong):
    data = form_data(estimator_client.get(address(machine)))

    response = estimator_client.post(address(machine), data | {"platen_length": wrong})

    errors = response.context["adminform"].form.errors
    assert list(errors) == ["platen_length"]
    assert wrong in errors["platen_length"][0]
    assert "a length with its unit, such as 48 in" in errors["platen_length"][0]
    assert Machine.objects.get().platen_length == 1.5


def test_values_that_contradict_each_other_are_refused_at_the_field(estimator_client, machine):
    data = form_data(estimator_client.get(address(machine)))

    response = estimator_client.post(address(machine), data | {"largest_opening_length": "12 in"})

    assert "largest_opening_length" in response.context["adminform"].form.errors


def test_a_value_beyond_the_range_of_the_column_is_refused(estimator_client, machine):
    data = form_data(estimator_client.get(address(machine)))

    response = estimator_client.post(address(machine), data | {"platen_length": "4000 in"})

    assert response.status_code == 200
    assert "platen_length" in str(response.context["adminform"].form.errors)


@pytest.mark.parametrize(
    ("column", "value", "text"),
    [
        ("oven_air_temperature", 423.15, "302 °F"),
        ("vacuum_pressure", 82737.0, "12.0 psi"),
        ("tool_film_coefficient", 200.0, "200 W/m^2/K"),
        ("efficiency", 0.85, "85 %"),
        ("setup_hours", 2.0, "2.0 h"),
    ],
)
def test_a_value_is_shown_in_the_units_of_the_shop(column, value, text):
    assert written(value, COLUMN_KINDS[Machine][column]) == text


def test_every_physical_column_of_a_machine_has_a_kind():
    bare = {"crew", "setup_crew"}  # counts of people
    floats = {field.name for field in Machine._meta.fields if field.get_internal_type() == "FloatField"}
    assert floats - set(COLUMN_KINDS[Machine]) == bare


@pytest.mark.parametrize(
    ("who", "page", "status"),
    [
        ("manager", "admin:quotes_raterow_add", 200), ("manager", "admin:machines_plant_add", 200),
        ("manager", "admin:materials_polymer_add", 403), ("estimator", "admin:quotes_raterow_add", 403),
        ("estimator", "admin:machines_plant_add", 403), ("estimator", "admin:materials_polymer_add", 200),
        ("estimator", "admin:quotes_raterow_changelist", 200), ("rep", "admin:index", 403),
        ("manager", "admin:auth_user_changelist", 403), ("administrator", "admin:auth_user_changelist", 200),
        ("administrator", "admin:quotes_auditentry_add", 403), ("manager", "admin:quotes_auditentry_changelist", 200),
    ],
)  # fmt: skip
def test_each_page_of_the_admin_opens_for_the_role_that_may_edit_there(client, people, who, page, status):
    client.force_login(getattr(people, who))
    assert client.get(reverse(page)).status_code == status


def test_nobody_changes_a_record_in_the_admin(client, people):
    entry = audit("test", by=people.manager)
    client.force_login(people.administrator)
    response = client.post(reverse("admin:quotes_auditentry_change", args=[entry.pk]), {"action": "forged"})
    assert response.status_code == 403
    assert AuditEntry.objects.get().action == "test"


@pytest.mark.parametrize(
    ("key", "value", "at"),
    [("trim.hole_tim", "4 s", "key"), ("trim.hole_time", "4", "value"), ("price.margin", "25", "value")],
)
def test_a_wrong_rate_is_refused_at_its_field(client, people, key, value, at):
    client.force_login(people.manager)
    data = {"key": key, "value": value, "valid_from": date(2026, 12, 1), "source": "test"}
    response = client.post(reverse("admin:quotes_raterow_add"), data)
    assert list(response.context["adminform"].form.errors) == [at]
    assert not RateRow.objects.exists()


def test_a_good_rate_is_kept(client, people):
    client.force_login(people.manager)
    data = {"key": "trim.hole_time", "value": "5 s", "valid_from": date(2026, 12, 1), "source": "stop watch"}
    assert client.post(reverse("admin:quotes_raterow_add"), data).status_code == 302
    assert RateRow.objects.get().value == "5 s"


def test_a_plant_is_saved_with_its_bench(client, people, machine):
    client.force_login(people.manager)
    page = reverse("admin:machines_plant_change", args=[machine.plant.pk])
    data = form_data(client.get(page)) | {"shop_temperature": "70 degF", "assembly": '["paint"]'}
    response = client.post(page, data)
    assert response.status_code == 302, response.context["adminform"].errors
    assert Plant.objects.get().shop_temperature == pytest.approx(294.2611, abs=1e-4)  # (70 + 459.67) x 5/9


@pytest.mark.parametrize(
    "typed",
    ["9" * 5000, "[" * 100_000, "paint", "[NaN]", '["a\\u0000b"]', r'["\ud800"]', "½ in", '{"a": 1e999}'],
    ids=["digits", "deep", "word", "no number", "nul", "half a character", "half", "endless"],
)
def test_a_list_that_cannot_be_read_or_kept_is_refused_at_its_field_and_shown_again(client, people, machine, typed):
    client.force_login(people.manager)
    page = reverse("admin:machines_plant_change", args=[machine.plant.pk])
    response = client.post(page, form_data(client.get(page)) | {"assembly": typed})
    assert response.status_code == 200
    form = response.context["adminform"].form
    assert "accepted is a list of words" in " ".join(form.errors["assembly"])
    assert form["assembly"].value() == typed


def test_a_form_opened_before_somebody_elses_change_is_refused_and_keeps_what_was_typed(estimator_client, machine):
    early, late = (form_data(estimator_client.get(address(machine))) for _ in range(2))
    estimator_client.post(address(machine), late | {"platen_length": "72 in"})

    response = estimator_client.post(address(machine), early | {"platen_length": "80 in"})

    text = response.content.decode()
    assert response.status_code == 200
    assert "changed while you typed, last by estimator" in text
    assert 'value="80 in"' in text
    assert "Stands there now: 72.0 in" in text
    assert Machine.objects.get().platen_length == pytest.approx(1.8288)  # 72 x 25.4 mm, exact by definition
    again = form_data(response) | {"platen_length": "80 in"}
    assert estimator_client.post(address(machine), again).status_code == 302
    assert Machine.objects.get().platen_length == pytest.approx(2.032)  # 80 x 25.4 mm


def test_a_change_of_a_row_below_makes_the_form_above_it_stale(estimator_client, machine):
    data = form_data(estimator_client.get(address(machine)))
    machine.stations.filter(position=2).update(name="forming")

    assert estimator_client.post(address(machine), data | {"platen_length": "80 in"}).status_code == 200
    assert Machine.objects.get().platen_length == 1.5
