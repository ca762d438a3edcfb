"""The board tells which units are about to leave: counted once, filtered, sorted by chance, drawn as a fan."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.models import Standing
from reports.selectors.board import Wanted, board
from reports.sentences.board import board_sentence
from tests.bay import make_bay
from tests.factories import FitmentFactory, ForecastFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db


def count(found, state):
    return next(item.count for item in found.counts if item.state == state)


def add(bay, chance, **standing):
    """A further unit at the bay's depot with a forecast and a plan."""
    unit = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    FitmentFactory(turbocharger=unit)
    fit = getattr(bay.turbocharger, "forecast", None)
    ForecastFactory(turbocharger=unit, p_above_now=chance, **({"fit": fit.fit} if fit else {}))
    Standing.objects.create(turbocharger=unit, p_outside_now=chance, **{"state": "inside"} | standing)
    return unit


@pytest.fixture
def bay():
    made = make_bay()
    ForecastFactory(turbocharger=made.turbocharger)
    Standing.objects.create(turbocharger=made.turbocharger, state="inside", p_outside_now=0.02)
    return made


def test_a_unit_about_to_leave_counts_as_that_alone(bay, today):
    leaving = add(bay, 0.4, leaving=True)
    found = board(user=bay.viewer, wanted=Wanted(), today=today)
    assert (count(found, "leaving"), count(found, "inside"), found.total) == (1, 1, 2)
    only = board(user=bay.viewer, wanted=Wanted(state="leaving"), today=today)
    assert [(row.serial, row.state) for row in only.rows] == [(leaving.serial, "leaving")]
    inside = board(user=bay.viewer, wanted=Wanted(state="inside"), today=today)
    assert [row.serial for row in inside.rows] == [bay.turbocharger.serial]


def test_the_sentence_names_the_day_up_to_which_it_looks(bay, today):
    add(bay, 0.4, leaving=True)
    found = board(user=bay.viewer, wanted=Wanted(), today=today)
    assert found.horizon == today + timedelta(days=90)
    assert "One unit is forecast to leave before" in board_sentence(found)


def test_rows_tell_drift_with_its_uncertainty_and_the_chance_outside(bay, today):
    (row,) = board(user=bay.viewer, wanted=Wanted(), today=today).rows
    assert (row.drift, row.drift_basis, row.chance) == ("+0.200 ± 0.080 mm", "3 readings", "2 %")
    assert [band.share for band in row.strip.fan] == [95, 50]
    assert "forecast for today 1.600 ± 0.098 mm" in row.strip.sentence


def test_the_order_by_chance_puts_the_highest_first_and_the_unknown_last(bay, today):
    high, low = add(bay, 0.9), add(bay, 0.001)
    unknown = TurbochargerFactory(depot=bay.depot)
    found = board(user=bay.viewer, wanted=Wanted(sort="chance"), today=today)
    assert [row.serial for row in found.rows] == [high.serial, bay.turbocharger.serial, low.serial, unknown.serial]


def test_pages_by_chance_hold_every_unit_once(bay, today):
    for n in range(60):
        add(bay, n / 100)
        TurbochargerFactory(depot=bay.depot)
    pages = [board(user=bay.viewer, wanted=Wanted(sort="chance", page=n), today=today).rows for n in (1, 2, 3)]
    serials = [row.serial for rows in pages for row in rows]
    assert len(serials) == len(set(serials)) == 121


def test_jumped_units_are_named_within_the_depots_of_the_viewer(bay, today):
    unit = add(bay, 0.1)
    unit.forecast.jumped = True
    unit.forecast.save()
    other = make_bay()
    assert [row.serial for row in board(user=bay.viewer, wanted=Wanted(), today=today).jumped] == [unit.serial]
    assert board(user=other.viewer, wanted=Wanted(), today=today).jumped == []


@pytest.mark.parametrize("sort", ["due", "chance", "state"])
def test_the_cost_stays_with_more_forecasts(bay, today, sort):
    def cost():
        with CaptureQueriesContext(connection) as captured:
            board(user=bay.viewer, wanted=Wanted(sort=sort), today=today)
        return len(captured)

    few = cost()
    for n in range(8):
        add(bay, n / 10)
    assert cost() == few <= 14
