"""What people and services ask of the ledger."""

import logging
from datetime import timedelta
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from fleet.jobs.ledger import NO_LEASE, State
from fleet.jobs.registry import kind_of
from fleet.jobs.tasks import look_over, ring
from fleet.models import Job, User
from fleet.problems import FleetError

logger = logging.getLogger(__name__)


def enqueue(
    *, kind: str, arguments: dict[str, Any], key: str = "", requested_by: User | None = None, delay_s: float = 0
) -> Job:
    """Ask for work; rings the bell on commit.

    With a `key`, a job of that kind and key that still waits is returned instead of a second one: many requests
    while it waits become one run. A request during a run waits for its end, since the run may have read old rows.
    """
    kind_of(kind)
    waiting = Job.objects.filter(kind=kind, key=key, state=State.QUEUED) if key else Job.objects.none()
    job = waiting.first()
    if job is None:
        not_before = timezone.now() + timedelta(seconds=delay_s)
        fields = {"arguments": arguments, "requested_by": requested_by, "not_before": not_before}
        try:
            with transaction.atomic():
                job = Job.objects.create(kind=kind, key=key, **fields)
            logger.info("Job %s (%s) is asked for", job.pk, kind, extra={"kind": kind})
        except IntegrityError:  # somebody was quicker
            job = waiting.get()
    _ring_on_commit(job.pk, delay_s)
    return job


def look_over_soon() -> None:
    """Do on commit what is done at every beat, so that whoever wrote need not wait for the next one to see it."""
    transaction.on_commit(look_over)


def cancel(*, job: Job) -> None:
    """Stop a job; its worker notices at its next step, and chunks already committed stay."""
    open_jobs = Job.objects.filter(pk=job.pk, state__in=[State.QUEUED, State.RUNNING])
    if not open_jobs.update(state=State.CANCELLED, finished_at=timezone.now(), **NO_LEASE):
        raise FleetError("job_is_over", "", "This job is over already; there is nothing to cancel.", status=409)


def retry(*, job: Job) -> None:
    """Queue a failed or cancelled job again; it resumes after its last committed chunk."""
    over = Job.objects.filter(pk=job.pk, state__in=[State.FAILED, State.CANCELLED])
    again = {"state": State.QUEUED, "error": "", "attempts": 0, "finished_at": None, "not_before": timezone.now()}
    try:
        with transaction.atomic():
            retried = over.update(**again)
    except IntegrityError as error:
        raise FleetError("job_waits_once", "", "The same work is already waiting.", status=409) from error
    if not retried:
        raise FleetError("job_not_stopped", "", "Only a failed or cancelled job can be retried.", status=409)
    _ring_on_commit(job.pk, 0)


def _ring_on_commit(job_id: int, delay_s: float) -> None:
    transaction.on_commit(lambda: ring(job_id, delay_s))
