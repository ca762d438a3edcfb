"""The study of complaints against travel is kept with what it was derived from, and made anew with the same numbers."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from checks.models import ComplaintStudy, FuelFit, FuelMonth
from checks.services.complaint_study import correlate_if_stale, study_complaints
from fleet.models import Complaint, Job
from tests.factories import TruckFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db
FIRST = 12 * 2025  # January 2025


@pytest.fixture
def fit():
    return FuelFit.objects.create(
        code_version="1", first_month=FIRST, last_month=FIRST + 11, trucks=1, cells=1, trips=1, weight_km=1.0,
        columns="", residual_variance=0.01, estimates={}, plain={}, inputs="x",
    )  # fmt: skip


@pytest.fixture
def unit():
    return TurbochargerFactory()


def month(fit, truck, at, travel, *, thirsty=False, unit=None):
    FuelMonth.objects.create(
        fit=fit, truck=truck, month=FIRST + at, litres=3000, km=9000, log_fuel=3.5, standard_error=0.01,
        travel=travel, thirsty=thirsty, turbocharger=unit,
    )  # fmt: skip


def complaint(truck, at, kind="fuel_economy"):
    day = date(2025, at + 1, 15)
    return Complaint.objects.create(truck=truck, kind=kind, raised_on=day, raised_by="driver")


@pytest.fixture
def fleet(fit, unit):
    """Twelve trucks over a year: of the six that leave their window in July, four complain in August."""
    trucks = [TruckFactory(depot=unit.depot) for _ in range(12)]
    for number, truck in enumerate(trucks):
        for at in range(12):
            outside = number < 6 and at >= 6
            month(fit, truck, at, 1 if outside else 0, unit=unit, thirsty=outside and number > 3)
        if number < 4:
            complaint(truck, 7)
    complaint(trucks[8], 3)
    complaint(trucks[9], 3, kind="noise")
    return trucks


def test_each_lag_has_its_odds_counts_and_tables(fleet, unit):
    study = study_complaints()
    assert [lag["lag"] for lag in study.lags] == list(range(7))
    now = study.lags[0]
    (table,) = now["tables"]
    # Outside: 6 trucks in 6 months, 4 of them with a complaint; inside: the other 108 truck-months, 1 with one.
    assert table == {"model": unit.model_id, "depot": unit.depot_id, "cells": [4, 32, 1, 107]}
    assert (now["explained"], now["unexplained"], now["unknown"]) == (4, 1, 0)
    assert now["overall"]["method"] == "exact"
    assert now["overall"]["low"] > 1
    assert (now["low"]["estimate"], now["high"]["strata"]) == (pytest.approx(now["overall"]["estimate"]), 0)
    assert now["high"]["estimate"] is None


def test_each_complaint_has_its_state_at_every_lag_and_noise_is_none(fleet):
    study = study_complaints()
    letters = {truck: letters for _, truck, letters in study.complaints}
    assert len(study.complaints) == 5
    assert letters[fleet[0].pk] == "lllllll"
    assert letters[fleet[8].pk] == "iiiiiii"


def test_thirsty_trucks_outside_that_nobody_complained_about_are_named(fleet, unit):
    study = study_complaints()
    assert study.silent == [[fleet[number].pk, unit.pk, FIRST + 6, FIRST + 11, "l"] for number in (4, 5)]


def test_the_same_records_keep_the_row_and_write_the_same_numbers(fleet):
    first = study_complaints()
    assert study_complaints().pk == first.pk
    anew = study_complaints(anew=True)
    assert (anew.lags, anew.complaints, anew.silent) == (first.lags, first.complaints, first.silent)
    complaint(fleet[6], 5)
    assert study_complaints().pk != first.pk
    assert ComplaintStudy.objects.filter(is_current=True).count() == 1


def test_months_without_trips_count_for_nobody_but_take_what_the_lag_knows(fit, unit):
    truck, other = TruckFactory(depot=unit.depot), TruckFactory(depot=unit.depot)
    for at in (0, 1, 2):
        month(fit, truck, at, 2, unit=unit)
        month(fit, other, at, 0, unit=unit)
    complaint(truck, 3)  # no trips in April
    study = study_complaints()
    assert [(lag["explained"], lag["unknown"]) for lag in study.lags[:2]] == [(0, 1), (1, 0)]
    assert study.lags[1]["tables"][0]["cells"] == [1, 3, 0, 4]


def test_a_complaint_before_the_first_month_or_of_a_truck_without_trips_is_unknown(fit, unit):
    truck, other = TruckFactory(depot=unit.depot), TruckFactory(depot=unit.depot)
    month(fit, truck, 5, 0, unit=unit)
    complaint(truck, 0)
    complaint(other, 5)
    assert [row[2] for row in study_complaints().complaints] == ["u" * 7, "u" * 7]


def test_without_truck_months_there_is_no_study(fleet):
    study_complaints()
    FuelMonth.objects.all().delete()
    assert study_complaints() is None
    assert not ComplaintStudy.objects.filter(is_current=True).exists()


def test_a_new_complaint_asks_for_a_study_once(fleet):
    def waiting():
        return Job.objects.filter(kind="correlate-complaints").count()

    correlate_if_stale()
    assert waiting() == 1
    study_complaints()
    Job.objects.all().delete()
    correlate_if_stale()
    assert waiting() == 0
    ComplaintStudy.objects.update(made_at=timezone.now() - timedelta(hours=1))
    correlate_if_stale()
    correlate_if_stale()
    assert waiting() == 1
