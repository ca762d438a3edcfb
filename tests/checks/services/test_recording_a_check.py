"""A signed check is kept whole, judged and planned for."""

import pytest

from checks.convert import result_from_json
from checks.models import Assessment, Check, Draft, Reading, Standing
from checks.services.check import record_check
from fleet.models import MeterReading
from tests.bay import make_bay

pytestmark = pytest.mark.django_db


def test_the_common_check_values_give_inside_near_nominal():
    """31 psi, window 0.038 to 0.080 in, reading 0.0595 in: judged good (common practice, no source)."""
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission(travel="59.5"))
    verdict = Assessment.objects.get(stroke__check_made=check)
    assert verdict.state == "inside"
    assert verdict.travel_mm == pytest.approx(1.5113, abs=0.01)
    assert verdict.p_inside > 0.95
    assert verdict.expanded_uncertainty_mm > 0
    assert result_from_json(verdict.result).state == "inside"
    assert len(verdict.certificates) == 2


def test_what_was_typed_is_kept_beside_the_converted_value():
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission())
    setting = Reading.objects.get(stroke__check_made=check, phase="setting")
    assert (setting.stimulus_typed, setting.stimulus_unit) == ("31", "psi")
    assert setting.stimulus == pytest.approx(213.7374, abs=1e-4)  # NIST SP 811: 1 psi = 6.894757 kPa
    assert (setting.travel_typed, setting.travel_unit, setting.travel_mm) == ("59.5", "thou", pytest.approx(1.5113))
    assert (check.odometer_typed, check.odometer_km, check.engine_hours) == ("212000 km", 212000, 5120.5)


def test_the_trucks_meters_the_fitment_and_the_plan_follow():
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission())
    assert MeterReading.objects.get(truck=bay.truck).odometer_km == 212000
    assert check.fitment.engine == bay.engine
    standing = Standing.objects.get(turbocharger=bay.turbocharger)
    assert (standing.state, standing.last_check, standing.shown.stroke.moment) == ("inside", check, "as_found")
    assert standing.due_on.isoformat() == "2026-02-10"  # 120,000 km at 350 km a day come before 365 days
    assert standing.binding_rule == "usage_maximum"


def test_an_adjustment_keeps_both_strokes_and_the_standing_shows_the_one_left():
    bay = make_bay()
    left = {"readings": bay.submission(travel="58")["as_found"]["readings"]}
    check = record_check(user=bay.technician, submission=bay.submission(travel="90", half_turns=-2, as_left=left))
    states = dict(Assessment.objects.filter(stroke__check_made=check).values_list("stroke__moment", "state"))
    assert states == {"as_found": "outside_high", "as_left": "inside"}
    standing = Standing.objects.get(turbocharger=bay.turbocharger)
    assert (standing.state, standing.binding_rule) == ("inside", "after_adjustment")


def test_signing_ends_the_draft():
    bay = make_bay()
    draft = Draft.objects.create(turbocharger=bay.turbocharger, author=bay.technician, step="sign")
    record_check(user=bay.technician, submission=bay.submission(key=str(draft.key)))
    assert not Draft.objects.exists()
    assert Check.objects.get().key == draft.key


def test_a_note_is_kept_without_what_a_database_cannot_hold():
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission(note=" lock nut\x00 was loose "))
    assert Check.objects.get(pk=check.pk).note == "lock nut was loose"
