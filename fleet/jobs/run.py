"""A job as its handler sees it: where to resume, and how to commit a chunk."""

import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from fleet.models import Job


class LeaseLost(Exception):
    """Another worker holds the job now, or a person cancelled it: stop, and leave everything as it is."""


class PutOff(Exception):
    """A handler's word before it begins: not yet, so the job waits again for `delay_s`."""

    def __init__(self, delay_s: float) -> None:
        super().__init__(f"put off by {delay_s:.0f} s")
        self.delay_s = delay_s


class Run:
    """One attempt at one job, by the holder of its lease.

    A handler works in chunks, each shorter than JOB_LEASE_SECONDS::

        for chunk in chunks_after(run.chunk):
            with run.step(chunk=chunk.end, done=chunk.rows_so_far):
                write(chunk)

    What a step writes and the place where it ended are one transaction, so a killed worker neither loses nor
    doubles a chunk. Work that is not in a step must be harmless when done twice.
    """

    def __init__(self, job: Job, token: uuid.UUID) -> None:
        self.job_id: int = job.pk
        self.kind: str = job.kind
        self.key: str = job.key
        self.arguments: dict[str, Any] = job.arguments
        self.chunk: Any = job.chunk
        self.token = token
        self._began = time.monotonic()
        self._began_at = job.done_count

    @contextmanager
    def step(self, *, chunk: Any, done: int, total: int | None = None, message: str = "") -> Iterator[None]:
        """Commit the writes of the block together with `chunk`, from where the next attempt would resume.

        Raises
        ------
        LeaseLost : the job is no longer ours; nothing of the block is kept.
        """
        with transaction.atomic():
            # First, so that on PostgreSQL the row is locked and a late holder of a lost lease fails before it writes.
            self._beat(chunk=chunk, attempts=1, **self._progress(done, total, message))
            yield
        self.chunk = chunk

    def beat(self, *, done: int | None = None, total: int | None = None, message: str = "") -> None:
        """Keep the lease and show progress without committing a chunk. Raises LeaseLost."""
        self._beat(**({} if done is None else self._progress(done, total, message)))

    def _progress(self, done: int, total: int | None, message: str) -> dict[str, Any]:
        elapsed_s = time.monotonic() - self._began
        rate = (done - self._began_at) / elapsed_s if elapsed_s > 0 and done > self._began_at else F("rows_per_second")
        known = {} if total is None else {"total_count": total}
        return {"done_count": done, "rows_per_second": rate, "message": message, **known}

    def _beat(self, **changes: Any) -> None:
        now = timezone.now()
        lease = now + timedelta(seconds=settings.JOB_LEASE_SECONDS)
        held = Job.objects.filter(pk=self.job_id, state=Job.State.RUNNING, lease_token=self.token)
        if not held.update(heartbeat_at=now, lease_until=lease, **changes):
            raise LeaseLost(f"Job {self.job_id} is no longer ours.")
