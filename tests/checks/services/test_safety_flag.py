"""A stroke above the canister maximum is kept, void, and flags the unit until someone has inspected it."""

import pytest

from checks.models import Assessment
from checks.services.check import record_check
from checks.services.safety import clear_safety_flag
from fleet.problems import FleetError
from tests.bay import make_bay, readings

pytestmark = pytest.mark.django_db


def flagged():
    bay = make_bay()
    payload = bay.submission(as_found={"readings": readings("59.5", exercise="45")})
    check = record_check(user=bay.technician, submission=payload)
    bay.turbocharger.refresh_from_db()
    return bay, check


def test_a_pressure_above_the_canister_maximum_voids_and_flags():
    bay, check = flagged()
    assert Assessment.objects.get(stroke__check_made=check).state == "void"
    assert bay.turbocharger.safety_flag.startswith("2025-03-04: ")
    assert bay.turbocharger.history.first().history_user == bay.technician


def test_a_good_check_flags_nothing():
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    bay.turbocharger.refresh_from_db()
    assert bay.turbocharger.safety_flag == ""


def test_who_inspected_and_what_was_found_stay():
    bay, _ = flagged()
    clear_safety_flag(user=bay.technician, turbocharger=bay.turbocharger, reason="Canister holds, no leak.")
    bay.turbocharger.refresh_from_db()
    assert bay.turbocharger.safety_flag == ""
    note = bay.turbocharger.notes.get()
    assert note.author == bay.technician
    assert "Canister holds, no leak." in note.text


def test_a_flag_comes_down_for_a_reason_and_once_and_not_by_a_viewer():
    bay, _ = flagged()
    for user, reason, code in ((bay.technician, " ", "reason_missing"), (bay.viewer, "fine", "not_allowed")):
        with pytest.raises(FleetError) as caught:
            clear_safety_flag(user=user, turbocharger=bay.turbocharger, reason=reason)
        assert caught.value.code == code
    clear_safety_flag(user=bay.technician, turbocharger=bay.turbocharger, reason="inspected")
    with pytest.raises(FleetError) as caught:
        clear_safety_flag(user=bay.technician, turbocharger=bay.turbocharger, reason="inspected")
    assert caught.value.status == 409
