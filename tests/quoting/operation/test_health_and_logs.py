"""What a monitor and a log reader see, and what strangers do not."""

import json
import logging
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from prometheus_client.parser import text_string_to_metric_families

from quoting.desk.masking import masked
from quoting.operation import health, metrics
from quoting.operation.log_lines import JsonLines
from quoting.quotes.links import fresh_token
from quoting.quotes.models import AuditEntry
from quoting.quotes.outbox import mail_deliver
from quoting.quotes.sealing import seals_make


def lines_of(caplog: pytest.LogCaptureFixture) -> list[dict]:
    return [json.loads(JsonLines().format(record)) for record in caplog.records]


def test_health_asks_neither_for_a_log_in_nor_the_database(client):
    assert client.get("/health/").status_code == 200  # the test has no database: a query would fail


def test_ready_says_yes_and_nothing_else(client, db):
    assert client.get("/ready/").json() == {"ready": True}


@pytest.mark.parametrize(
    ("part", "words"), [("pending_migrations", "2 migrations"), ("worker_is_late", "waits"), ("disk_trouble", "full")]
)
def test_a_trouble_makes_it_unready_and_is_told_to_the_log_only(client, db, monkeypatch, caplog, part, words):
    monkeypatch.setattr(health, part, lambda: words)

    response = client.get("/ready/")

    assert (response.status_code, response.json()) == (503, {"ready": False})
    assert words in caplog.text


def test_a_migration_that_was_never_applied_makes_it_unready_and_its_applying_ready_again(client, db, settings):
    settings.METRICS_TOKEN = "a token of the one who watches"
    asked = {"HTTP_AUTHORIZATION": f"Bearer {settings.METRICS_TOKEN}"}
    recorder = MigrationRecorder(connection)
    last = recorder.migration_qs.filter(app="quotes").order_by("-name").values_list("name", flat=True)[0]
    recorder.record_unapplied("quotes", last)

    plain, told = client.get("/ready/"), client.get("/ready/", **asked)

    assert (plain.status_code, plain.json()) == (503, {"ready": False})
    assert told.status_code == 503
    assert "migration" in told.content.decode()
    recorder.record_applied("quotes", last)
    assert client.get("/ready/").status_code == 200


def test_a_folder_that_cannot_be_written_is_a_trouble(settings):
    settings.DATA_DIR = Path("/proc")
    assert "cannot be written" in health.disk_trouble()


def test_a_task_that_waits_too_long_means_that_no_worker_runs(db, settings):
    settings.BACKGROUND = "workers"
    mail_deliver.enqueue(1)
    assert health.worker_is_late() == ""

    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(minutes=6))

    assert "is a worker running?" in health.worker_is_late()


def test_a_task_put_off_to_later_is_not_late(db, settings):
    settings.BACKGROUND = "workers"
    mail_deliver.using(run_after=timezone.now() + timedelta(hours=1)).enqueue(1)
    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(hours=1))

    assert health.worker_is_late() == ""


def test_metrics_are_not_there_without_their_token(client, db, settings):
    missing = client.get("/no-such-page/").status_code
    found = []
    for token, given in (("", ""), ("", "Bearer "), ("right", ""), ("right", "Bearer wrong"), ("right", "Bearer ")):
        settings.METRICS_TOKEN = token
        found.append(client.get("/metrics/", headers={"Authorization": given} if given else {}).status_code)

    assert found == [404] * 5
    assert missing in (302, 404)


def test_metrics_can_be_read_by_a_general_parser(client, db, settings):
    # prometheus_client's own parser of the text exposition format
    settings.METRICS_TOKEN = "right"
    mail_deliver.enqueue(1)
    client.get("/health/")

    text = client.get("/metrics/", headers={"Authorization": "Bearer right"}).content.decode()

    samples = {
        (one.name, *(one.labels[name] for name in sorted(one.labels))): one.value
        for family in text_string_to_metric_families(text)
        for one in family.samples
    }
    assert samples["quoting_requests_total", "GET", "2xx", "health"] >= 1
    assert samples["quoting_tasks", "ready"] == 1
    assert samples["quoting_mails", "waiting"] == 0
    assert samples["quoting_database_bytes",] > 10_000
    assert samples["quoting_unsealed_entries",] == 0


def test_metrics_tell_how_long_entries_are_not_sealed(db):
    # the record of a moved clock: an hour old
    AuditEntry(at=timezone.now() - timedelta(hours=1), action="any").save()
    count, age = (next(iter(one.samples)).value for one in metrics.seals())
    assert count == 1
    assert age == pytest.approx(3600, abs=60)

    seals_make()

    assert [next(iter(one.samples)).value for one in metrics.seals()] == [0, 0]


def test_each_request_is_one_json_line_with_its_id_and_queries(client, db, caplog):
    caplog.set_level(logging.INFO, "quoting.requests")

    response = client.get("/ready/", headers={"X-Request-ID": "from-the-proxy-1"})

    (line,) = [one for one in lines_of(caplog) if one["logger"] == "quoting.requests"]
    assert response["X-Request-ID"] == line["request_id"] == "from-the-proxy-1"
    assert (line["path"], line["status"], line["view"]) == ("/ready/", 200, "ready")
    assert line["queries"] > 0
    assert line["milliseconds"] > 0


def test_an_id_that_could_forge_a_line_is_not_taken_over(client, db):
    assert client.get("/health/", headers={"X-Request-ID": 'x", "level": "x'})["X-Request-ID"].isalnum()


def test_the_secret_of_a_private_link_stands_in_no_line(client, db, caplog):
    caplog.set_level(logging.DEBUG)
    token = fresh_token()

    client.get(f"/q/{token}/")
    logging.getLogger("quoting.anything").warning("sent %s", token, extra={"address": f"https://x.example/q/{token}/"})

    assert caplog.records
    assert token not in json.dumps(lines_of(caplog))


def test_line_breaks_do_not_make_a_second_line():
    record = logging.makeLogRecord({"msg": 'first\n{"level": "forged"}\r\x00', "levelname": "INFO"})
    assert len(JsonLines().format(record).splitlines()) == 1


def test_quote_numbers_are_not_taken_for_secrets():
    assert masked("/q/Q-2026-0001/1/ /inquiries/I-2026-0001/") == "/q/Q-2026-0001/1/ /inquiries/I-2026-0001/"


def test_a_traceback_goes_into_the_log_and_not_onto_the_page(db, monkeypatch, caplog, settings):
    settings.DEBUG = False

    def broken() -> str:
        raise RuntimeError("a secret place")

    monkeypatch.setattr(health, "troubles", broken)

    response = Client(raise_request_exception=False).get("/ready/")

    assert response.status_code == 500
    assert b"secret place" not in response.content
    (line,) = [one for one in lines_of(caplog) if "traceback" in one]
    assert "a secret place" in line["traceback"]
    assert line["request_id"] == response["X-Request-ID"]
