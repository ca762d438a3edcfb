"""Numbers for Prometheus: how requests go, counted in each process, and how the ledger stands, read when asked.

Given only to whoever sends METRICS_TOKEN; without that setting there is no such page.
"""

import os
import shutil
from collections.abc import Iterator
from secrets import compare_digest

from django.conf import settings
from django.db import DatabaseError
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    REGISTRY,
    CollectorRegistry,
    Counter,
    Histogram,
    generate_latest,
    multiprocess,
)
from prometheus_client.metrics_core import GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from fleet.jobs import broker
from fleet.selectors.upkeep import kinds_of_work

# Around the half second that a page may take.
BUCKETS = (0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
REQUESTS = Counter("register_requests", "Requests answered.", ["method", "route", "status"])
SECONDS = Histogram("register_request_seconds", "Time to the first byte of an answer.", ["route"], buckets=BUCKETS)


def count_request(method: str, route: str, status: int, seconds: float) -> None:
    """Count one request under its address without what was typed into it."""
    REQUESTS.labels(method if method in METHODS else "other", route, str(status)).inc()
    SECONDS.labels(route).observe(seconds)


class Installation(Collector):
    """What is the same whichever process is asked."""

    def collect(self) -> Iterator[Metric]:
        """Yield the ledger, the broker and the disk; a database that is away leaves the ledger out."""
        yield _one("register_broker_up", "1 when the broker answers.", float(broker.answers()))
        free = shutil.disk_usage(settings.VAR_DIR).free
        yield _one("register_disk_free_bytes", "Room left where data is kept.", float(free))
        try:
            rows = kinds_of_work()
        except DatabaseError:
            yield _one("register_database_up", "1 when the database answers.", 0.0)
            return
        yield _one("register_database_up", "1 when the database answers.", 1.0)
        now = timezone.now()
        oldest = max(((now - row.oldest_at).total_seconds() for row in rows if row.oldest_at), default=0.0)
        yield _one("register_jobs_oldest_wait_seconds", "How long the oldest due job has waited.", oldest)
        for name in ("waiting", "running", "failed"):
            family = GaugeMetricFamily(f"register_jobs_{name}", f"Jobs that are {name}.", labels=["kind"])
            for row in rows:
                family.add_metric([row.kind], float(getattr(row, name)))
            yield family


def metrics(request: HttpRequest) -> HttpResponse:
    """Answer with every number in the text form of Prometheus."""
    if not settings.METRICS_TOKEN:
        raise Http404
    sent = request.headers.get("Authorization", "").removeprefix("Bearer ").encode()
    if not compare_digest(sent, settings.METRICS_TOKEN.encode()):
        return HttpResponse(status=401, headers={"WWW-Authenticate": "Bearer"})
    text = generate_latest(_counted()) + generate_latest(_installation())
    return HttpResponse(text, content_type=CONTENT_TYPE_LATEST)


def _counted() -> CollectorRegistry:
    """The counts of all web processes where there are several, which share a folder, else of this one."""
    if "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
        return REGISTRY
    registry = CollectorRegistry()
    multiprocess.MultiProcessCollector(registry)
    return registry


def _installation() -> CollectorRegistry:
    registry = CollectorRegistry()
    registry.register(Installation())
    return registry


def _one(name: str, says: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(name, says, value=value)
