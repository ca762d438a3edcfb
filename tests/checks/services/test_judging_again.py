"""A new revision judges a model's checks again on request and rewrites nothing."""

from datetime import date

import pytest

from checks.jobs.assessment import CHUNK
from checks.models import Assessment, Standing
from checks.selectors.assessment import flips_of
from checks.services import assessment as service
from checks.services.amendment import amend_check
from checks.services.check import record_check
from fleet.jobs.ledger import claim
from fleet.jobs.tasks import run_job
from fleet.models import Job
from fleet.problems import FleetError
from tests.bay import make_bay
from tests.factories import SpecificationFactory

pytestmark = pytest.mark.django_db


def checks_of_months(bay, months):
    """A check a month, all of them inside by the first revision."""
    made = []
    for month in range(1, months + 1):
        day = f"2025-{month:02d}-04T09:30:00+00:00"
        payload = bay.submission(made_at=day, cautions_read_at=day, odometer=None, engine_hours=None)
        made.append(record_check(user=bay.technician, submission=payload))
    return made


def tighter(bay):
    """A revision whose window the readings of 59.5 thousandths lie above."""
    return SpecificationFactory(
        turbocharger_model=bay.turbocharger.model,
        effective_from=date(2026, 1, 1),
        lower_mm=0.9,
        nominal_mm=1.1,
        upper_mm=1.3,
    )


def test_every_check_is_judged_by_the_new_revision_and_the_old_verdict_stays():
    bay = make_bay()
    checks = checks_of_months(bay, 3)
    revision = tighter(bay)
    job = service.request_rejudging(user=bay.manager, specification=revision)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result["checks"], job.result["changed"]) == ("done", 3, 3)
    assert job.result["flips"][0] == [checks[0].pk, "as_found", "inside", "outside_high"]
    for check in checks:
        old, new = Assessment.objects.filter(stroke__check_made=check).order_by("pk")
        assert (old.state, old.is_current, old.specification) == ("inside", False, bay.specification)
        assert (new.state, new.is_current, new.specification) == ("outside_high", True, revision)
        assert new.basis == f"revision {revision.revision}"
        check.refresh_from_db()
        assert check.specification == bay.specification
    assert Standing.objects.get().state == "outside_high"


def test_a_run_that_was_killed_goes_on_after_its_last_chunk(monkeypatch):
    monkeypatch.setattr("checks.jobs.assessment.CHUNK", 2)
    assert CHUNK > 2
    bay = make_bay()
    checks_of_months(bay, 5)
    revision = tighter(bay)
    job = service.request_rejudging(user=bay.manager, specification=revision)
    real, calls = service.judge_checks, []

    def dies_in_its_second_chunk(**asked):
        calls.append(asked["check_ids"])
        if len(calls) == 2:
            raise RuntimeError("killed")
        return real(**asked)

    monkeypatch.setattr("checks.jobs.assessment.judge_checks", dies_in_its_second_chunk)
    run_job(job.pk)
    assert Assessment.objects.filter(specification=revision).count() == 2
    Job.objects.filter(pk=job.pk).update(state="queued", error="", finished_at=None)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result["checks"], job.done_count) == ("done", 5, 5)
    assert Assessment.objects.filter(specification=revision).count() == 5
    assert len(flips_of(revision)) == 5


def test_asked_for_twice_it_is_one_job():
    bay = make_bay()
    first = service.request_rejudging(user=bay.manager, specification=bay.specification)
    assert service.request_rejudging(user=bay.manager, specification=bay.specification).pk == first.pk
    assert claim(job_id=first.pk) is not None


def test_only_a_manager_may_ask_for_it():
    bay = make_bay()
    with pytest.raises(FleetError) as caught:
        service.request_rejudging(user=bay.technician, specification=bay.specification)
    assert caught.value.status == 403


def test_an_amendment_is_judged_by_the_revision_that_judged_last():
    bay = make_bay()
    (check,) = checks_of_months(bay, 1)
    revision = tighter(bay)
    service.judge_checks(check_ids=[check.pk], basis="revision", by=revision)
    amend_check(user=bay.manager, check=check, field="note", new_value="seen", reason="for the record")
    assert Assessment.objects.get(is_current=True).specification == revision


def test_many_checks_cost_as_many_queries_as_one(django_assert_max_num_queries):
    bay = make_bay()
    ids = [check.pk for check in checks_of_months(bay, 6)]
    with django_assert_max_num_queries(24):
        service.judge_checks(check_ids=ids, basis="again")
