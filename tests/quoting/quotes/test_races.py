"""Two people at once, on the database that lets them: PostgreSQL. SQLite has one writer at a time by itself."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import OperationalError, connection, transaction
from django.db.models import Sum

from machines.models import Booking
from quoting.planning.models import WON, Job, RunImport, RunRecord
from quoting.quotes import services
from quoting.quotes.mailing import quote_mail
from quoting.quotes.models import ACCEPTED, CustomerReply, Inquiry, Quote, RateImport, RateRow, RateUpload
from quoting.quotes.rates import imports
from quoting.quotes.records import next_number
from quoting.quotes.replies import customer_reply
from quoting.quotes.reviewing import KEYS
from quoting.quotes.runs import imports as run_imports
from quoting.quotes.runs.reading import HEADINGS
from tests.quoting.quotes.conftest import ON, TYPED, answered, sent
from tests.quoting.quotes.rate_files import as_csv

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


def _reply(office, quote, token):
    return customer_reply(token=token, kind=ACCEPTED, release=100)


# What our people do with a quote that its customer accepts at the same moment.
BESIDE = {
    "accepted twice": _reply,
    "withdrawn": lambda office, quote, token: services.link_revoke(quote=quote, by=office.rep),
    "sent anew": lambda office, quote, token: services.quote_send(quote=quote, by=office.rep),
    "mailed anew": lambda office, quote, token: quote_mail(
        quote=quote, to="a@b.example", form=token, by=office.rep, address=lambda secret: f"/q/link/{secret}/"
    ),
    "lost": lambda office, quote, token: services.quote_lost(quote=quote, reason="no answer", by=office.rep),
}


@on_postgresql
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("deed", BESIDE)
def test_an_acceptance_and_a_deed_of_ours_at_once_end_in_order_and_nobody_waits_for_ever(office, settings, deed):
    settings.MAIL, settings.BACKGROUND = "smtp", "workers"  # written only; no worker runs
    for _ in range(5):
        quote, token = sent(office)

        def both(place, quote=quote, token=token):
            try:
                return (BESIDE[deed] if place % 2 else _reply)(office, Quote.objects.get(pk=quote.pk), token)
            except (Quote.DoesNotExist, OperationalError) as error:
                return error

        results = at_once(4, both)

        assert [one for one in results if isinstance(one, OperationalError)] == []
        assert len([one for one in results if isinstance(one, Exception)]) < len(results)
        taken = {one.pk for one in results if isinstance(one, CustomerReply)}
        assert set(quote.replies.values_list("pk", flat=True)) == taken
        assert len(taken) <= 1
        assert quote.audit.filter(action="customer_accepted").count() == len(taken)


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


@on_postgresql
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("uploads", [1, 4])
def test_of_imports_at_once_one_wins_and_the_others_are_told(people, uploads):
    RateRow.objects.create(key="price.overhead", value="12 %", valid_from=ON, source="test")
    content = as_csv("overhead", ("price.overhead", "13 %", "2026-12-15", ""))
    sent = [
        imports.rates_upload(table="overhead", file_name="r.csv", content=content, effective=None, by=people.manager)
        for _ in range(uploads)
    ]
    shown = imports.upload_preview(sent[0]).fingerprint

    def confirm(place):
        upload = RateUpload.objects.filter(pk=sent[place % uploads].pk).first() or sent[place % uploads]
        return imports.upload_import(upload=upload, fingerprint=shown, good_only=False, by=people.manager)

    results = at_once(4, confirm)

    assert sum(isinstance(one, RateImport) for one in results) == 1
    assert sum(isinstance(one, services.ConflictError) for one in results) == 3
    assert RateRow.objects.get(valid_from="2026-12-15").value == "13 %"
    assert RateImport.objects.get().number.endswith("-0001")


@on_postgresql
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("uploads", [1, 4])
def test_of_imports_of_runs_at_once_one_wins_and_each_run_is_recorded_once(office, uploads):
    Job.objects.create(
        quote="Q-2026-0001", state=WON, machine=office.machine, process="vacuum", polymer="ABS", quantity=100,
        hours=9.0, since=ON, ready=ON, due=ON, value=1000, margin=0.2,
    )  # fmt: skip
    row = ("Q-2026-0001", office.machine.code, "2026-11-02", "2026-11-02", "100", "4")
    content = "\n".join((",".join(HEADINGS[: len(row)]), ",".join(row))).encode()
    sent = [run_imports.runs_upload(file_name="r.csv", content=content, by=office.estimator) for _ in range(uploads)]
    shown = run_imports.upload_preview(sent[0]).fingerprint

    results = at_once(
        4,
        lambda place: run_imports.upload_import(
            upload=sent[place % uploads], fingerprint=shown, good_only=False, by=office.estimator
        ),
    )

    assert sum(isinstance(one, RunImport) for one in results) == 1
    assert sum(isinstance(one, services.ConflictError) for one in results) == 3
    assert RunRecord.objects.count() == 1


@pytest.mark.skipif("sqlite" not in settings.DATABASES["default"]["ENGINE"], reason="is about SQLite's setting")
def test_sqlite_takes_the_write_lock_at_the_beginning_of_a_transaction():
    assert settings.DATABASES["default"]["OPTIONS"]["transaction_mode"] == "IMMEDIATE"


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_orders_at_once_do_not_take_the_same_free_hours(office):
    quotes = [sent(office)[0] for _ in range(3)]

    at_once(3, lambda place: services.quote_won(quote=quotes[place], release=500, by=office.rep, on=ON))

    weeks = Booking.objects.filter(firm=True).order_by().values_list("week").annotate(hours=Sum("hours"))
    assert sum(hours for _, hours in weeks) == pytest.approx(300)
    assert max(hours for _, hours in weeks) <= 40 + 1e-6  # one shift of 8 h on 5 days
