"""The ledger: each job is done once, by whoever holds its lease, from where it stopped."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from fleet.jobs import ledger
from fleet.jobs.requests import cancel, enqueue, retry
from fleet.jobs.run import LeaseLost
from fleet.models import Job
from fleet.problems import FleetError
from tests.factories import JobFactory, UserFactory
from tests.jobs.claiming import claimed, state_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _known(kind) -> None:
    kind("count", lambda run: None)


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
