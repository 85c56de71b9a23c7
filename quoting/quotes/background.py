"""Work that does not make anybody wait: put in the queue in the database, done by processes of `manage.py work`.

A task is a function under ``django_tasks.task`` that takes plain JSON values. It may run again where a process died in
the middle, so it must be harmless to run twice.
"""

import subprocess
import sys
from typing import Any

from django.conf import settings
from django.db import transaction
from django_tasks.base import Task


def enqueue(task: Task, *arguments: Any) -> None:
    """Put a task in the queue with the caller's transaction; where no workers run, start one once it is committed."""
    task.enqueue(*arguments)
    if settings.BACKGROUND == "as needed":
        transaction.on_commit(start_worker, robust=True)


def start_worker() -> None:
    """A process of its own that works until the queue is empty; where one runs already it ends at once."""
    subprocess.Popen(  # noqa: S603 - our own interpreter and command
        [sys.executable, "manage.py", "work", "--until-idle"], cwd=settings.BASE_DIR,
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
