"""One log line and one measurement for each request and each task."""

import logging
import re
import time
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

from django.db import connections
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import get_random_string
from django_tasks.signals import task_finished, task_started

from quoting.operation import metrics

HEADER = "X-Request-ID"
GIVEN = re.compile(r"[A-Za-z0-9-]{8,64}")  # what we take over from the proxy; anything else could forge log lines
requests = logging.getLogger("quoting.requests")
tasks = logging.getLogger("quoting.tasks")


class QueryCount:
    """Counts the queries of one request."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, execute: Callable[..., Any], *arguments: Any) -> Any:
        self.count += 1
        return execute(*arguments)


class RequestLog:
    """The outermost middleware: gives each request its id and writes what became of it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        given = request.headers.get(HEADER, "")
        request.request_id = given if GIVEN.fullmatch(given) else get_random_string(20)
        queries, began = QueryCount(), time.perf_counter()
        with ExitStack() as wrapped:
            for connection in connections.all(initialized_only=True):
                wrapped.enter_context(connection.execute_wrapper(queries))
            response = self.get_response(request)
        response[HEADER] = request.request_id
        self.write(request, response, time.perf_counter() - began, queries.count)
        return response

    def write(self, request: HttpRequest, response: HttpResponse, seconds: float, queries: int) -> None:
        view = request.resolver_match.view_name if request.resolver_match else ""
        person = getattr(request, "_cached_user", None)  # only if the page asked who it is; asking costs a query
        requests.log(
            logging.ERROR if response.status_code >= 500 else logging.INFO, "%s %s", request.method, request.path,
            extra={
                "request_id": request.request_id, "method": request.method, "path": request.path,
                "view": view, "status": response.status_code, "milliseconds": round(1000 * seconds, 1),
                "person": person.pk if person is not None else None, "queries": queries,
            },
        )  # fmt: skip
        metrics.request_seen(view or "none", request.method, response.status_code, seconds)


_began: dict[str, float] = {}


def task_begins(sender: object, task_result: Any, **_: object) -> None:
    _began[str(task_result.id)] = time.perf_counter()


def task_ends(sender: object, task_result: Any, **_: object) -> None:
    began = _began.pop(str(task_result.id), None)
    seconds = 0.0 if began is None else time.perf_counter() - began
    path, status = task_result.task.module_path, str(task_result.status).lower()
    tasks.log(
        logging.ERROR if status == "failed" else logging.INFO, "%s %s", path, status,
        extra={
            "task_id": task_result.id, "task": path, "status": status, "milliseconds": round(1000 * seconds, 1),
            "attempts": len(task_result.worker_ids),
        },
    )  # fmt: skip


def listen() -> None:
    """Called once when the app is loaded."""
    task_started.connect(task_begins, dispatch_uid="quoting.operation.begins")
    task_finished.connect(task_ends, dispatch_uid="quoting.operation.ends")
