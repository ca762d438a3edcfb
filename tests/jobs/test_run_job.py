"""The one task: what becomes of a job when its handler ends, fails, or is overtaken."""

import pytest
from kombu.exceptions import OperationalError

from fleet.jobs import tasks
from fleet.jobs.requests import cancel, enqueue
from fleet.jobs.run import Run
from fleet.models import Job
from fleet.problems import FleetError
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db


def after(handler, kind, **fields) -> Job:
    kind("count", handler)
    job = JobFactory(kind="count", **fields)
    tasks.run_job(job.pk)
    job.refresh_from_db()
    return job


def test_the_handlers_answer_is_the_result(kind) -> None:
    job = after(lambda run: {"rows": run.arguments["rows"]}, kind, arguments={"rows": 7})
    assert (job.state, job.result) == ("done", {"rows": 7})


def test_a_refusal_is_shown_in_its_own_words(kind) -> None:
    def refuse(run: Run) -> None:
        raise FleetError("file_gone", "file", "The file is gone. Upload it again.")

    job = after(refuse, kind)
    assert (job.state, job.error) == ("failed", "The file is gone. Upload it again.")


def test_an_unexpected_error_is_named_without_its_inner_words(kind) -> None:
    def stumble(run: Run) -> None:
        raise KeyError("secret")

    job = after(stumble, kind)
    assert job.state == "failed"
    assert "KeyError" in job.error
    assert "secret" not in job.error


def test_a_kind_whose_app_is_gone_fails_with_a_sentence(kind) -> None:
    kind("other", lambda run: None)
    job = JobFactory(kind="count")
    tasks.run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert "'count'" in job.error


def test_a_cancelled_job_stays_cancelled(kind) -> None:
    def be_cancelled(run: Run) -> None:
        cancel(job=Job.objects.get(pk=run.job_id))
        run.beat()

    assert after(be_cancelled, kind).state == "cancelled"


def test_a_second_delivery_does_nothing(kind) -> None:
    seen = []
    job = after(lambda run: seen.append(run.job_id), kind)
    tasks.run_job(job.pk)
    assert seen == [job.pk]


def test_the_bell_rings_only_after_the_commit(kind, django_capture_on_commit_callbacks) -> None:
    seen = []
    kind("count", lambda run: seen.append(run.job_id))
    with django_capture_on_commit_callbacks(execute=True):
        job = enqueue(kind="count", arguments={})
        assert seen == []
    assert seen == [job.pk]


def test_a_dead_broker_loses_no_request(kind, monkeypatch, django_capture_on_commit_callbacks) -> None:
    kind("count", lambda run: None)

    def no_answer(*args, **options) -> None:
        raise OperationalError("no broker")

    with monkeypatch.context() as broken:
        broken.setattr(tasks.run_job, "apply_async", no_answer)
        with django_capture_on_commit_callbacks(execute=True):
            job = enqueue(kind="count", arguments={})
    tasks.tick()
    job.refresh_from_db()
    assert job.state == "done"


def test_a_kind_has_one_handler(kind) -> None:
    kind("count", lambda run: None)
    with pytest.raises(ValueError, match="has a handler already"):
        kind("count", lambda run: {})
