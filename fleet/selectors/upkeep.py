"""How the installation is: what waits, what runs, what failed. For those who run it, and for the metrics."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Max, Min, Q
from django.utils import timezone

from fleet.models import Job

State = Job.State
# Older failures are history: somebody has lived with them.
FAILED_DAYS = 30
MOST_FAILED = 50


@dataclass(frozen=True, slots=True)
class KindRow:
    """One kind of job: how much of it there is, and since when."""

    kind: str
    waiting: int
    oldest_at: datetime | None
    running: int
    failed: int


@dataclass(frozen=True, slots=True)
class RunningRow:
    """A job that some worker holds. `silent_s` since its worker was heard, `lease_s` until it loses the job."""

    id: int
    kind: str
    started_at: datetime | None
    silent_s: float
    lease_s: float
    message: str


@dataclass(frozen=True, slots=True)
class FailedRow:
    """A job that gave up, with its reason."""

    id: int
    kind: str
    error: str
    finished_at: datetime
    asked_by: str


def kinds_of_work(*, now: datetime | None = None) -> list[KindRow]:
    """Every kind with open or newly failed jobs, by one query. A job delayed on purpose does not wait yet."""
    now = now or timezone.now()
    due = Q(state=State.QUEUED, not_before__lte=now)
    recent = Q(state=State.FAILED, finished_at__gte=now - timedelta(days=FAILED_DAYS))
    rows = (
        Job.objects.filter(Q(state__in=[State.QUEUED, State.RUNNING]) | recent)
        .order_by("kind")
        .values("kind")
        .annotate(
            waiting=Count("pk", filter=due),
            oldest_at=Min("not_before", filter=due),
            running=Count("pk", filter=Q(state=State.RUNNING)),
            failed=Count("pk", filter=recent),
        )
    )
    return [KindRow(**row) for row in rows]


def running_jobs(*, now: datetime | None = None) -> list[RunningRow]:
    """The jobs that run, the longest silent first, by one query."""
    now = now or timezone.now()
    return [_running(job, now) for job in Job.objects.filter(state=State.RUNNING).order_by("heartbeat_at", "pk")]


def failed_jobs(*, now: datetime | None = None) -> list[FailedRow]:
    """The latest jobs that failed, newest first, by one query."""
    since = (now or timezone.now()) - timedelta(days=FAILED_DAYS)
    failed = Job.objects.filter(state=State.FAILED, finished_at__gte=since)
    return [_failed(job) for job in failed.select_related("requested_by").order_by("-finished_at")[:MOST_FAILED]]


def last_done(kinds: list[str]) -> dict[str, datetime]:
    """When each of `kinds` was last done, by one query."""
    rows = Job.objects.filter(kind__in=kinds, state=State.DONE).order_by().values("kind")
    return dict(rows.annotate(last=Max("finished_at")).values_list("kind", "last"))


def _running(job: Job, now: datetime) -> RunningRow:
    heard: Any = job.heartbeat_at or job.started_at or job.created_at
    until: Any = job.lease_until
    return RunningRow(
        id=job.pk,
        kind=job.kind,
        started_at=job.started_at,
        silent_s=max(0.0, (now - heard).total_seconds()),
        lease_s=(until - now).total_seconds(),
        message=job.message,
    )


def _failed(job: Job) -> FailedRow:
    finished: Any = job.finished_at
    asked_by = job.requested_by.display_name if job.requested_by else ""
    return FailedRow(id=job.pk, kind=job.kind, error=job.error, finished_at=finished, asked_by=asked_by)
