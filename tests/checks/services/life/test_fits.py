"""Lives are fitted in groups and compared; what did not change keeps its row."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.models import Assessment, LifeFit
from checks.models.forecast import Basis
from checks.selectors.life import NO_METER, model_lives
from checks.services.life import fit_all
from fleet.jobs.ledger import claim, finish
from fleet.jobs.registry import kind_of, kinds
from fleet.jobs.requests import enqueue
from fleet.models import Job
from tests.living_fleet import B10_KM, INSIDE_MM, SHAPE, make_living_fleet

pytestmark = pytest.mark.django_db


def test_the_planted_life_lies_within_its_limits():
    fleet = make_living_fleet()
    fleet.add(40)
    assert fit_all() == 40
    fit = LifeFit.objects.get(turbocharger_model__isnull=False, basis=Basis.KM)
    whole = fit.groups[0]
    assert (whole["kind"], whole["lives"], whole["events"]) == ("model", 40, fit.events)
    share, _, low, high = whole["limits"][2]
    assert share == 0.1
    assert low < B10_KM < high
    assert whole["beta_limits"][0] < SHAPE < whole["beta_limits"][1]


def test_without_engine_hours_there_is_no_life_in_hours():
    fleet = make_living_fleet()
    fleet.add(2)
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model__isnull=False, basis=Basis.HOURS)
    assert (fit.lives, fit.left_out[NO_METER]) == (0, 2)


def test_groups_of_one_life_are_told_apart_only_where_they_differ():
    fleet = make_living_fleet()
    fleet.add(25, origin="new")
    fleet.add(25, origin="reconditioned", eta_km=40_000.0)
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model=fleet.checked.bay.turbocharger.model, basis=Basis.KM)
    [found] = [row for row in fit.comparisons if row["kind"] == "origin"]
    assert found["keys"] == ["new", "reconditioned"]
    assert found["weibull"]["p"] < 0.001
    assert found["scores"]["p"] < 0.001
    sizes = {row["key"]: row["lives"] for row in fit.groups if row["kind"] == "origin"}
    assert sizes == {"new": 25, "reconditioned": 25}


def test_models_are_set_against_each_other():
    one, other = make_living_fleet(), make_living_fleet(seed=6)
    one.add(20)
    other.add(20, eta_km=40_000.0)
    fit_all()
    [found] = LifeFit.objects.get(turbocharger_model=None, basis=Basis.KM).comparisons
    assert set(found["keys"]) == {fleet.checked.bay.turbocharger.model.pk for fleet in (one, other)}
    assert found["weibull"]["p"] < 0.001


def test_what_did_not_change_keeps_its_row_and_an_amended_verdict_changes_it(fleet):
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 150, INSIDE_MM)
    fit_all()
    before = dict(LifeFit.objects.values_list("pk", "made_at").filter(turbocharger_model__isnull=False))
    fit_all()
    assert dict(LifeFit.objects.values_list("pk", "made_at").filter(turbocharger_model__isnull=False)) == before
    Assessment.objects.filter(stroke__check_made=check).update(state="outside_low")
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model=unit.model, basis=Basis.KM)
    assert fit.events == 1
    assert fit.made_at > before[fit.pk]


def test_a_model_whose_checks_are_gone_keeps_no_life(fleet):
    fit_all()
    model = fleet.bay.turbocharger.model
    assert LifeFit.objects.get(turbocharger_model=model, basis=Basis.KM).lives == 1
    Assessment.objects.update(state="void")
    fit_all()
    fit = LifeFit.objects.get(turbocharger_model=model, basis=Basis.KM)
    assert (fit.lives, fit.groups, fit.rows) == (0, [], [])


def test_lives_are_read_in_as_many_queries_whatever_the_fleet(fleet):
    def cost() -> int:
        with CaptureQueriesContext(connection) as caught:
            model_lives(fleet.bay.turbocharger.model, Basis.KM)
        return len(caught)

    before = cost()
    for _ in range(4):
        fleet.add_check(fleet.add_unit(), 150, INSIDE_MM)
    assert cost() == before


def test_a_refit_asks_for_lives_once_for_a_burst(fleet):
    assert "fit-life" in kinds()
    model = fleet.bay.turbocharger.model
    for _ in range(2):
        job = enqueue(kind="refit", arguments={"model": model.pk}, key=f"model {model.pk}")
        run = claim(job_id=job.pk)
        kind_of("refit").handler(run)
        finish(run=run, result=None)
    wanted = Job.objects.get(kind="fit-life")
    Job.objects.filter(pk=wanted.pk).update(not_before=wanted.created_at)
    assert kind_of("fit-life").handler(claim(job_id=wanted.pk)) == {"lives": 1}
    assert LifeFit.objects.filter(turbocharger_model=model).count() == 2


def test_fitting_one_model_leaves_the_others(fleet):
    fit_all()
    other = make_living_fleet()
    other.add(3)
    assert LifeFit.objects.filter(turbocharger_model__isnull=False).count() == 2
    fit_all()
    assert LifeFit.objects.filter(turbocharger_model__isnull=False).count() == 4
