"""Workers of the queue: what a dead one leaves is taken up by another, and nothing is done twice."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.db.models.functions import Now
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from quoting.management.commands import work
from quoting.quotes import repricing, workers
from quoting.quotes.models import AnswerBasis, RepricingPart, WorkerBeat
from quoting.quotes.repricing_tasks import reprice
from tests.quoting.quotes.open_book import LATER, new_rate, open_book

on_postgresql = pytest.mark.skipif(
    "postgresql" not in settings.DATABASES["default"]["ENGINE"], reason="several workers share a queue on PostgreSQL"
)


def running_task(worker: str) -> DBTaskResult:
    reprice.enqueue(0)
    task = DBTaskResult.objects.get(status=TaskResultStatus.READY)
    task.claim(worker)
    return task


@pytest.mark.django_db
def test_the_task_of_a_worker_without_a_sign_of_life_is_put_back():
    task = running_task("killed")

    assert workers.put_back_orphans() == 1
    task.refresh_from_db()
    assert (task.status, task.started_at) == (TaskResultStatus.READY, None)
    assert workers.put_back_orphans() == 0


@pytest.mark.django_db
def test_the_task_of_a_living_worker_is_left_to_it():
    workers.beat("alive")
    task = running_task("alive")

    assert workers.put_back_orphans() == 0
    WorkerBeat.objects.update(beat_at=Now() - workers.DEAD_AFTER - timedelta(seconds=1))
    assert workers.put_back_orphans() == 1
    task.refresh_from_db()
    assert task.status == TaskResultStatus.READY


@pytest.mark.django_db
def test_a_task_that_kills_its_workers_ends_as_failed():
    reprice.enqueue(0)
    for number in range(workers.MOST_STARTS):
        task = DBTaskResult.objects.get()
        assert task.status == TaskResultStatus.READY
        task.claim(f"killed {number}")
        workers.put_back_orphans()

    task.refresh_from_db()
    assert task.status == TaskResultStatus.FAILED
    assert "5 times" in task.traceback


@pytest.mark.django_db
def test_a_worker_that_ends_takes_its_sign_of_life_away(monkeypatch):
    monkeypatch.setattr(workers, "BEAT_EVERY", 60.0)
    with workers.beating("w"):
        assert workers.living().filter(worker="w").exists()
    assert not WorkerBeat.objects.exists()


# --- processes ------------------------------------------------------------------------------------------------------


def database_url() -> str:
    at = connection.settings_dict
    return f"postgresql://{at['USER']}:{at['PASSWORD']}@{at['HOST']}:{at['PORT']}/{at['NAME']}"


@pytest.fixture
def worker(tmp_path):
    """Starts processes of ``manage.py work`` on the test's own database; ends those that a test leaves."""
    begun = []

    def start() -> subprocess.Popen:
        environment = os.environ | {
            "DATABASE_URL": database_url(), "DATA_DIR": str(tmp_path), "BACKGROUND": "workers",
            "WORKER_DEAD_AFTER": "6",
        }  # fmt: skip
        begun.append(
            subprocess.Popen(
                [sys.executable, "manage.py", "work"], cwd=settings.BASE_DIR, env=environment,
                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )
        )  # fmt: skip
        return begun[-1]

    yield start
    for process in begun:
        process.kill()
        process.wait()


def until(happened: Callable[[], bool], within: float = 120.0) -> None:
    end = time.monotonic() + within
    while not happened():
        assert time.monotonic() < end, "it did not happen in time"
        time.sleep(0.1)


@on_postgresql
@pytest.mark.django_db(transaction=True)
def test_what_a_killed_worker_was_at_is_taken_up_and_nothing_is_done_twice(worker, monkeypatch, settings):
    settings.BACKGROUND = "workers"
    monkeypatch.setattr(repricing, "LARGEST_PART", 5)
    book = open_book(60)
    AnswerBasis.objects.all().delete()  # the whole way takes long enough to be killed on it
    new_rate("price.margin", "0.2")
    run = repricing.run_start(on=LATER, by=book.manager)
    DBTaskResult.objects.exclude(pk=DBTaskResult.objects.first().pk).delete()  # one task: it must change hands

    killed = worker()
    until(lambda: run.parts.filter(state="done").exists() and run.parts.filter(state="claimed").exists())
    os.kill(killed.pid, signal.SIGKILL)
    killed.wait()
    left = DBTaskResult.objects.get()
    assert left.status == TaskResultStatus.RUNNING
    taken = RepricingPart.objects.filter(state="claimed").first()

    worker()
    worker()
    until(lambda: type(run).objects.get(pk=run.pk).state == "done")
    run.refresh_from_db()
    assert (run.done, run.left_out, run.results.count()) == (60, 0, 60)
    assert len({str(one.now) for one in run.results.all()}) == 1
    if taken is not None:
        assert RepricingPart.objects.get(pk=taken.pk).claims == 2
    until(lambda: DBTaskResult.objects.get().status == TaskResultStatus.SUCCESSFUL)
    assert len(DBTaskResult.objects.get().worker_ids) == 2


def test_one_works_for_each_core_and_one_waits(tmp_path, monkeypatch):
    monkeypatch.setattr(work.os, "cpu_count", lambda: 2)
    monkeypatch.setattr(work.settings, "DATA_DIR", tmp_path)
    with work.place() as first, work.place() as second, ExitStack() as waiting:
        assert first and second
        assert work.taken(waiting, work.WAITING)
        with work.place() as third:
            assert not third
    with work.place() as again:
        assert again
