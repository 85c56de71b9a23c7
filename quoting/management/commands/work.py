"""Do the work that waits in the queue."""

import fcntl
import socket
from argparse import ArgumentParser
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker

WORKING, WAITING = "worker.lock", "worker-waits.lock"


def open_lock(name: str) -> IO[str]:
    return (Path(settings.DATA_DIR) / name).open("w")


class Command(BaseCommand):
    help = "Do the work that waits in the queue; several of these on several machines share it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--until-idle", action="store_true", help="end when nothing waits; one at a time on SQLite")

    def handle(self, *args: object, **options: object) -> None:
        if not options["until_idle"]:
            self._worker(batch=False).run()
            return
        # One works and one waits to look after it, so that nothing enqueued in a last moment stays behind.
        with open_lock(WAITING) as waiting, open_lock(WORKING) as working:
            try:
                fcntl.flock(waiting, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                return
            fcntl.flock(working, fcntl.LOCK_EX)
            fcntl.flock(waiting, fcntl.LOCK_UN)
            self._worker(batch=True).run()

    def _worker(self, *, batch: bool) -> Worker:
        worker = Worker(
            queue_names=["*"],
            interval=1,
            batch=batch,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=f"{socket.gethostname()[:40]}-{get_random_string(16)}",
            excluded_queue_names=[],
        )
        worker.configure_signals()
        return worker
