"""Who is logged in is found in two queries of each request, and what changed meanwhile counts at the next one."""

import pytest
from django.contrib.auth.models import Group
from django.contrib.sessions.models import Session
from django.urls import reverse
from django_otp.plugins.otp_totp.models import TOTPDevice

from quoting.quotes import policies


@pytest.fixture
def come(client, people):
    client.force_login(people["estimator"])
    assert client.get(reverse("review")).status_code == 200
    return people["estimator"]


def group(role: str) -> Group:
    return Group.objects.get(name=role)


def test_session_person_roles_and_second_factor_take_two_queries(client, come, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert client.get(reverse("home")).url == reverse("review")


def test_a_role_that_was_taken_away_opens_nothing_at_the_next_request(client, come):
    come.groups.remove(group(policies.ESTIMATOR))

    assert client.get(reverse("review")).status_code == 403


def test_roles_that_are_given_count_together_at_the_next_request(client, come):
    come.groups.add(group(policies.MANAGER), group(policies.REP), Group.objects.create(name="of another program"))

    assert client.get(reverse("home")).url == reverse("loading")
    assert client.get(reverse("inquiry-log")).status_code == 200
    assert policies.roles(client.get(reverse("review")).wsgi_request.user) == set(policies.GROUPS)


def test_a_person_who_is_switched_off_is_out_at_the_next_request(client, come):
    come.is_active = False
    come.save()

    assert client.get(reverse("review")).status_code == 302


def test_a_session_that_was_ended_elsewhere_is_out_at_the_next_request(client, come):
    Session.objects.all().delete()

    assert client.get(reverse("review")).status_code == 302


def test_a_second_factor_is_asked_for_from_the_next_request_on_once_it_is_confirmed(client, come):
    device = TOTPDevice.objects.create(user=come, confirmed=False)
    assert client.get(reverse("review")).status_code == 200
    TOTPDevice.objects.filter(pk=device.pk).update(confirmed=True)

    assert client.get(reverse("review")).url.startswith(reverse("second-factor-ask"))


def test_roles_are_those_of_the_person_however_many_devices_there_are(client, come):
    come.groups.add(group(policies.MANAGER))
    for place in range(3):
        TOTPDevice.objects.create(user=come, name=str(place), confirmed=False)

    person = client.get(reverse("review")).wsgi_request.user
    assert policies.roles(person) == {policies.ESTIMATOR, policies.MANAGER}
