"""From stored checks to fits, forecasts and plans."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from checks.models import DriftFit, Forecast, Standing
from checks.services.drift import prepare, refit
from checks.services.plan import all_turbochargers, replan
from fleet.models import Turbocharger
from tests.checks.services.refitted import forecast, refitted
from tests.drifting_fleet import FITTED, make_fleet

pytestmark = pytest.mark.django_db


def test_a_models_drift_is_found_in_its_checks():
    fleet = make_fleet(45)
    fit = refitted(fleet)
    drift, u = fit.estimates["beta"][2], fit.estimates["cov"][2][2] ** 0.5
    assert abs(drift - fleet.drift_mm) < 3 * u
    assert (fit.route, fit.units, fit.readings) == ("own", 45, 135)
    assert Forecast.objects.count() == 46  # the bay's own unit was never checked


def test_a_plan_says_how_likely_the_unit_is_outside_and_when_risk_asks_for_it():
    fleet = make_fleet(45)
    refitted(fleet)
    unit = fleet.units[0]
    said, plan = forecast(unit), Standing.objects.get(turbocharger=unit)
    assert plan.p_outside_now == pytest.approx(said.p_below_now + said.p_above_now, abs=1e-6)
    risk = next(rule for rule in plan.rules if rule["rule"] == "risk")
    assert "A 5 % chance of being outside" in risk["sentence"]
    due = timezone.localdate() + timedelta(days=(said.due_usage - said.usage_now) / 350)
    assert abs((date.fromisoformat(risk["by_usage"]) - due).days) <= 1


def test_a_unit_near_its_limit_is_leaving_and_one_amid_its_window_is_not():
    fleet = make_fleet(42)
    near, amid = fleet.add_unit(), fleet.add_unit()
    today = (timezone.localdate() - FITTED).days
    for unit, travel in ((near, 2.0), (amid, 1.45)):
        fleet.add_check(unit, today - 30, travel)
        fleet.add_check(unit, today - 1, travel)
    refitted(fleet)
    plans = {plan.turbocharger_id: plan for plan in Standing.objects.all()}
    assert plans[near.pk].leaving
    assert plans[near.pk].leaves_on >= timezone.localdate()
    assert (plans[amid.pk].leaving, plans[amid.pk].leaves_on) == (False, None)


def test_readings_that_did_not_change_make_no_new_fit():
    fleet = make_fleet(5)
    first = refitted(fleet)
    before = list(Forecast.objects.order_by("pk").values_list("pk", "travel_now_mm", "due_usage", "path"))
    refit()
    assert DriftFit.objects.get() == first
    assert list(Forecast.objects.order_by("pk").values_list("pk", "travel_now_mm", "due_usage", "path")) == before
    fleet.add_check(fleet.units[0], 500, 1.6)
    refit()
    assert DriftFit.objects.count() == 2
    assert DriftFit.objects.get(is_current=True) != first


def test_a_check_makes_the_old_forecast_say_nothing_until_the_refit():
    fleet = make_fleet(5)
    refitted(fleet)
    unit = fleet.units[0]
    fleet.add_check(unit, 500, 1.6)
    replan([unit.pk])
    assert Standing.objects.get(turbocharger=unit).p_outside_now is None
    refit()
    assert Standing.objects.get(turbocharger=unit).p_outside_now is not None


def test_a_unit_never_checked_is_forecast_from_its_model_with_more_doubt():
    fleet = make_fleet(45)
    fresh = fleet.add_unit()
    refitted(fleet)
    assert (forecast(fresh).readings, forecast(fresh).last_check, forecast(fresh).innovations) == (0, None, [])
    assert forecast(fresh).travel_now_sd_mm > 1.5 * forecast(fleet.units[0]).travel_now_sd_mm


def test_two_checks_on_one_day_and_one_alone_are_both_fitted():
    fleet = make_fleet(10)
    one, two = fleet.add_unit(), fleet.add_unit()
    fleet.add_check(one, 200, 1.5)
    fleet.add_check(two, 200, 1.5)
    fleet.add_check(two, 200, 1.52)
    refitted(fleet)
    assert (forecast(one).readings, forecast(two).readings) == (1, 2)
    assert forecast(two).travel_now_sd_mm < forecast(one).travel_now_sd_mm


def test_drift_may_be_negative():
    fleet = make_fleet(45, drift_mm=-0.2)
    assert refitted(fleet).estimates["beta"][2] == pytest.approx(-0.2, abs=0.03)
    assert forecast(fleet.units[0]).p_below_now > forecast(fleet.units[0]).p_above_now


def test_a_scrapped_unit_lends_its_readings_and_gets_no_forecast():
    fleet = make_fleet(5)
    refitted(fleet)
    unit = fleet.units[0]
    Turbocharger.objects.filter(pk=unit.pk).update(scrapped_on=date(2025, 6, 1))
    refit()
    assert not Forecast.objects.filter(turbocharger=unit).exists()
    assert DriftFit.objects.get(is_current=True).units == 5


def test_a_model_without_a_reading_has_neither_fit_nor_forecast():
    fleet = make_fleet(1, checks=0)
    replan(all_turbochargers())
    assert refit() == 0
    assert not DriftFit.objects.exists()
    assert prepare(fleet.bay.turbocharger.model).turbochargers == []


def test_a_small_model_borrows_from_the_large_ones_that_are_stored():
    small = make_fleet(4, seed=3)
    refitted(small)
    alone = DriftFit.objects.get(is_current=True)
    make_fleet(45, seed=4)
    refit()
    pooled = DriftFit.objects.get(turbocharger_model=small.bay.turbocharger.model, is_current=True)
    assert (pooled.route, pooled.inputs != alone.inputs) == ("pooled", True)
    assert pooled.estimates["theta"] != alone.estimates["theta"]


def test_reading_a_model_costs_the_same_queries_at_any_size():
    counts = []
    for units in (3, 12):
        fleet = make_fleet(units)
        with CaptureQueriesContext(
            connection,
        ) as found:
            prepare(fleet.bay.turbocharger.model)
        counts.append(len(found))
    assert counts[0] == counts[1] <= 14
