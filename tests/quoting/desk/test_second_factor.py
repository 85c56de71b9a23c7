"""The second factor: switched on by oneself or by the role, asked once a session, each code good once."""

import re
import time

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from quoting.desk import second_factor_roles
from quoting.quotes import policies, second_factor, stock
from quoting.quotes.models import AuditEntry


@pytest.fixture
def emil(db):
    stock.ensure_groups()
    person = get_user_model().objects.create_user("emil", is_staff=True)
    person.groups.add(Group.objects.get(name=policies.ESTIMATOR))
    return person


def code_of(person, ahead: int = 0) -> str:
    """What a telephone with the person's key shows, some steps of 30 s ahead."""
    device = TOTPDevice.objects.get(user=person)
    return f"{totp(device.bin_key, t0=-30 * ahead):06d}"


def wrong_code(person) -> str:
    near = {code_of(person, ahead) for ahead in (-2, -1, 0, 1, 2)}
    return next(code for code in ("000000", "111111", "222222", "333333", "444444", "555555") if code not in near)


def switched_on(client, person) -> list[str]:
    client.force_login(person)
    client.post(reverse("second-factor"))
    page = client.post(reverse("second-factor-confirm"), {"code": code_of(person)}).content.decode()
    return re.findall(r"<code>(\w+)</code>", page)


@pytest.fixture
def later(client, emil):
    """Another session of a person whose second factor is on; the step of the first code is over."""
    codes = switched_on(client, emil)
    TOTPDevice.objects.update(last_t=int(time.time()) // 30 - 3)
    other = Client()
    other.force_login(emil)
    other.recovery = codes
    return other


def asked(client, page="review"):
    response = client.get(reverse(page))
    return response.status_code == 302 and response.url.startswith(reverse("second-factor-ask"))


def answer(client, code, onward="/review/"):
    return client.post(reverse("second-factor-ask"), {"code": code, "next": onward})


def test_the_codes_are_those_of_the_standard():
    # RFC 6238, appendix B: SHA-1, seed "12345678901234567890", at 59 s the 8-digit code is 94287082
    device = TOTPDevice(key=b"12345678901234567890".hex(), digits=8)
    assert totp(device.bin_key, t0=int(time.time()) - 59, digits=8) == 94287082


def test_a_person_switches_it_on_with_a_code_and_gets_ten_recovery_codes_once(client, emil):
    codes = switched_on(client, emil)

    assert len(set(codes)) == 10
    assert second_factor.is_on(emil)
    assert codes[0] not in client.get(reverse("second-factor")).content.decode()
    assert not asked(client)
    assert AuditEntry.objects.filter(action="second_factor_on").count() == 1


def test_a_wrong_code_does_not_switch_it_on(client, emil):
    client.force_login(emil)
    client.post(reverse("second-factor"))
    response = client.post(reverse("second-factor-confirm"), {"code": wrong_code(emil)})

    assert response.status_code == 422
    assert "not right" in response.content.decode()
    assert not second_factor.is_on(emil)


def test_the_key_is_shown_as_picture_and_text_only_until_it_is_on(client, emil):
    client.force_login(emil)
    assert client.get(reverse("second-factor-picture")).status_code == 404
    client.post(reverse("second-factor"))
    picture = client.get(reverse("second-factor-picture"))
    assert picture["Content-Type"] == "image/svg+xml"
    assert "no-store" in picture["Cache-Control"]
    assert b"style=" not in picture.content
    client.post(reverse("second-factor-confirm"), {"code": code_of(emil)})
    assert client.get(reverse("second-factor-picture")).status_code == 404


def test_a_new_session_is_asked_once_and_then_goes_where_it_was_going(later):
    response = later.get(reverse("review"))
    assert response.url == f"{reverse('second-factor-ask')}?next=%2Freview%2F"

    assert answer(later, code_of(get_user_model().objects.get(username="emil"))).url == "/review/"

    assert later.get(reverse("review")).status_code == 200


def test_before_the_code_nothing_opens_but_the_question_and_the_way_out(later, emil):
    for name in ("home", "review", "inquiries", "account", "password", "second-factor", "admin:index"):
        assert asked(later, name), name
    for name in ("second-factor", "second-factor-confirm", "second-factor-remove", "recovery-codes", "inquiry-log"):
        assert later.post(reverse(name), {"code": "1"}).url.startswith(reverse("second-factor-ask")), name
    assert later.post(reverse("logout")).status_code == 302


def test_the_session_has_a_new_name_after_the_code(later, emil):
    before = later.cookies["sessionid"].value
    answer(later, code_of(emil))

    assert later.cookies["sessionid"].value != before


def test_a_code_is_good_once(later, emil):
    code = code_of(emil)
    answer(later, code)
    third = Client()
    third.force_login(emil)

    response = answer(third, code)

    assert response.status_code == 422
    assert asked(third)


def test_a_recovery_code_is_good_once(later, emil):
    assert answer(later, later.recovery[0]).status_code == 302
    third = Client()
    third.force_login(emil)

    assert answer(third, later.recovery[0]).status_code == 422
    assert StaticToken.objects.count() == 9
    assert AuditEntry.objects.filter(action="recovery_code_used").count() == 1


def test_wrong_codes_make_the_next_one_wait_even_if_it_is_right(later, emil):
    assert answer(later, wrong_code(emil)).status_code == 422
    response = answer(later, code_of(emil))

    assert response.status_code == 422
    assert "Wait 1 seconds" in response.content.decode()
    assert asked(later)


def test_the_wait_stops_growing_so_that_the_owner_is_not_kept_out_for_good(emil, later):
    TOTPDevice.objects.update(throttling_failure_count=second_factor.MOST_FAILURES, throttling_failure_timestamp=None)

    answer(later, wrong_code(emil))

    assert TOTPDevice.objects.get().throttling_failure_count == second_factor.MOST_FAILURES


@pytest.mark.parametrize("code", ["", "12", "9" * 5000, "１２３４５６", "'; drop", "\x00", "abcdefgh", "-1", "²²²²²²"])
def test_strange_codes_are_refused_in_words(later, code):
    assert answer(later, code).status_code == 422


@pytest.mark.parametrize(
    "onward", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", "null", "(", ""]
)
def test_the_way_on_never_leads_elsewhere(later, emil, onward):
    assert answer(later, code_of(emil), onward).url == reverse("home")


def test_it_is_switched_off_with_a_fresh_code(client, emil):
    switched_on(client, emil)
    assert client.post(reverse("second-factor-remove"), {"code": "12345"}).status_code == 422
    TOTPDevice.objects.update(last_t=0, throttling_failure_count=0, throttling_failure_timestamp=None)
    assert client.post(reverse("second-factor-remove"), {"code": code_of(emil)}).status_code == 302

    assert not second_factor.is_on(emil)
    assert not StaticToken.objects.exists()


def test_a_role_that_must_use_it_is_led_to_set_it_up_first(client, emil, settings):
    settings.REQUIRE_SECOND_FACTOR = [policies.ESTIMATOR]
    client.force_login(emil)
    for name in ("review", "home", "admin:index"):
        assert client.get(reverse(name)).url == reverse("second-factor"), name
    assert client.get(reverse("second-factor")).status_code == 200

    switched_on(client, emil)

    assert client.get(reverse("review")).status_code == 200
    TOTPDevice.objects.update(last_t=0)
    assert client.post(reverse("second-factor-remove"), {"code": code_of(emil)}).status_code == 422


def test_other_roles_are_not_asked(client, emil, settings):
    settings.REQUIRE_SECOND_FACTOR = [policies.MANAGER]
    client.force_login(emil)

    assert client.get(reverse("review")).status_code == 200


def test_a_role_that_does_not_exist_stops_the_start(settings):
    settings.REQUIRE_SECOND_FACTOR = ["managers"]
    with pytest.raises(ImproperlyConfigured, match="managers"):
        second_factor_roles.refuse_unknown()


def test_the_administrator_takes_a_lost_telephone_away(client, emil):
    switched_on(client, emil)
    administrator = get_user_model().objects.create_superuser("ada")
    client.force_login(administrator)
    client.post(
        reverse("admin:auth_user_changelist"), {"action": "take_away", "_selected_action": [emil.pk], "index": "0"}
    )

    assert not second_factor.is_on(emil)
    assert AuditEntry.objects.filter(action="second_factor_taken_away", by=administrator).count() == 1


def test_no_page_of_the_admin_shows_a_secret(client, db):
    client.force_login(get_user_model().objects.create_superuser("ada"))

    assert client.get("/admin/otp_totp/totpdevice/").status_code in (403, 404)
    assert client.get("/admin/otp_static/staticdevice/").status_code in (403, 404)
