"""Is the process alive, and can it do its work? Strangers are told yes or no; why not stands in the log."""

import logging
import tempfile
from datetime import timedelta

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from quoting.operation.metrics import has_token, oldest_due
from quoting.quotes import given_numbers
from quoting.quotes.records import now

LONGEST_WAIT = timedelta(minutes=5)  # a due task older than this: no worker looks after the queue
log = logging.getLogger("quoting.health")


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """The process answers. Asks nothing of anybody else, so that a slow database does not get it restarted."""
    return HttpResponse("alive\n", content_type="text/plain")


@login_not_required
@never_cache
@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Whether requests may be sent here: 200 or 503. Who has the metrics token is told what is wrong."""
    wrong = troubles()
    if wrong:
        log.error("not ready: %s", "; ".join(wrong))
    answer = {"ready": not wrong} | ({"troubles": wrong} if has_token(request) else {})
    return JsonResponse(answer, status=503 if wrong else 200)


def troubles() -> list[str]:
    """What keeps this process from its work, in words; empty when all is well."""
    try:
        connection.ensure_connection()
        pending = pending_migrations()
        late = worker_is_late() if not pending else ""
        numbers = number_trouble() if not pending else ""
    except DatabaseError as refused:
        return [f"the database cannot be used: {refused}".strip()]
    return [one for one in (pending, late, numbers, disk_trouble()) if one]


def pending_migrations() -> str:
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return f"{len(plan)} migrations are not applied; run manage.py migrate" if plan else ""


def worker_is_late() -> str:
    """Where workers share the queue, a due task that waits too long means that none of them runs."""
    if settings.BACKGROUND != "workers":
        return ""
    since = oldest_due()
    if since is None or now() - since < LONGEST_WAIT:
        return ""
    return f"a due task waits since {since:%Y-%m-%d %H:%M} UTC; is a worker running?"


def number_trouble() -> str:
    """Whether numbers given out are known outside the database, and none of them is unknown inside it."""
    try:
        given_numbers.keep_up()
        behind = given_numbers.behind()
    except OSError as refused:
        return f"the numbers given out are not kept outside the database: {refused}"
    if not behind:
        return ""
    lost = ", ".join(map(str, behind))
    return f"numbers went out that this database does not know ({lost}); run manage.py numbers raise"


def disk_trouble() -> str:
    try:
        with tempfile.NamedTemporaryFile(dir=settings.DATA_DIR) as file:
            file.write(b"x" * 4096)
            file.flush()
    except OSError as refused:
        return f"the data folder cannot be written: {refused.strerror}"
    return ""
