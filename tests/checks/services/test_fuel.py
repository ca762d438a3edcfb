"""The fleet's fuel effect from stored moments and readings."""

from copy import deepcopy

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.jobs.fuel import fit_fuel
from checks.models import FuelFit, FuelLoss, FuelMonth, FuelTotal, TruckMonth
from checks.rules.complaints import Travel
from checks.selectors.fuel import costs, current_fit, loss_amount
from checks.services.drift import refit
from checks.services.fuel import fit_fleet, prepare_fuel
from checks.services.fuel_request import request_fuel_fit
from fleet.jobs.ledger import claim
from fleet.models import Job
from tests.drifting_fleet import FITTED
from tests.thirsty_fleet import make_thirsty_fleet

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def made(kept):
    return make_thirsty_fleet(inside=8, low=7, high=6)


@pytest.fixture
def fleet(made):
    return deepcopy(made)


def rows(model):
    names = [field.attname for field in model._meta.fields if field.name not in {"id", "fit"}]
    return sorted(map(str, model.objects.values_list(*names)))


def test_a_planted_effect_is_found_within_its_limits(fleet):
    fleet.drive()
    fit = fit_fleet()
    for side, truth in zip(("shortfall", "excess"), fleet.per_mm, strict=True):
        told = fit.estimates["effects"][side]
        assert told["low"] < truth < told["high"]
        assert told["carried"]
    assert (fit.trucks, fit.cells, fit.cells_unknown) == (21, 252, 0)


def test_months_say_where_travel_stood_and_what_it_cost(fleet):
    fleet.drive(months=12)
    fit = fit_fleet()
    low, _ = fleet.window
    unit = next(unit for unit in fleet.checked.units if fleet.lines[unit.pk][1] < -0.2)
    month = FuelMonth.objects.get(truck=fleet.trucks[unit.pk], month=12 * 2025 + 11)
    travel = fleet.travel(unit, 714)  # the middle of December 2025
    assert month.travel == FuelMonth.Travel.OUTSIDE_LOW
    assert month.turbocharger == unit
    assert month.shortfall_mm == pytest.approx(low - travel, abs=0.05)
    # Of the litres burnt, the share 1 - exp(-effect) would have been saved.
    effect = fit.estimates["effects"]["shortfall"]["slope"] * month.shortfall_mm
    assert month.extra_litres == pytest.approx(month.litres * (1 - np.exp(-effect)), rel=1e-9)
    assert 0 < month.extra_litres_se < month.extra_litres


def test_the_states_of_a_month_are_those_of_the_rules():
    assert {one.name: one.value for one in FuelMonth.Travel} == {one.name: one.value for one in Travel}


def test_units_litres_and_totals_are_the_sums_of_their_months(fleet):
    fleet.drive()
    fit_fleet()
    for loss in FuelLoss.objects.all():
        months = FuelMonth.objects.filter(truck=loss.truck)
        assert loss.litres_all == pytest.approx(sum(month.extra_litres for month in months), rel=1e-9)
        assert loss.litres_month == pytest.approx(months.get(month=12 * 2025 + 11).extra_litres, rel=1e-9)
    whole = sum(FuelTotal.objects.values_list("extra_litres", flat=True))
    assert whole == pytest.approx(sum(FuelLoss.objects.values_list("litres_all", flat=True)), rel=1e-9)
    told = costs(fleet.checked.bay.viewer, current_fit())
    assert told["all"].litres.value == pytest.approx(whole)
    truth = sum(_truth(fleet))
    assert told["all"].litres.low < truth < told["all"].litres.high


def _truth(fleet):
    low, high = fleet.window
    for month in FuelMonth.objects.select_related("truck"):
        unit = next(pk for pk, truck in fleet.trucks.items() if truck == month.truck)
        middle = np.datetime64(f"{month.month // 12}-{month.month % 12 + 1:02d}-15").astype(int)
        start, per_year = fleet.lines[unit]
        travel = start + per_year * (middle - np.datetime64(FITTED).astype(int)) / 365
        out = fleet.per_mm[0] * max(0, low - travel) + fleet.per_mm[1] * max(0, travel - high)
        yield month.litres * (1 - np.exp(-out))


def test_inputs_that_did_not_change_make_no_new_fit_and_a_rebuild_gives_the_same_bits(fleet):
    fleet.drive(months=6)
    first = fit_fleet()
    before = [rows(model) for model in (FuelMonth, FuelLoss, FuelTotal)]
    keys = list(FuelMonth.objects.order_by("pk").values_list("pk", flat=True))
    assert fit_fleet() == first
    FuelMonth.objects.update(log_fuel=0)
    assert fit_fleet(anew=True) == first
    assert [rows(model) for model in (FuelMonth, FuelLoss, FuelTotal)] == before
    assert list(FuelMonth.objects.order_by("pk").values_list("pk", flat=True)) == keys
    assert FuelFit.objects.count() == 1


def test_a_new_month_makes_a_new_fit_and_the_old_one_stays_for_comparison(fleet):
    fleet.drive(months=6)
    first = fit_fleet()
    fleet.drive(months=1, first=FITTED.replace(year=2025, month=7))
    second = fit_fleet()
    assert FuelFit.objects.get(is_current=True) == second != first
    assert (first.last_month, second.last_month) == (12 * 2025 + 5, 12 * 2025 + 6)
    assert FuelMonth.objects.filter(fit=second).count() == FuelMonth.objects.count() == 7 * 21


def test_travel_is_unknown_in_a_fitting_without_a_reading(fleet):
    blind = fleet.add((fleet.window[0] + fleet.window[1]) / 2, 0.0, checks=0)
    fleet.drive(months=6)
    fit = fit_fleet()
    month = FuelMonth.objects.filter(truck=fleet.trucks[blind.pk]).first()
    assert (month.travel, month.shortfall_mm, month.extra_litres) == (FuelMonth.Travel.UNKNOWN, None, None)
    assert fit.cells_unknown == 6
    assert not FuelLoss.objects.filter(turbocharger=blind).exists()


def test_an_adjustment_splits_its_month_by_days(fleet):
    low, _ = fleet.window
    unit = fleet.add(low - 0.4, 0.0, checks=0)
    # 2024 is a leap year: 510 days after 1 January lies 25 May 2025; 24.6 of 31 days are outside.
    fleet.checked.add_check(unit, 400, low - 0.4, state="outside_low")
    fleet.checked.add_check(unit, 510, low - 0.4, state="outside_low", left_mm=low + 0.5)
    fleet.checked.add_check(unit, 600, low + 0.5)
    refit()
    fleet.drive(months=7)
    fit_fleet()
    months = FuelMonth.objects.filter(truck=fleet.trucks[unit.pk])
    said = dict(months.values_list("month", "shortfall_mm"))
    assert said[12 * 2025 + 3] == pytest.approx(0.4, abs=0.05)
    assert said[12 * 2025 + 4] == pytest.approx(0.4 * 24.6 / 31, abs=0.05)
    assert said[12 * 2025 + 5] == pytest.approx(0.0, abs=0.01)


def test_one_truck_outside_makes_no_claim_of_cost():
    fleet = make_thirsty_fleet(inside=10, low=1, high=0)
    fleet.drive(months=6)
    fit = fit_fleet()
    assert not fit.estimates["effects"]["shortfall"]["carried"]
    worst = FuelLoss.objects.order_by("-shortfall_mm").first()
    assert worst.shortfall_mm > 0.05
    assert (worst.told, worst.litres_all) == (False, 0)
    assert loss_amount(worst, "all").value == 0


def test_one_truck_with_trips_is_no_fit_and_gone_trips_take_theirs_along(fleet):
    fleet.drive(months=6)
    fit_fleet()
    TruckMonth.objects.exclude(truck=fleet.trucks[fleet.checked.units[0].pk]).delete()
    assert fit_fleet() is None
    assert not FuelFit.objects.filter(is_current=True).exists()
    assert not any(model.objects.exists() for model in (FuelMonth, FuelLoss, FuelTotal))


def test_reading_costs_the_same_queries_whatever_the_fleet(fleet):
    fleet.drive(months=2)

    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            prepare_fuel()
        return len(found)

    few = queries()
    for _ in range(4):
        fleet.add(1.4, 0.0)
    fleet.drive(months=4, first=FITTED.replace(year=2025, month=3))
    assert queries() == few


def test_the_job_fits_and_many_requests_are_one_run(fleet):
    fleet.drive(months=2)
    Job.objects.all().delete()
    for _ in range(3):
        request_fuel_fit()
    job = Job.objects.get(kind="fit-fuel")
    job.not_before = job.created_at
    job.save()
    assert fit_fuel(claim(job_id=job.pk)) == {"fit": FuelFit.objects.get().pk, "months": 42}


def test_without_trips_nothing_is_asked_for():
    request_fuel_fit()
    assert not Job.objects.exists()
