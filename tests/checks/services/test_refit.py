"""From stored checks to fits, forecasts and plans."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from checks.models import Amendment, DriftFit, Forecast, Policy, Standing
from checks.selectors.drift import BACKWARD, NO_FITMENT, NO_METER, VOID, model_history
from checks.services.drift import prepare, refit
from checks.services.plan import all_turbochargers, replan
from fleet.models import Fitment, MeterReading, Turbocharger
from tests.drifting_fleet import FITTED, KM_PER_DAY, make_fleet

pytestmark = pytest.mark.django_db


def refitted(fleet) -> DriftFit:
    replan(all_turbochargers())
    refit()
    return DriftFit.objects.get(is_current=True)


def forecast(unit) -> Forecast:
    return Forecast.objects.get(turbocharger=unit)


def history(fleet):
    return model_history(fleet.bay.turbocharger.model)


def usages(fleet, unit) -> list[float]:
    """Scaled usages of one unit's readings."""
    found = history(fleet)
    place = next(place for place, life in enumerate(found.lives) if life and life.turbocharger == unit.pk)
    return list(found.epochs.usage[found.epochs.unit == place])


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


def test_every_adjustment_begins_an_epoch_with_the_reading_it_left():
    fleet = make_fleet(5)
    unit = fleet.add_unit()
    for nth in range(10):
        fleet.add_check(unit, 60 * (nth + 1), 1.7, left_mm=1.45)
    refitted(fleet)
    said = forecast(unit)
    assert (said.setting, said.readings) == ("workshop", 20)
    assert said.epoch_began_on == FITTED + timedelta(days=600)
    found = usages(fleet, unit)
    assert found.count(0.0) == 10
    assert max(found) == pytest.approx(KM_PER_DAY * 60 / 100_000, rel=0.01)


def test_a_stroke_left_without_turning_the_rod_stays_in_its_epoch():
    fleet = make_fleet(2)
    unit = fleet.add_unit()
    fleet.add_check(unit, 100, 1.5, left_mm=1.51, half_turns=0)
    refitted(fleet)
    assert (forecast(unit).setting, forecast(unit).readings) == ("plant", 2)


def test_usage_goes_on_over_a_replaced_meter():
    fleet = make_fleet(2)
    unit = fleet.add_unit()
    truck = Fitment.objects.get(turbocharger=unit).engine.installations.get().truck
    fleet.add_check(unit, 100, 1.5)
    at = timezone.make_aware(timezone.datetime(2024, 4, 11))
    MeterReading.objects.create(truck=truck, read_at=at, odometer_km=0.0, replaced_meter=True)
    fleet.add_check(unit, 200, 1.55, odometer_km=30_000.0)
    fleet.add_check(unit, 300, 1.6, odometer_km=60_000.0)
    found = usages(fleet, unit)
    assert found[1] - found[0] == pytest.approx(0.30, abs=0.02)
    assert found[2] - found[1] == pytest.approx(0.30, abs=0.001)


def test_a_unit_that_moves_keeps_its_readings_and_begins_an_epoch_of_the_same_kind():
    fleet = make_fleet(5)
    unit, other = fleet.add_unit(), fleet.add_unit()
    fleet.add_check(unit, 100, 1.6, left_mm=1.45)
    Fitment.objects.filter(turbocharger__in=[unit, other]).update(removed_on=FITTED + timedelta(days=150))
    engine = Fitment.objects.get(turbocharger=other).engine
    Fitment.objects.create(
        turbocharger=unit, engine=engine, fitted_on=FITTED + timedelta(days=160), fitted_odometer_km=49_000.0
    )
    refitted(fleet)
    said = forecast(unit)
    assert (said.setting, said.readings) == ("workshop", 2)
    assert (said.epoch_began_on, said.epoch_began_usage) == (FITTED + timedelta(days=160), 49_000.0)


def test_what_cannot_be_placed_is_left_out_with_its_reason():
    fleet = make_fleet(2)
    unit, unread = fleet.add_unit(), fleet.add_unit(meters=False)
    wrong = {
        VOID: fleet.add_check(unit, 10, 0.0, state="void"),
        BACKWARD: fleet.add_check(unit, 30, 1.5, odometer_km=100.0),
        NO_METER: fleet.add_check(unread, 400, 1.5, odometer_km=None),
        NO_FITMENT: fleet.add_check(unit, -30, 1.5, fitment=None, odometer_km=0.0),
    }
    assert {(row["check"], row["reason"]) for row in refitted(fleet).left_out} == {
        (check.pk, reason) for reason, check in wrong.items()
    }


def test_without_any_odometer_usage_is_reckoned_from_days_and_said_to_be():
    fleet = make_fleet(45)
    unread = fleet.add_unit(meters=False)
    life = next(life for life in history(fleet).lives if life and life.turbocharger == unread.pk)
    days = (timezone.localdate() - FITTED).days
    assert (life.estimated, life.usage_now) == (True, pytest.approx(350.0 * days, abs=400))
    refitted(fleet)
    assert forecast(unread).epoch_began_usage is None


def test_an_amended_odometer_counts():
    fleet = make_fleet(2)
    unit = fleet.add_unit()
    check = fleet.add_check(unit, 100, 1.5)
    Amendment.objects.create(
        check_made=check, field="odometer", old_value="31037 km", new_value="21000 km", reason="slip",
        author=fleet.bay.manager,
    )  # fmt: skip
    assert usages(fleet, unit) == [pytest.approx(0.2)]


def test_drift_may_be_counted_in_engine_hours():
    Policy.objects.create(pk=1, usage_basis="hours")
    fleet = make_fleet(45, hours=True)
    fit = refitted(fleet)
    # 2,000 h are 100,000 km at the 50 km/h of this fleet, so the same drift comes out.
    assert fit.basis == "hours"
    assert fit.estimates["beta"][2] == pytest.approx(0.1, abs=0.03)
    plan = Standing.objects.get(turbocharger=fleet.units[0])
    assert next(rule for rule in plan.rules if rule["rule"] == "risk")["inputs"]["unit"] == "h"


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
