"""Due checks get their days in the bay."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from checks.models import BayPlace, DriftFit, Forecast, Standing
from checks.selectors.bay import waiting_units
from checks.services.bay import level_depot, level_stale
from fleet.models import Job
from tests.checks.services.bay.planned_bay import MONDAY, due

pytestmark = pytest.mark.django_db


def days_of(*units):
    """The day of each unit's place, counted from Monday."""
    found = dict(BayPlace.objects.filter(turbocharger__in=units).values_list("turbocharger", "day"))
    return [(found[unit.pk] - MONDAY.date()).days if unit.pk in found else None for unit in units]


def test_each_unit_gets_its_due_day_while_there_is_room(bay):
    units = [due(bay, days) for days in (1, 2, 3)]
    assert level_depot(depot=bay.depot, now=MONDAY).placed == 3
    assert days_of(*units) == [1, 2, 3]


def test_of_two_units_for_one_day_the_one_likelier_outside_comes_first(bay):
    safe = due(bay, 0)
    risky = due(bay, 0, state=Standing.State.OUTSIDE_HIGH)
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(risky, safe) == [0, 1]


def test_a_limit_is_kept_and_the_bay_rests_on_its_free_days(bay):
    blocking = [due(bay, 4) for _ in range(2)]
    void = due(bay, 4, "void")
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(void)[0] <= 4
    assert not {5, 6} & set(days_of(void, *blocking))
    assert BayPlace.objects.get(turbocharger=void).latest_on == MONDAY.date() + timedelta(days=4)


def test_what_its_limit_leaves_no_room_for_stays_without_a_day(bay):
    first, second = due(bay, 0, "void"), due(bay, 0, "undecided")
    done = level_depot(depot=bay.depot, now=MONDAY)
    assert (done.placed, done.unplaced) == (1, 1)
    assert sorted(days_of(first, second), key=str) == [0, None]


def test_a_limit_that_passed_is_seen_at_once(bay):
    risky, lapsed = due(bay, 0, state=Standing.State.NEVER), due(bay, -10, "open_complaint")
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(lapsed, risky) == [0, 1]
    assert BayPlace.objects.get(turbocharger=lapsed).latest_on is None


def test_of_two_limits_that_passed_the_unit_likelier_outside_comes_first(bay):
    void = due(bay, -10, "void", state=Standing.State.VOID)
    outside = due(bay, -3, "outside_left", state=Standing.State.OUTSIDE_LOW)
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(outside, void) == [0, 1]


def test_the_added_risk_is_the_days_expected_outside_since_it_was_due(bay):
    """Overdue by 3 days and seen on the first: 3 days outside for certain, or at the policy's 5 % without forecast."""
    bay.depot.checks_per_day = 2
    bay.depot.save()
    outside = due(bay, -3, "outside_left", state=Standing.State.OUTSIDE_LOW)
    void, ahead = due(bay, -3, "void", state=Standing.State.VOID), due(bay, 3)
    level_depot(depot=bay.depot, now=MONDAY)
    risks = dict(BayPlace.objects.values_list("turbocharger", "added_risk"))
    assert [risks[unit.pk] for unit in (outside, void, ahead)] == pytest.approx([3.0, 0.15, 0.0])


def test_the_chance_comes_from_the_forecast_where_there_is_one(bay):
    unforecast, forecast = due(bay, 0), due(bay, 0)
    forecast_of(bay, forecast, now=0.3, later=0.6)
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(forecast, unforecast) == [0, 1]
    waits = {unit.turbocharger_id: unit for unit in waiting_units(bay.depot, MONDAY.date())}
    assert (waits[forecast.pk].chance_now, waits[forecast.pk].chance_later) == (pytest.approx(0.3), 0.6)
    assert (waits[forecast.pk].guessed, waits[unforecast.pk].guessed) == (False, True)


def forecast_of(bay, unit, *, now, later):
    """A forecast whose chance of being outside is `now` today and `later` at the policy's horizon."""
    fit = DriftFit.objects.create(
        turbocharger_model=unit.model, route="own", units=1, readings=3, estimates={}, diagnostics={}, inputs="x",
        code_version="1",
    )  # fmt: skip
    return Forecast.objects.create(
        turbocharger=unit, fit=fit, setting="plant", epoch_began_on=MONDAY.date(), usage_now=0, readings=3,
        travel_now_mm=1.5, travel_now_sd_mm=0.1, drift_mm=0.1, drift_u_mm=0.05, p_below_now=0.0, p_above_now=now,
        level=0.05, p_outside_at_horizon=later, path=[],
    )  # fmt: skip


def test_levelling_twice_changes_nothing(bay):
    units = [due(bay, days) for days in (0, 0, 1, 1, 2, 9)]
    level_depot(depot=bay.depot, now=MONDAY)
    once = days_of(*units)
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(*units) == once


def test_a_unit_that_is_no_longer_due_gives_its_day_back(bay):
    unit = due(bay, 0)
    level_depot(depot=bay.depot, now=MONDAY)
    Standing.objects.filter(turbocharger=unit).update(due_on=MONDAY.date() + timedelta(days=300))
    level_depot(depot=bay.depot, now=MONDAY)
    assert days_of(unit) == [None]


def test_depots_whose_plans_moved_on_are_levelled_again_and_others_left_alone(bay):
    unit = due(bay, 1, start=timezone.now())
    assert level_stale() == 1
    assert level_stale() == 0
    Job.objects.filter(kind="level-depot").update(created_at=timezone.now() - timedelta(minutes=5))
    unit.standing.save()
    assert level_stale() == 1
    assert Job.objects.filter(kind="level-depot", state="queued").count() == 1


def test_the_number_of_queries_stays_with_more_units(bay):
    due(bay, 0)

    def cost():
        with CaptureQueriesContext(connection) as captured:
            level_depot(depot=bay.depot, now=MONDAY)
        return len(captured)

    few = cost()
    for days in range(20):
        due(bay, days)
    assert cost() <= few + 1 <= 16
