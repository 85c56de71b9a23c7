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
