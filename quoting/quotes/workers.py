"""Processes that work off the queue: their signs of life, and what a dead one leaves is put back for the others.

The queue itself marks a task as running and never looks again; so a process that was killed would keep it for ever.
Times are those of the database, so that the clocks of several machines need not agree.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connection
from django.db.models import QuerySet
from django.db.models.functions import Now
from django_tasks import TaskResultStatus
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from quoting.quotes import watched
from quoting.quotes.models import WorkerBeat
from quoting.quotes.sealing import sealing_meanwhile

DEAD_AFTER = timedelta(seconds=settings.WORKER_DEAD_AFTER)  # without a beat
BEAT_EVERY = settings.WORKER_DEAD_AFTER / 6  # s, so that a beat or two may be late
MOST_STARTS = 5  # of one task: it may be what kills its workers


def beat(worker: str) -> None:
    """Give a sign of life."""
    WorkerBeat.objects.update_or_create(
        worker=worker, defaults={"beat_at": Now()}, create_defaults={"beat_at": Now(), "started_at": Now()}
    )


def living() -> QuerySet[WorkerBeat]:
    """Workers with a fresh sign of life."""
    return WorkerBeat.objects.filter(beat_at__gte=Now() - DEAD_AFTER)


def put_back_orphans() -> int:
    """Put back what dead workers were at, and forget those workers; how many tasks. Any number may do it at once.

    A task is put back only as it was found, so that one that somebody else has taken up meanwhile is left alone.
    """
    alive = set(living().values_list("worker", flat=True))
    count = 0
    for task in DBTaskResult.objects.running().only("pk", "worker_ids", "started_at"):
        if not task.worker_ids or task.worker_ids[-1] not in alive:
            count += _put_back(task)
    WorkerBeat.objects.filter(beat_at__lt=Now() - 10 * DEAD_AFTER).delete()
    return count


def _put_back(task: DBTaskResult) -> int:
    found = DBTaskResult.objects.running().filter(pk=task.pk, started_at=task.started_at)
    if len(task.worker_ids) < MOST_STARTS:
        return found.update(status=TaskResultStatus.READY, started_at=None)
    found.update(
        status=TaskResultStatus.FAILED, finished_at=Now(), exception_class_path="builtins.RuntimeError",
        traceback=f"Started {len(task.worker_ids)} times; each time its worker died without a word.",
    )  # fmt: skip
    return 0


def others_at_work(worker: str) -> bool:
    """Whether another worker, dead or alive, is at a task: what it leaves would have to be taken up."""
    running = DBTaskResult.objects.running().values_list("worker_ids", flat=True)
    return any(not ids or ids[-1] != worker for ids in running)


@contextmanager
def beating(worker: str) -> Iterator[None]:
    """Beside what is done inside, give signs of life and put back what dead workers left."""
    beat(worker)
    put_back_orphans()
    over = threading.Event()
    thread = threading.Thread(target=_beat_until, args=(over, worker), daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(BEAT_EVERY)
        WorkerBeat.objects.filter(worker=worker).delete()


def _beat_until(over: threading.Event, worker: str) -> None:
    """In a thread, with a connection of its own."""
    try:
        while not over.wait(BEAT_EVERY):
            beat(worker)
            put_back_orphans()
            watched.fold(DEFAULT_DB_ALIAS)
    finally:
        connection.close()


class SharedWorker(Worker):
    """A worker of the queue that can be told dead from alive."""

    def run(self) -> None:
        with beating(self.worker_id), sealing_meanwhile():
            super().run()
            while self.batch and self.running and others_at_work(self.worker_id):
                self.wait()
                super().run()

    def wait(self) -> None:
        threading.Event().wait(self.interval)
