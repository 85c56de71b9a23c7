"""A small, seeded part of ``tests/benchmarks/hostile_inputs.py``: no fault, no leak, nothing that becomes markup."""

import pytest
from django.db import transaction

from quoting.quotes import services, steps

from . import hostile, world


@pytest.fixture(scope="module")
def office(django_db_setup, django_db_blocker, tmp_path_factory):
    with django_db_blocker.unblock(), transaction.atomic(), pytest.MonkeyPatch.context() as patch:
        from django.conf import settings

        patch.setattr(settings, "MEDIA_ROOT", tmp_path_factory.mktemp("media"))
        patch.setattr(settings, "MISSES_A_MINUTE", 10**6)
        made = world.build()
        for module in (services, steps):
            patch.setattr(module, "outcome", lambda raw, catalog, on: made.answer)
        yield made
        transaction.set_rollback(True)


def test_hostile_inputs_are_answered_without_a_fault_or_a_leak(office):
    found = list(hostile.meetings(office, 7, requests=12, whole=False))

    assert sum(one.inputs for one in found) > 300
    assert not [one for one in found if one.status >= 500 or one.wrong]


def test_hostile_unit_texts_are_refused_in_the_foreseen_way():
    assert not [(text[:80], fault) for text, _, fault in hostile.unit_texts(7, 500) if fault]


@pytest.mark.parametrize("version", ["9" * 5000, "-1", "²", "1.0", ""])
def test_a_version_that_is_no_number_is_a_conflict_and_no_fault(office, version):
    number = office.own.sent.number

    response = office.client("estimator").post(f"/inquiries/{number}/withdraw-link/", {"version": version})

    assert response.status_code == 409


@pytest.mark.parametrize(
    "address", ["/runs/?job=a%00b", "/runs/accuracy/?machine=a%00b", "/runs/accuracy.csv?process=%00"]
)
def test_a_list_is_narrowed_by_a_word_with_a_null_character_as_by_the_rest_of_it(office, address):
    assert office.client("manager").get(address).status_code == 200


@pytest.mark.parametrize("name", ["shop-run-withdraw", "shop-factors-refuse"])
def test_a_reason_with_a_null_character_is_refused_by_name(office, name):
    address = office.addresses(name)[0]
    page = office.client("manager").post(address, {"reason": "a\x00b", "version": "1"})
    assert page.status_code in (409, 422)
    assert "Reason: got a null character" in page.content.decode()
