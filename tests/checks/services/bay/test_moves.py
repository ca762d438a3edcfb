"""A person moves a check in the bay, and may take that back."""

from datetime import timedelta

import pytest
from django.utils import timezone

from checks.models import BayPlace, Check
from checks.services.bay import level_depot, level_now, move_check, undo_move
from fleet.models import Job
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay, person
from tests.checks.services.bay.planned_bay import due

pytestmark = pytest.mark.django_db


def refused(call, **arguments):
    """The code of a refusal."""
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    error = caught.value
    return error.errors[0].code if isinstance(error, FleetErrors) else error.code


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
