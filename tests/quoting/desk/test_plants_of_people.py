"""Who is tied to a plant changes what belongs to it, and reads the rest."""

from types import SimpleNamespace

import pytest
from django.urls import reverse

from machines.models import Booking, Machine, Plant
from quoting.quotes import policies
from quoting.quotes.models import PersonPlant
from tests.quoting.quotes.conftest import make_machine


@pytest.fixture
def two_plants(people, db):
    """The rep's manager is tied to the first plant; the second has a machine and a booking too."""
    first = make_machine()
    plant = Plant.objects.get(pk=first.plant.pk)
    plant.pk, plant.code = None, "P-2"
    plant.save()
    second = Machine.objects.get(pk=first.pk)
    second.pk, second.code, second.plant = None, "M-2", plant
    second.save()
    bookings = [
        Booking.objects.create(machine=machine, week="2026-11-23", hours=10.0, firm=True) for machine in (first, second)
    ]
    PersonPlant.objects.create(person=people["manager"], plant=first.plant)
    return SimpleNamespace(first=first, second=second, bookings=bookings)


@pytest.fixture
def manager(client, people):
    people["manager"].is_staff = True
    people["manager"].save()
    client.force_login(people["manager"])
    return client


def posted(client, row, **changed):
    typed = {"machine": row.machine_id, "week": "2026-11-23", "hours": "12 h", "firm": "on", "label": "", "quote": ""}
    address = reverse("admin:machines_booking_change", args=[row.pk])
    shown = client.get(address).context["adminform"].form.initial.get("seen_version", "")
    return client.post(address, typed | {"seen_version": shown} | changed)


def test_who_is_tied_to_nothing_serves_every_plant(people, two_plants):
    assert policies.serves(people["estimator"], two_plants.first.plant, two_plants.second.plant)


def test_a_tied_manager_moves_work_at_the_own_plant_only(people, two_plants):
    first, second = two_plants.first.plant, two_plants.second.plant

    assert policies.may_move_work(people["manager"], first)
    assert not policies.may_move_work(people["manager"], second)
    assert not policies.may_move_work(people["manager"], first, second)
    assert not policies.may_move_work(people["estimator"], first)


def test_bookings_of_the_own_plant_are_changed_and_those_of_another_are_read(manager, two_plants):
    own, other = two_plants.bookings

    assert posted(manager, own).status_code == 302
    assert posted(manager, other).status_code == 403
    assert manager.get(reverse("admin:machines_booking_change", args=[other.pk])).status_code == 200
    own.refresh_from_db()
    other.refresh_from_db()
    assert (own.hours, other.hours) == (12.0, 10.0)


def test_work_is_not_pushed_onto_another_plant(manager, two_plants):
    response = posted(manager, two_plants.bookings[0], machine=two_plants.second.pk)

    assert response.status_code == 200
    assert "machine" in response.context["adminform"].form.errors


def test_nothing_of_another_plant_is_deleted_alone_or_among_others(manager, two_plants):
    own, other = two_plants.bookings
    assert manager.post(reverse("admin:machines_booking_delete", args=[other.pk]), {"post": "yes"}).status_code == 403
    chosen = {"action": "delete_selected", "_selected_action": [own.pk, other.pk], "post": "yes"}
    manager.post(reverse("admin:machines_booking_changelist"), chosen)

    assert Booking.objects.filter(pk=other.pk).exists()


def test_machines_and_the_plant_itself_follow_the_same_rule(manager, two_plants):
    def deleting(table, row):
        return manager.post(reverse(f"admin:machines_{table}_delete", args=[row.pk])).status_code

    first, second = two_plants.first, two_plants.second
    assert (deleting("machine", first), deleting("machine", second)) == (200, 403)
    assert (deleting("plant", first.plant), deleting("plant", second.plant)) == (200, 403)
    assert manager.get(reverse("admin:machines_plant_add")).status_code == 403


def test_the_board_shows_every_plant_to_a_tied_manager(manager, two_plants):
    page = manager.get(reverse("loading")).content.decode()

    assert "P-1" in page
    assert "P-2" in page


def test_the_account_page_names_the_plants(manager, two_plants):
    assert "the others are for reading" in manager.get(reverse("account")).content.decode()
