"""Jobs as their askers see them."""

from dataclasses import dataclass

from django.db.models import QuerySet

from fleet.models import Job, User
from fleet.problems import FleetError


@dataclass(frozen=True, slots=True)
class JobRow:
    """One job, ready to show."""

    id: int
    kind: str
    state: str
    state_word: str
    done: int
    total: int | None
    percent: int | None
    rows_per_second: float | None
    seconds_left: float | None
    message: str
    error: str
    is_open: bool
    can_retry: bool


def jobs_of(user: User) -> QuerySet[Job]:
    """Return the jobs that `user` asked for; superusers see all."""
    return Job.objects.all() if user.is_superuser else Job.objects.filter(requested_by=user)


def job_of(user: User, *, job_id: int) -> Job:
    """Return one of the user's jobs. Raises FleetError with 404."""
    job = jobs_of(user).filter(pk=job_id).first()
    if job is None:
        raise FleetError("job_not_found", "", "You have not asked for such a job.", status=404)
    return job


def job_row(user: User, *, job_id: int) -> JobRow:
    """Return one of the user's jobs, ready to show, by one query."""
    return row_of(job_of(user, job_id=job_id))


def recent_jobs(user: User, *, count: int = 50) -> list[JobRow]:
    """Return the user's latest jobs, newest first, by one query."""
    return [row_of(job) for job in jobs_of(user)[:count]]


def row_of(job: Job) -> JobRow:
    """A job, ready to show."""
    share = job.share_done
    return JobRow(
        id=job.pk,
        kind=job.kind,
        state=job.state,
        state_word=job.get_state_display(),
        done=job.done_count,
        total=job.total_count,
        percent=None if share is None else int(100 * share),
        rows_per_second=job.rows_per_second,
        seconds_left=job.seconds_left,
        message=job.message,
        error=job.error,
        is_open=job.is_open,
        can_retry=job.state in {Job.State.FAILED, Job.State.CANCELLED},
    )
