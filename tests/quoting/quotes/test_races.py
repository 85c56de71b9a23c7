"""Two people at once, on the database that lets them: PostgreSQL. SQLite has one writer at a time by itself."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import connection, transaction

from quoting.quotes import services
from quoting.quotes.models import Inquiry, Quote
from quoting.quotes.records import next_number
from quoting.quotes.reviewing import KEYS
from tests.quoting.quotes.conftest import ON, TYPED, answered

on_postgresql = pytest.mark.skipif(
    "postgresql" not in settings.DATABASES["default"]["ENGINE"], reason="needs several writers at a time"
)


def at_once(count, deed):
    barrier = Barrier(count)

    def one(place):
        try:
            barrier.wait(timeout=20)
            return deed(place)
        except ValidationError as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(count) as threads:
        return list(threads.map(one, range(count)))


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_numbers_taken_at_once_are_all_different_and_without_gap():
    def take(place):
        with transaction.atomic():
            return next_number("Q", 2026)

    assert sorted(at_once(8, take)) == [f"Q-2026-{number:04d}" for number in range(1, 9)]


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_approvals_at_once_one_wins_and_one_quote_is_issued(office):
    inquiry = answered(office)

    results = at_once(
        4, lambda place: services.quote_approve(inquiry=inquiry, confirmed=KEYS, by=office.estimator, on=ON)
    )

    assert sum(isinstance(one, Quote) for one in results) == 1
    assert Quote.objects.count() == 1


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_of_changes_at_once_one_wins_and_the_others_are_told(office):
    inquiry = services.inquiry_log(typed=TYPED, by=office.rep)

    def change(place):
        typed = {"reference": str(place)}
        return services.inquiry_change(inquiry=inquiry, typed=typed, by=office.rep, version=1)

    results = at_once(4, change)

    winners = [one for one in results if isinstance(one, Inquiry)]
    assert len(winners) == 1
    assert Inquiry.objects.get().typed == winners[0].typed
    assert sum(isinstance(one, services.ConflictError) for one in results) == 3


@pytest.mark.skipif("sqlite" not in settings.DATABASES["default"]["ENGINE"], reason="is about SQLite's setting")
def test_sqlite_takes_the_write_lock_at_the_beginning_of_a_transaction():
    assert settings.DATABASES["default"]["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
