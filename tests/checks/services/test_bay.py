"""Due checks get their days in the bay; a person moves them, and may take that back."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from checks.models import BayPlace, Check, DriftFit, Forecast, Standing
from checks.selectors.bay import waiting_units
from checks.services.bay import level_depot, level_now, level_stale, move_check, undo_move
from fleet.models import Job
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay, person
from tests.factories import TurbochargerFactory

pytestmark = pytest.mark.django_db
# A Monday, in a week without a change of the clocks.
MONDAY = datetime(2026, 6, 1, 9, tzinfo=UTC)


@pytest.fixture
def bay():
    """A bay that makes one check a day from Monday to Friday."""
    bay = make_bay()
    bay.depot.checks_per_day = 1
    bay.depot.save()
    return bay


def due(bay, days, rule="usage_maximum", *, start=MONDAY, **standing):
    """A unit that is due some days after `start`, by one rule."""
    unit = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    on = start.date() + timedelta(days=days)
    rules = [{"rule": rule, "on": on.isoformat(), "sentence": "So it is.", "inputs": {}}]
    Standing.objects.create(turbocharger=unit, due_on=on, binding_rule=rule, rules=rules, **standing)
    return unit


def days_of(*units):
    """The day of each unit's place, counted from Monday."""
    found = dict(BayPlace.objects.filter(turbocharger__in=units).values_list("turbocharger", "day"))
    return [(found[unit.pk] - MONDAY.date()).days if unit.pk in found else None for unit in units]


def refused(call, **arguments):
    """The code of a refusal."""
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    error = caught.value
    return error.errors[0].code if isinstance(error, FleetErrors) else error.code


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


def workday(bay, ahead=0):
    """A day on which every bay of these tests works: they work all week."""
    bay.depot.working_days = "1234567"
    bay.depot.save()
    return timezone.localdate() + timedelta(days=ahead)


def test_a_day_chosen_by_hand_stays_and_can_be_given_back(bay):
    day, unit = workday(bay, 5), due(bay, 1, start=timezone.now())
    place = move_check(user=bay.manager, turbocharger=unit, day=day)
    assert (place.moved_by, place.latest_on) == (bay.manager, None)
    assert Job.objects.get(kind="level-depot").requested_by == bay.manager
    level_depot(depot=bay.depot)
    assert BayPlace.objects.get(turbocharger=unit).day == day
    undo_move(user=bay.manager, turbocharger=unit)
    place = BayPlace.objects.get(turbocharger=unit)
    assert (place.day, place.moved_by) == (workday(bay, 1), None)


def test_past_its_limit_a_move_needs_a_reason_which_is_kept(bay):
    day, unit = workday(bay, 9), due(bay, 2, "void", start=timezone.now())
    wanted = {"user": bay.manager, "turbocharger": unit, "day": day}
    assert refused(move_check, **wanted, reason="  ") == "reason_needed"
    place = move_check(**wanted, reason="Away on a long haul")
    assert (place.moved_reason, place.day > place.latest_on) == ("Away on a long haul", True)
    level_depot(depot=bay.depot)
    place.refresh_from_db()
    assert (place.day, place.moved_reason) == (day, "Away on a long haul")


def test_moves_that_make_no_sense_are_refused(bay):
    today, unit = workday(bay), due(bay, 1, start=timezone.now())
    later, wanted = due(bay, 90, start=timezone.now()), {"user": bay.manager, "turbocharger": unit}
    assert refused(move_check, **wanted, day=today - timedelta(days=1)) == "day_outside_plan"
    assert refused(move_check, **wanted, day=today + timedelta(days=42)) == "day_outside_plan"
    assert refused(move_check, user=bay.manager, turbocharger=later, day=today) == "not_due"
    bay.depot.working_days = str(today.isoweekday() % 7 + 1)
    bay.depot.save()
    assert refused(move_check, **wanted, day=today) == "bay_closed"


def test_only_the_depots_manager_moves(bay):
    unit, day = due(bay, 1, start=timezone.now()), workday(bay)
    for user in (bay.technician, bay.viewer, person(make_bay().depot, "manager")):
        assert refused(move_check, user=user, turbocharger=unit, day=day) == "not_allowed"
        assert refused(undo_move, user=user, turbocharger=unit) == "not_allowed"
        assert refused(level_now, user=user, depot=bay.depot) == "not_allowed"


def test_a_move_ends_with_the_check_it_was_for(bay):
    day, unit = workday(bay, 5), due(bay, 1, start=timezone.now())
    move_check(user=bay.manager, turbocharger=unit, day=day)
    Check.objects.create(
        turbocharger=unit, depot=bay.depot, technician=bay.technician, specification=bay.specification,
        made_at=timezone.now(), dial=bay.dial, stimulus_instrument=bay.gauge, cautions_read_at=timezone.now(),
    )  # fmt: skip
    level_depot(depot=bay.depot)
    assert BayPlace.objects.get(turbocharger=unit).moved_by is None


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
