"""The ledger: each job is done once, by whoever holds its lease, from where it stopped."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from fleet.jobs import ledger
from fleet.jobs.requests import cancel, enqueue, retry
from fleet.jobs.run import LeaseLost, Run
from fleet.models import Depot, Job
from fleet.problems import FleetError
from tests.factories import DepotFactory, JobFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _known(kind) -> None:
    kind("count", lambda run: None)


def claimed(**fields) -> Run:
    run = ledger.claim(job_id=JobFactory(kind="count", **fields).pk)
    assert run is not None
    return run


def let_the_lease_run_out(run: Run) -> None:
    Job.objects.filter(pk=run.job_id).update(lease_until=timezone.now() - timedelta(seconds=1))


def state_of(run: Run) -> str:
    return Job.objects.get(pk=run.job_id).state


def test_a_waiting_job_is_claimed_once() -> None:
    run = claimed()
    assert ledger.claim(job_id=run.job_id) is None
    assert state_of(run) == "running"


def test_a_job_that_is_not_due_is_not_claimed() -> None:
    job = enqueue(kind="count", arguments={}, delay_s=60)
    assert ledger.claim(job_id=job.pk) is None
    assert job.pk not in ledger.due()


def test_a_job_put_off_waits_as_if_it_had_not_begun() -> None:
    run = claimed(key="model 1")
    ledger.put_off(run=run, delay_s=60)
    job = Job.objects.get(pk=run.job_id)
    assert (job.state, job.attempts, job.started_at, job.lease_token) == ("queued", 0, None, None)
    assert timedelta(seconds=50) < job.not_before - timezone.now() <= timedelta(seconds=60)
    assert ledger.claim(job_id=run.job_id) is None
    with pytest.raises(LeaseLost):
        ledger.put_off(run=run, delay_s=60)


def test_a_job_put_off_gives_way_to_its_twin_that_waits() -> None:
    run = claimed(key="model 1")
    twin = enqueue(kind="count", arguments={}, key="model 1")
    ledger.put_off(run=run, delay_s=60)
    assert state_of(run) == "cancelled"
    assert Job.objects.get(state="queued") == twin


def test_requests_with_one_key_wait_as_one_job() -> None:
    first = enqueue(kind="count", arguments={"model": 1}, key="model 1")
    assert enqueue(kind="count", arguments={"model": 1}, key="model 1") == first
    assert enqueue(kind="count", arguments={"model": 2}, key="model 2") != first


def test_requests_without_a_key_stay_apart() -> None:
    assert enqueue(kind="count", arguments={}) != enqueue(kind="count", arguments={})


def test_a_request_during_a_run_waits_for_its_end() -> None:
    run = claimed(key="model 1")
    later = enqueue(kind="count", arguments={}, key="model 1")
    assert later.pk != run.job_id
    assert ledger.claim(job_id=later.pk) is None
    ledger.finish(run=run, result=None)
    assert ledger.twins_waiting(run=run) == [later.pk]
    assert ledger.claim(job_id=later.pk) is not None


def test_an_unknown_kind_is_refused_when_it_is_asked_for() -> None:
    with pytest.raises(FleetError) as refusal:
        enqueue(kind="knit", arguments={})
    assert refusal.value.code == "unknown_job_kind"


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


def test_a_stale_run_gives_way_to_the_same_work_that_waits() -> None:
    run = claimed(key="model 1")
    waiting = enqueue(kind="count", arguments={}, key="model 1")
    let_the_lease_run_out(run)
    assert ledger.put_back_stale() == []
    assert state_of(run) == "cancelled"
    assert ledger.claim(job_id=waiting.pk) is not None


def test_a_cancelled_job_stops_at_its_next_step_and_can_be_retried() -> None:
    run = claimed()
    job = Job.objects.get(pk=run.job_id)
    cancel(job=job)
    with pytest.raises(LeaseLost):
        run.beat()
    retry(job=job)
    assert state_of(run) == "queued"


def test_a_finished_job_can_neither_be_cancelled_nor_retried() -> None:
    run = claimed()
    ledger.finish(run=run, result=None)
    job = Job.objects.get(pk=run.job_id)
    with pytest.raises(FleetError, match="over already"):
        cancel(job=job)
    with pytest.raises(FleetError, match="Only a failed or cancelled job"):
        retry(job=job)


def test_a_retry_is_refused_while_the_same_work_waits() -> None:
    run = claimed(key="model 1")
    ledger.fail(run=run, sentence="The file is gone.")
    enqueue(kind="count", arguments={}, key="model 1")
    with pytest.raises(FleetError) as refusal:
        retry(job=Job.objects.get(pk=run.job_id))
    assert refusal.value.code == "job_waits_once"


def test_whoever_asked_is_kept() -> None:
    person = UserFactory()
    assert enqueue(kind="count", arguments={}, requested_by=person).requested_by == person


@pytest.mark.parametrize(
    "wrong",
    [
        {"state": "asleep"},
        {"state": "running"},
        {"state": "done"},
        {"state": "failed", "finished_at": timezone.now()},
        {"finished_at": timezone.now()},
        {"done_count": 3, "total_count": 2},
    ],
)
def test_the_database_refuses_a_row_that_makes_no_sense(wrong: dict) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        JobFactory(**wrong)
