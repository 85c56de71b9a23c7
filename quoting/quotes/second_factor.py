"""The second factor: a code of six digits from a telephone (RFC 6238), or one of ten recovery codes on paper."""

from math import ceil

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.db import transaction
from django_otp.models import Device
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from quoting.quotes import policies
from quoting.quotes.records import audit, now
from quoting.quotes.trying_again import tried_again

RECOVERY_CODES = 10
DIGITS = 6
# Each wrong code doubles the wait [s]; at this many it is 17 minutes and grows no further, so that whoever knows a
# password cannot keep its owner out for good.
MOST_FAILURES = 11


def is_on(person: object) -> bool:
    """Whether this person is asked for a code at log-in."""
    return TOTPDevice.objects.filter(user=person, confirmed=True).exists()


def found(person: object, *, is_on: bool) -> None:
    """What the request has read of a person together with them."""
    person._factor_on = is_on


def is_asked(person: object) -> bool:
    """The same as it stood when the request began: for the gate, before which nothing can have changed it."""
    return person._factor_on if hasattr(person, "_factor_on") else is_on(person)


def is_required(person: object) -> bool:
    """Whether one of this person's roles must use it."""
    return bool(policies.roles(person) & set(settings.REQUIRE_SECOND_FACTOR))


def device_waiting(person: object) -> TOTPDevice | None:
    """The device that was begun and has not shown a right code yet."""
    return TOTPDevice.objects.filter(user=person, confirmed=False).order_by("-pk").first()


def codes_left(person: object) -> int:
    return StaticToken.objects.filter(device__user=person).count()


@tried_again
@transaction.atomic
def factor_begin(*, by: object) -> TOTPDevice:
    """Make a new secret to be put into a telephone. One that was begun before is thrown away."""
    _locked(by)
    _refuse_if(is_on(by), "The second factor is on already.")
    TOTPDevice.objects.filter(user=by, confirmed=False).delete()
    return TOTPDevice.objects.create(user=by, name="telephone", confirmed=False, digits=DIGITS)


@tried_again
def factor_confirm(*, by: object, code: str) -> tuple[TOTPDevice, list[str]]:
    """Switch on once the telephone shows the right code; returns the device and recovery codes, to be shown once."""
    with transaction.atomic():
        _locked(by)
        _refuse_if(is_on(by), "The second factor is on already.")
        device = TOTPDevice.objects.select_for_update().filter(user=by, confirmed=False).order_by("-pk").first()
        _refuse_if(device is None, "Begin again: no new telephone is waiting.")
        right = _verified(device, _plain(code))
        if right:
            device.confirmed = True
            device.save()
            audit("second_factor_on", by=by)
            return device, _fresh_codes(by)
    raise ValidationError({"code": "This code is not right. Type the six digits that the telephone shows now."})


@tried_again
def code_check(*, by: object, code: str) -> Device:
    """The device that this code comes from. A code counts once; each wrong one doubles the wait for the next.

    Raises ValidationError for a wrong code, one that was used before, or one that comes too soon.
    """
    plain, kind = _plain(code), TOTPDevice if _plain(code).isdecimal() else StaticDevice
    with transaction.atomic():
        device = kind.objects.select_for_update().filter(user=by, confirmed=True).order_by("pk").first()
        if device is not None and _verified(device, plain):
            if kind is StaticDevice:
                audit("recovery_code_used", by=by, left=codes_left(by))
            return device
    raise ValidationError({"code": "This code is not right, or was used before. Wait for the next one and type that."})


@tried_again
@transaction.atomic
def recovery_codes_make(*, by: object) -> list[str]:
    """Ten new recovery codes in place of the old ones, to be shown once."""
    _locked(by)
    _refuse_if(not is_on(by), "Switch the second factor on first.")
    audit("recovery_codes", by=by)
    return _fresh_codes(by)


def factor_remove(*, by: object, code: str) -> None:
    """Switch off, with a right code."""
    _refuse_if(is_required(by), "Your role must use a second factor. An administrator can take a lost telephone away.")
    code_check(by=by, code=code)
    _switched_off(by)


@tried_again
@transaction.atomic
def _switched_off(by: object) -> None:
    """Apart from the code, which counts once."""
    _forget(by)
    audit("second_factor_off", by=by)


@tried_again
@transaction.atomic
def factor_take_away(*, person: object, by: object) -> None:
    """For a lost telephone: the administrator takes it away, and a role that must use one sets it up anew."""
    policies.require(by, "manage_people")
    _forget(person)
    audit("second_factor_taken_away", by=by, person=person.get_username())


def _forget(person: object) -> None:
    TOTPDevice.objects.filter(user=person).delete()
    StaticDevice.objects.filter(user=person).delete()


def _fresh_codes(person: object) -> list[str]:
    StaticDevice.objects.filter(user=person).delete()
    device = StaticDevice.objects.create(user=person, name="paper", confirmed=True)
    codes = [StaticToken.random_token() for _ in range(RECOVERY_CODES)]
    StaticToken.objects.bulk_create(StaticToken(device=device, token=code) for code in codes)
    return codes


def _verified(device: Device, code: str) -> bool:
    """Whether the library takes the code. It keeps count of failures and of the last code used."""
    allowed, refusal = device.verify_is_allowed()
    if not allowed:
        seconds = ceil((refusal["locked_until"] - now()).total_seconds())
        raise ValidationError({"code": f"Too many wrong codes. Wait {max(seconds, 1)} seconds, then try again."})
    right = bool(device.verify_token(code))
    if not right and device.throttling_failure_count > MOST_FAILURES:
        type(device).objects.filter(pk=device.pk).update(throttling_failure_count=MOST_FAILURES)
    return right


def _plain(code: str) -> str:
    return code.replace(" ", "").replace("-", "").lower()


def _locked(person: object) -> None:
    get_user_model().objects.select_for_update().get(pk=person.pk)


def _refuse_if(wrong: bool, words: str) -> None:
    if wrong:
        raise ValidationError({"code": words})
