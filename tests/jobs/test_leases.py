"""A job is done by whoever holds its lease, from where it stopped, and is given up or stopped with a reason."""

from datetime import timedelta

import pytest
from django.utils import timezone

from fleet.jobs import ledger
from fleet.jobs.requests import enqueue
from fleet.jobs.run import LeaseLost, Run
from fleet.models import Depot, Job
from tests.factories import DepotFactory, JobFactory
from tests.jobs.claiming import claimed, state_of
from tests.jobs.conftest import Registrar

pytestmark = pytest.mark.django_db


def let_the_lease_run_out(run: Run) -> None:
    Job.objects.filter(pk=run.job_id).update(lease_until=timezone.now() - timedelta(seconds=1))


def test_a_step_commits_its_rows_and_its_place_together() -> None:
    run = claimed()
    with run.step(chunk={"row": 10}, done=10, total=40, message="first rows"):
        DepotFactory(code="KEPT")
    assert Depot.objects.filter(code="KEPT").exists()
    job = Job.objects.get(pk=run.job_id)
    assert (job.chunk, job.done_count, job.total_count, job.message) == ({"row": 10}, 10, 40, "first rows")
    assert run.chunk == {"row": 10}


def test_a_step_that_fails_keeps_neither() -> None:
    run = claimed()

    def write_and_stumble() -> None:
        with run.step(chunk=1, done=1):
            DepotFactory(code="LOST")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_and_stumble()
    assert Job.objects.get(pk=run.job_id).chunk is None
    assert not Depot.objects.filter(code="LOST").exists()


def test_the_late_holder_of_a_lost_lease_cannot_write() -> None:
    late = claimed()
    let_the_lease_run_out(late)
    assert ledger.put_back_stale() == [late.job_id]
    heir = ledger.claim(job_id=late.job_id)
    assert heir is not None
    with pytest.raises(LeaseLost), late.step(chunk=1, done=1):
        pytest.fail("The block of a lost lease must not run.")
    with pytest.raises(LeaseLost):
        ledger.finish(run=late, result=None)
    ledger.finish(run=heir, result={"rows": 1})
    assert Job.objects.get(pk=late.job_id).result == {"rows": 1}


def test_a_job_resumes_after_its_last_chunk() -> None:
    run = claimed()
    with run.step(chunk=3, done=30, total=100):
        pass
    let_the_lease_run_out(run)
    ledger.put_back_stale()
    heir = ledger.claim(job_id=run.job_id)
    assert heir is not None
    assert heir.chunk == 3


def test_a_job_under_lease_is_left_alone() -> None:
    run = claimed()
    assert ledger.put_back_stale() == []
    assert state_of(run) == "running"


def test_a_beat_prolongs_the_lease() -> None:
    run = claimed()
    let_the_lease_run_out(run)
    run.beat(done=5)
    assert ledger.put_back_stale() == []
    assert Job.objects.get(pk=run.job_id).done_count == 5


def test_a_job_that_keeps_killing_its_worker_is_given_up_with_a_reason() -> None:
    job = JobFactory(kind="count")
    for _ in range(ledger.MOST_ATTEMPTS):
        run = ledger.claim(job_id=job.pk)
        assert run is not None
        let_the_lease_run_out(run)
        ledger.put_back_stale()
    job.refresh_from_db()
    assert job.state == "failed"
    assert "5 times" in job.error


def test_a_committed_chunk_starts_the_count_of_attempts_anew() -> None:
    run = claimed(attempts=4)
    with run.step(chunk=1, done=1):
        pass
    let_the_lease_run_out(run)
    assert ledger.put_back_stale() == [run.job_id]


def test_a_stale_run_gives_way_to_the_same_work_that_waits(kind: Registrar) -> None:
    kind("count", lambda run: None)
    run = claimed(key="model 1")
    waiting = enqueue(kind="count", arguments={}, key="model 1")
    let_the_lease_run_out(run)
    assert ledger.put_back_stale() == []
    assert state_of(run) == "cancelled"
    assert ledger.claim(job_id=waiting.pk) is not None
