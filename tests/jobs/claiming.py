"""A job that a worker claims."""

from fleet.jobs import ledger
from fleet.jobs.run import Run
from fleet.models import Job
from tests.factories import JobFactory


def claimed(**fields) -> Run:
    run = ledger.claim(job_id=JobFactory(kind="count", **fields).pk)
    assert run is not None
    return run


def state_of(run: Run) -> str:
    return Job.objects.get(pk=run.job_id).state
