"""Refits as jobs: asked for once per burst, resumed after a kill, and asked for whenever the register moves on."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from checks.jobs import drift as jobs
from checks.models import DriftFit, Forecast, Policy, Standing
from checks.selectors.stale import stale_models
from checks.services.amendment import amend_check
from checks.services.check import record_check
from checks.services.drift import refit
from checks.services.plan import all_turbochargers, replan
from fleet.jobs.requests import enqueue
from fleet.jobs.tasks import run_job
from fleet.models import Fitment, Job
from tests.bay import make_bay
from tests.drifting_fleet import make_fleet

pytestmark = pytest.mark.django_db
DERIVED = ("turbocharger", "travel_now_mm", "travel_now_sd_mm", "due_usage", "path", "innovations", "last_check")


@pytest.fixture
def fleet(monkeypatch):
    """A fleet planned but not fitted, refitted ten units at a time."""
    monkeypatch.setattr(jobs, "FORECASTS", 10)
    made = make_fleet(45)
    replan(all_turbochargers())
    return made


def ask(fleet) -> Job:
    model = fleet.bay.turbocharger.model
    return enqueue(kind="refit", arguments={"model": model.pk}, key=f"model {model.pk}")


def numbers() -> list:
    return list(Forecast.objects.order_by("turbocharger").values_list(*DERIVED))


def waiting(kind: str = "refit") -> list[Job]:
    return list(Job.objects.filter(kind=kind, state="queued"))


def test_a_burst_of_checks_is_one_refit():
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission())
    early = "2025-01-04T09:30:00+00:00"
    meters = {"odometer": None, "engine_hours": None}
    record_check(user=bay.technician, submission=bay.submission(made_at=early, cautions_read_at=early, **meters))
    amend_check(user=bay.manager, check=check, field="note", new_value="Soot on the rod.", reason="forgotten")
    assert [job.arguments for job in waiting()] == [{"model": bay.turbocharger.model_id}]
    assert waiting()[0].not_before > waiting()[0].created_at


def test_a_job_forecasts_and_plans_every_unit(fleet):
    job = ask(fleet)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.done_count, job.total_count) == ("done", 46, 46)
    assert job.result["readings"] == 135
    assert Standing.objects.filter(p_outside_now__isnull=False).count() == 46
    assert stale_models() == []


def test_a_large_model_rests_between_two_refits_and_is_refitted_then(fleet, monkeypatch):
    monkeypatch.setattr(jobs, "REST_S_A_UNIT", 1.0)
    first = ask(fleet)
    run_job(first.pk)
    again = ask(fleet)
    run_job(again.pk)
    again.refresh_from_db()
    left = again.not_before - timezone.now()
    assert (again.state, again.started_at) == ("queued", None)
    assert timedelta(seconds=20) < left <= timedelta(seconds=46)
    Job.objects.filter(pk=first.pk).update(finished_at=timezone.now() - timedelta(seconds=47))
    Job.objects.filter(pk=again.pk).update(not_before=timezone.now())
    run_job(again.pk)
    again.refresh_from_db()
    assert (again.state, again.done_count) == ("done", 46)


def test_a_refit_that_was_interrupted_goes_on_without_a_rest(fleet, monkeypatch):
    run_job(ask(fleet).pk)
    monkeypatch.setattr(jobs, "REST_S_A_UNIT", 1.0)
    job = ask(fleet)
    Job.objects.filter(pk=job.pk).update(chunk=["of older readings", 3])
    run_job(job.pk)
    job.refresh_from_db()
    assert job.state == "done"


def test_the_unit_just_checked_comes_first(fleet, monkeypatch):
    run_job(ask(fleet).pk)
    unit = fleet.units[40]
    fleet.add_check(unit, 500, 1.6)
    replan([unit.pk])
    stored = []
    plain = jobs.store_forecasts
    monkeypatch.setattr(jobs, "store_forecasts", lambda p, f, units: stored.append(list(units)) or plain(p, f, units))
    run_job(ask(fleet).pk)
    assert stored[0] == [unit.pk]
    assert sorted(pk for units in stored for pk in units) == sorted(
        Forecast.objects.values_list("turbocharger", flat=True)
    )


def test_a_job_that_died_goes_on_after_its_last_chunk_with_the_same_numbers(fleet, monkeypatch):
    refit()
    wanted = numbers()
    Forecast.objects.all().delete()
    DriftFit.objects.all().delete()
    plain, calls = jobs.store_forecasts, []

    def dying(prepared, fit, units):
        calls.append(list(units))
        if len(calls) == 3:
            raise MemoryError
        return plain(prepared, fit, units)

    monkeypatch.setattr(jobs, "store_forecasts", dying)
    job = ask(fleet)
    run_job(job.pk)
    assert 0 < Forecast.objects.count() < len(wanted)
    Job.objects.filter(pk=job.pk).update(state="queued", finished_at=None, error="")
    run_job(job.pk)
    assert numbers() == wanted
    assert calls[3] == calls[2]  # it began with the chunk that was lost


def test_a_job_whose_readings_changed_while_it_lay_begins_anew(fleet, monkeypatch):
    job = ask(fleet)
    run_job(job.pk)
    fleet.add_check(fleet.units[0], 500, 1.9)
    replan(all_turbochargers())
    Job.objects.filter(pk=job.pk).update(state="queued", finished_at=None, error="")
    run_job(job.pk)
    assert set(Forecast.objects.values_list("fit", flat=True)) == {DriftFit.objects.get(is_current=True).pk}


def test_changes_of_the_register_ask_for_a_refit(fleet):
    assert stale_models() == [fleet.bay.turbocharger.model_id]
    run_job(ask(fleet).pk)
    assert stale_models() == []
    Fitment.objects.first().save()
    assert stale_models() == [fleet.bay.turbocharger.model_id]
    run_job(ask(fleet).pk)
    Policy.objects.create(pk=1, risk_level=0.1)
    jobs.refit_stale()
    assert len(waiting()) == 1
    Job.objects.update(not_before=timezone.now())
    run_job(waiting()[0].pk)
    assert set(Forecast.objects.values_list("level", flat=True)) == {0.1}
    assert stale_models() == []


@pytest.mark.parametrize(("hour", "asked"), [(1, 0), (3, 1)])
def test_the_night_asks_once_for_the_whole_fleet(fleet, monkeypatch, hour, asked):
    monkeypatch.setattr(jobs.timezone, "localtime", lambda: datetime(2026, 5, 4, hour, 30, tzinfo=UTC))
    jobs.sweep_nightly()
    jobs.sweep_nightly()
    assert len(waiting("sweep")) == asked


def test_the_sweep_refits_every_model_and_plans_units_without_a_forecast(fleet):
    job = enqueue(kind="sweep", arguments={}, key="night of 2026-05-04")
    Standing.objects.all().delete()
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result) == ("done", {"planned": 46})
    assert [row.arguments["model"] for row in waiting()] == [fleet.bay.turbocharger.model_id]
    assert Standing.objects.count() == 46
