"""Figures for a monitoring system, in the open text exposition format, behind a token of its own.

Requests are counted in each process; with several, PROMETHEUS_MULTIPROC_DIR names a folder in which the client
library adds them up. All else is asked of the database when somebody reads.
"""

import hmac
from collections.abc import Iterator
from datetime import datetime

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import connection
from django.db.models import Count, Min
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django_tasks_db.models import DBTaskResult
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client import REGISTRY as OWN_PROCESS
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector

from quoting.quotes.mail_model import MAIL_STATES, OutgoingMail
from quoting.quotes.records import now
from quoting.quotes.sealing import seal_state

EDGES = (0.01, 0.025, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.5, 5.0, 10.0)  # s
REQUESTS = Counter("quoting_requests", "Requests answered", ["view", "method", "status"])
DURATIONS = Histogram("quoting_request_seconds", "Time to answer a request", ["view"], buckets=EDGES)


def request_seen(view: str, method: str | None, status: int, seconds: float) -> None:
    """Count one answered request; views are named, never addresses, so that the series stay few."""
    verb = method if method in ("GET", "HEAD", "POST") else "other"
    REQUESTS.labels(view, verb, f"{status // 100}xx").inc()
    DURATIONS.labels(view).observe(seconds)


class OfTheDatabase:
    """Queue, outbox and size, asked when the figures are read."""

    def collect(self) -> Iterator[Metric]:
        yield from (queue(), oldest_waiting(), mails(), database_size(), *seals())


def queue() -> Metric:
    family = GaugeMetricFamily("quoting_tasks", "Tasks in the queue", labels=["status"])
    counts = dict(DBTaskResult.objects.order_by().values_list("status").annotate(Count("pk")))
    for status in ("READY", "RUNNING", "FAILED"):
        family.add_metric([status.lower()], counts.get(status, 0))
    return family


def oldest_waiting() -> Metric:
    """Age of the oldest task that is due [s]; none waits: 0."""
    since = oldest_due()
    age = (now() - since).total_seconds() if since else 0.0
    return GaugeMetricFamily("quoting_oldest_waiting_task_seconds", "Age of the oldest due task", value=age)


def oldest_due() -> datetime | None:
    """Since when the oldest due task waits: since it was enqueued, or since the time it was put off to."""
    due = DBTaskResult.objects.ready().order_by()
    put_off = due.filter(run_after__lte=now()).aggregate(at=Min("run_after"))["at"]
    straight = due.filter(run_after__gt=now()).aggregate(at=Min("enqueued_at"))["at"]
    return min((one for one in (put_off, straight) if one), default=None)


def mails() -> Metric:
    family = GaugeMetricFamily("quoting_mails", "E-mails of the outbox", labels=["state"])
    counts = dict(OutgoingMail.objects.order_by().values_list("state").annotate(Count("pk")))
    for state in MAIL_STATES:
        family.add_metric([state], counts.get(state, 0))
    return family


def seals() -> tuple[Metric, Metric]:
    """How many entries of the record are not sealed, and for how long the oldest of them [s]; all sealed: 0."""
    state = seal_state()
    age = (now() - state.since).total_seconds() if state.since else 0.0
    return (
        GaugeMetricFamily("quoting_unsealed_entries", "Entries of the record without a seal", value=state.unsealed),
        GaugeMetricFamily("quoting_oldest_unsealed_entry_seconds", "Age of the oldest entry without a seal", value=age),
    )


def database_size() -> Metric:
    question = {
        "postgresql": "SELECT pg_database_size(current_database())",
        "sqlite": "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(question)
        size = cursor.fetchone()[0]
    return GaugeMetricFamily("quoting_database_bytes", "Size of the database", value=size)


def has_token(request: HttpRequest) -> bool:
    """Whether the request carries the token of the environment, compared in constant time."""
    given = request.headers.get("Authorization", "").removeprefix("Bearer ")
    return bool(settings.METRICS_TOKEN) and hmac.compare_digest(given.encode(), settings.METRICS_TOKEN.encode())


@login_not_required
@never_cache
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """The figures; the same 404 without a token, with a wrong one, and where none is set."""
    if not has_token(request):
        raise Http404
    counted = CollectorRegistry()
    if settings.METRICS_FOLDER:
        MultiProcessCollector(counted, path=settings.METRICS_FOLDER)
    stored = CollectorRegistry()
    stored.register(OfTheDatabase())
    text = generate_latest(counted if settings.METRICS_FOLDER else OWN_PROCESS) + generate_latest(stored)
    return HttpResponse(text, content_type=CONTENT_TYPE_LATEST)
