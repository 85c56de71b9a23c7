"""Do the work that waits in the queue."""

import fcntl
import os
import socket
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils.crypto import get_random_string

from quoting.quotes.workers import SharedWorker

WORKING, WAITING = "worker-{place}.lock", "worker-waits.lock"
LOOK_AGAIN = 0.2  # s


def taken(stack: ExitStack, name: str) -> bool:
    """Take a lock of this machine, if nobody holds it; it is held until the stack ends."""
    file: IO[str] = (Path(settings.DATA_DIR) / name).open("w")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        file.close()
        return False
    stack.callback(file.close)
    return True


def place_taken(stack: ExitStack) -> bool:
    """Take one of as many places as this machine has cores."""
    return any(taken(stack, WORKING.format(place=place)) for place in range(os.cpu_count() or 1))


@contextmanager
def place() -> Iterator[bool]:
    """A place to work at; False where all are taken and somebody waits for the next already.

    One waits, so that nothing enqueued in the last moment of those who work stays behind.
    """
    with ExitStack() as working:
        if not place_taken(working):
            with ExitStack() as waiting:
                if not taken(waiting, WAITING):
                    yield False
                    return
                while not place_taken(working):
                    time.sleep(LOOK_AGAIN)
        yield True


class Command(BaseCommand):
    help = "Do the work that waits in the queue; several of these on several machines share it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--until-idle", action="store_true", help="end when nothing waits; one for each core")

    def handle(self, *args: object, **options: object) -> None:
        if not options["until_idle"]:
            self._worker(batch=False).run()
            return
        with place() as mine:
            if mine:
                self._worker(batch=True).run()

    def _worker(self, *, batch: bool) -> SharedWorker:
        worker = SharedWorker(
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
