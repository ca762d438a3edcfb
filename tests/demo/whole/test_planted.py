"""What was planted in the demonstration comes out of the fits, within their own stated uncertainties."""

import json
from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone

from checks.models import DriftFit, Forecast, FuelFit, FuelMonth, Restoration
from checks.rules.restoration import LEFT_OUT_BEFORE, random_effects
from checks.services.restoration import find_restorations
from fleet.management.demo import truth
from fleet.management.demo.cast import MODELS, PLANTED
from fleet.management.demo.events import History
from fleet.management.demo.thirsts import FUEL, STOOD_OUTSIDE, THIRSTS
from fleet.management.demo.trips import outside_mm
from fleet.models import Demonstration, User
from reports.pages.tour_questions import QUESTIONS, Question
from reports.selectors.entered import entered_since
from reports.selectors.planted import Planted

pytestmark = pytest.mark.django_db
NAMES = [sheet.name for sheet in MODELS]


def fit_of(name: str) -> DriftFit:
    return DriftFit.objects.get(turbocharger_model__name=name, is_current=True)


@pytest.mark.parametrize("name", NAMES)
def test_each_models_drift_lies_within_its_interval(loaded: History, name: str):
    sheet, fit = next(sheet for sheet in MODELS if sheet.name == name), fit_of(name)
    u = fit.estimates["cov"][2][2] ** 0.5
    assert abs(fit.estimates["beta"][2] - sheet.drift_mm) < 2.6 * u  # 99 % for a normal error
    assert u < 0.1


def test_the_drifting_model_is_told_from_no_drift_and_from_the_other_pneumatic_one(loaded: History):
    drifting, steady = fit_of("Tarrowby P4"), fit_of("Oskelund P6")
    value, u = drifting.estimates["beta"][2], drifting.estimates["cov"][2][2] ** 0.5
    assert value > 3 * u
    assert value - steady.estimates["beta"][2] > 3 * np.hypot(u, steady.estimates["cov"][2][2] ** 0.5)


def test_the_units_own_drifts_lie_within_their_intervals_as_often_as_stated(loaded: History):
    rows = Forecast.objects.select_related("turbocharger").filter(readings__gte=4)
    z = [
        (row.drift_mm - loaded.fleet.units[row.turbocharger.serial].drift_mm) / row.drift_u_mm
        for row in rows
        if not any(sign[3] for sign in row.innovations)  # the truth of a unit that moved at once is no line
    ]
    assert len(z) >= 40
    # A 95 % interval misses 1 in 20; of so few units 0.85 is the lower end of the binomial's 99.9 % range.
    assert np.mean(np.abs(z) < 1.96) > 0.85


def test_the_jump_is_flagged_on_its_unit(loaded: History):
    jump = loaded.fleet.planted["jump"]
    said = Forecast.objects.get(turbocharger__serial=jump)
    assert said.jumped
    z = [row[2] for row in said.innovations if row[3]]
    assert min(z) < -3
    assert len(z) == 1


def test_the_mis_set_batch_stands_out_where_it_began(loaded: History):
    serials = loaded.fleet.planted["mis_set_batch"]
    batch = set(serials)
    first: dict[bool, list[float]] = {True: [], False: []}
    for row in Forecast.objects.filter(turbocharger__model__name="Oskelund P6").select_related("turbocharger"):
        if row.innovations and row.innovations[0][1] == "as_found":
            first[row.turbocharger.serial in batch].append(row.innovations[0][2])
    shift = np.mean(first[True]) - np.mean(first[False])
    spread = np.sqrt(sum(np.var(values, ddof=1) / len(values) for values in first.values()))
    assert len(first[True]) >= PLANTED.batch_size - 2
    assert shift > 3 * spread


def test_the_planted_effects_of_travel_on_fuel_lie_within_their_limits(loaded: History):
    fit = FuelFit.objects.get(is_current=True)
    for side, planted in (("shortfall", FUEL.shortfall_mm), ("excess", FUEL.excess_mm)):
        effect = fit.estimates["effects"][side]
        assert effect["carried"]
        assert 0 < effect["low"] < planted < effect["high"]


def test_thirsty_trucks_are_alarmed_while_they_are_thirsty_and_few_others(loaded: History):
    last = FuelFit.objects.get(is_current=True).last_month
    now = dict(
        FuelMonth.objects.filter(month=last, thirsty=True).values_list("truck__unit_number", "travel").order_by()
    )
    inside = {one.truck for one in THIRSTS if one.to_day == 0}
    outside = {one.truck for one in STOOD_OUTSIDE if one.left}
    assert {truck for truck, travel in now.items() if truck in inside and travel == FuelMonth.Travel.INSIDE} == inside
    assert {truck for truck, travel in now.items() if travel > FuelMonth.Travel.INSIDE} >= outside
    assert len(now.keys() - inside - outside) <= 4
    mended = next(one.truck for one in THIRSTS if one.to_day < 0)
    assert mended not in now
    assert FuelMonth.objects.filter(truck__unit_number=mended, thirsty=True).count() >= 2


def test_units_that_stood_outside_and_were_set_gave_back_what_they_had_cost(loaded: History):
    """Each told event against the truth: what the true travel of its months before had cost, within 99 % limits."""
    monday = timezone.localdate() - timedelta(days=timezone.localdate().weekday())
    told = list(Restoration.objects.filter(change__isnull=False).select_related("truck"))
    assert len(told) >= 10
    off = []
    for row in told:
        truck = next(truck for truck in loaded.fleet.trucks if truck.number == row.truck.unit_number)
        seen = (row.day - monday).days
        before = np.arange(seen - 30.4 * (LEFT_OUT_BEFORE + row.months_before), seen - 30.4 * LEFT_OUT_BEFORE)
        after = np.arange(seen + 15, seen + 15 + 30.4 * row.months_after)
        cost = [
            FUEL.shortfall_mm * short.mean() + FUEL.excess_mm * beyond.mean()
            for short, beyond in (outside_mm(loaded, truck, moments) for moments in (before, after))
        ]
        off.append((row.change - (cost[1] - cost[0])) / row.standard_error)
    assert np.mean(np.abs(off) < 2.6) > 0.9
    pooled = random_effects([row.change for row in told], [row.standard_error**2 for row in told])
    assert pooled.high < 0


def test_telling_restorations_again_changes_nothing(loaded: History):
    before = list(Restoration.objects.order_by("pk").values())
    assert find_restorations() == len(before)
    assert list(Restoration.objects.order_by("pk").values()) == before


def test_the_mark_tells_what_was_planted_and_that_nothing_was_entered_since(loaded: History):
    mark = Demonstration.objects.get()
    assert mark.truth == json.loads(truth.PATH.read_text(encoding="utf-8"))
    assert entered_since(mark) == []


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.key)
def test_each_question_of_the_tour_is_answered_by_the_truth(loaded: History, question: Question):
    """Held against ``fixtures/demo/truth.json`` within the limits that the pages tell."""
    rows = question.answer(Planted(User.objects.get(username="marram"), Demonstration.objects.get()))
    assert rows
    assert [f"{row.what}: {row.planted}, {row.found}" for row in rows if not row.holds] == []
