"""What a worker does to a job's row. Each is one conditional write, so two who try at once cannot both succeed."""

import uuid
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from fleet.jobs.run import LeaseLost, Run
from fleet.models import Job

# A job that was started this often without committing a chunk kills its workers; a person must look at it.
MOST_ATTEMPTS = 5
State = Job.State
NO_LEASE: dict[str, Any] = {"lease_token": None, "lease_until": None}


def claim(*, job_id: int) -> Run | None:
    """Take the lease of a waiting job; None when it is not waiting, not due, or its twin still runs."""
    now, token = timezone.now(), uuid.uuid4()
    twin = Job.objects.filter(kind=OuterRef("kind"), key=OuterRef("key"), state=State.RUNNING).exclude(key="")
    free = Job.objects.filter(pk=job_id, state=State.QUEUED, not_before__lte=now).exclude(Exists(twin))
    job = free.first()
    if job is None:
        return None
    lease = now + timedelta(seconds=settings.JOB_LEASE_SECONDS)
    try:
        with transaction.atomic():
            taken = Job.objects.filter(pk=job_id, state=State.QUEUED).update(
                state=State.RUNNING, lease_token=token, lease_until=lease, heartbeat_at=now,
                attempts=job.attempts + 1, started_at=job.started_at or now,
            )  # fmt: skip
    except IntegrityError:  # its twin was claimed in the same moment
        return None
    return Run(job, token) if taken else None


def finish(*, run: Run, result: dict[str, Any] | None) -> None:
    """Record that the work is done. Raises LeaseLost."""
    _close(run, state=State.DONE, result=result)


def fail(*, run: Run, sentence: str) -> None:
    """Record why the work cannot go on; a person may retry it from its last chunk. Raises LeaseLost."""
    _close(run, state=State.FAILED, error=sentence)


def put_off(*, run: Run, delay_s: float) -> None:
    """Let a job that has done nothing yet wait again, as if it had not begun. Raises LeaseLost."""
    held = Job.objects.filter(pk=run.job_id, state=State.RUNNING, lease_token=run.token)
    again = {"not_before": timezone.now() + timedelta(seconds=delay_s), "attempts": 0, "started_at": None}
    if not held.exists():
        raise LeaseLost(f"Job {run.job_id} is no longer ours.")
    _put_back(held, **again)


def put_back_stale() -> list[int]:
    """Return jobs whose worker fell silent to the queue, and give up those that keep killing theirs."""
    now = timezone.now()
    stale = Job.objects.filter(state=State.RUNNING, lease_until__lt=now)
    reason = f"Its worker stopped {MOST_ATTEMPTS} times without a word. Look at the worker's log, then retry."
    stale.filter(attempts__gte=MOST_ATTEMPTS).update(state=State.FAILED, error=reason, finished_at=now, **NO_LEASE)
    return [job_id for job_id in list(stale.values_list("pk", flat=True)) if _put_back(stale.filter(pk=job_id))]


def due() -> list[int]:
    """Return the ids of all jobs that wait and may start now."""
    waiting = Job.objects.filter(state=State.QUEUED, not_before__lte=timezone.now())
    return list(waiting.order_by("pk").values_list("pk", flat=True))


def twins_waiting(*, run: Run) -> list[int]:
    """Return the ids of jobs that waited for this run to end because they do the same work."""
    if not run.key:
        return []
    return list(Job.objects.filter(kind=run.kind, key=run.key, state=State.QUEUED).values_list("pk", flat=True))


def _close(run: Run, **changes: Any) -> None:
    held = Job.objects.filter(pk=run.job_id, state=State.RUNNING, lease_token=run.token)
    if not held.update(finished_at=timezone.now(), **NO_LEASE, **changes):
        raise LeaseLost(f"Job {run.job_id} is no longer ours.")


def _put_back(held: QuerySet[Job], **changes: Any) -> bool:
    try:
        with transaction.atomic():
            return bool(held.update(state=State.QUEUED, **NO_LEASE, **changes))
    except IntegrityError:  # the same work was asked for again meanwhile and waits: let that one do it
        with transaction.atomic():
            reason = "The same work was asked for again and runs as a job of its own."
            held.update(state=State.CANCELLED, message=reason, finished_at=timezone.now(), **NO_LEASE)
        return False
