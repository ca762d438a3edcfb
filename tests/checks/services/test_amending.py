"""A signed check is corrected beside the record: old value, author and reason stay, and the verdict follows."""

import pytest

from checks.models import Amendment, Assessment, Check, Reading, Standing
from checks.selectors.check import check_of, check_records
from checks.selectors.grounds import recorded_adjustments
from checks.services.amendment import amend_check, may_amend
from checks.services.check import record_check
from fleet.models import MeterReading
from fleet.problems import FleetError
from tests.bay import calibrated, make_bay, person, readings
from tests.factories import InstrumentFactory, MultimeterFactory, TransducerFactory

pytestmark = pytest.mark.django_db
TRAVEL = "as_found.10.travel"


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def check(bay):
    return record_check(user=bay.technician, submission=bay.submission(travel="95"))


def thou(text: str) -> dict[str, str]:
    return {"text": text, "unit": "thou"}


def current(check: Check) -> Assessment:
    return Assessment.objects.get(stroke__check_made=check, is_current=True)


def refusal(user, check, field, value, reason="typed wrongly") -> FleetError:
    with pytest.raises(FleetError) as caught:
        amend_check(user=user, check=check, field=field, new_value=value, reason=reason)
    assert not Amendment.objects.exists()
    assert Assessment.objects.count() == 1
    return caught.value


def test_a_mistyped_travel_is_corrected_and_judged_anew(bay, check):
    assert current(check).state == "outside_high"
    amendment = amend_check(
        user=bay.technician, check=check, field=TRAVEL, new_value=thou("59,5"), reason="read 95 for 59.5"
    )
    assert (amendment.old_value, amendment.new_value) == ("95 thou", "59,5 thou")
    assert amendment.author == bay.technician
    assert (current(check).state, current(check).basis) == ("inside", "amended")
    assert Standing.objects.get().state == "inside"


def test_the_signed_record_and_its_first_verdict_stay(bay, check):
    amend_check(user=bay.manager, check=check, field=TRAVEL, new_value=thou("59.5"), reason="typed wrongly")
    assert Reading.objects.get(stroke__check_made=check, phase="setting").travel_typed == "95"
    first = Assessment.objects.order_by("pk").first()
    assert (first.state, first.is_current, first.basis) == ("outside_high", False, "recorded")


def test_the_newest_of_several_amendments_holds(bay, check):
    for text in ("59.5", "60", "95"):
        amend_check(user=bay.technician, check=check, field=TRAVEL, new_value=thou(text), reason="again")
    assert [row.old_value for row in Amendment.objects.all()] == ["95 thou", "59.5 thou", "60 thou"]
    assert current(check).state == "outside_high"
    (record,) = check_records([check_of(bay.viewer, check.pk)])
    assert record.readings[10].travel_mm == pytest.approx(2.413)
    assert len(record.amendments) == 3


def test_an_odometer_is_corrected_on_the_truck_too(bay, check):
    value = {"text": "121000", "unit": "km"}
    amend_check(user=bay.technician, check=check, field="odometer", new_value=value, reason="digits swapped")
    reading = MeterReading.objects.get()
    assert (reading.odometer_km, reading.history.first().history_change_reason) == (121_000, "digits swapped")
    assert check_records([check_of(bay.viewer, check.pk)])[0].odometer_km == 121_000
    assert Standing.objects.get().due_odometer_km == 121_000 + 120_000
    assert Check.objects.get().odometer_typed == "212000 km"


@pytest.mark.parametrize(
    ("field", "value", "kept"),
    [
        ("reason", "recall", "recall"),
        ("note", " wrong bay ", "wrong bay"),
        ("engine_hours", {"text": "5121", "unit": "h"}, "5121 h"),
        ("angle_deg", "2,5", "2.5"),
        ("angle_max_deg", "3", "3"),
        ("geometry", "rod_point", "rod_point"),
        ("as_found.10.stimulus", {"text": "30.9", "unit": "psi"}, "30.9 psi"),
    ],
)
def test_other_fields_are_corrected_alike(bay, check, field, value, kept):
    amend_check(user=bay.technician, check=check, field=field, new_value=value, reason="typed wrongly")
    assert Amendment.objects.get().new_value == kept
    assert Assessment.objects.count() == 2


def test_a_travel_that_nobody_read_can_be_taken_back(bay, check):
    exercise = "as_found.1.travel"
    amend_check(user=bay.technician, check=check, field=exercise, new_value=thou("70"), reason="read after all")
    amend_check(user=bay.technician, check=check, field=exercise, new_value=None, reason="of another unit")
    assert [row.new_value for row in Amendment.objects.all()] == ["70 thou", ""]
    assert check_records([check_of(bay.viewer, check.pk)])[0].readings[1].travel_mm is None


def test_half_turns_are_corrected_and_teach_the_advice_so(bay):
    left = {"readings": readings("58")}
    check = record_check(user=bay.technician, submission=bay.submission(travel="95", half_turns=2, as_left=left))
    assert recorded_adjustments(bay.turbocharger.model_id)[0].half_turns == 2
    amend_check(user=bay.technician, check=check, field="half_turns", new_value="-2", reason="sign mixed up")
    assert recorded_adjustments(bay.turbocharger.model_id)[0].half_turns == -2


def test_another_instrument_brings_its_own_certificate(bay, check):
    dial = calibrated(InstrumentFactory(depot=bay.depot), top=12.7, uncertainty=0.1)
    before = current(check).expanded_uncertainty_mm
    amend_check(user=bay.technician, check=check, field="dial", new_value=dial.pk, reason="wrong label")
    assert Amendment.objects.get().new_value == f"{dial.label} #{dial.pk}"
    assert current(check).expanded_uncertainty_mm > before
    assert dial.certificates.get().pk in current(check).certificates


@pytest.mark.parametrize(
    ("value", "code"),
    [
        (thou("NaN"), "not_a_number"),
        (thou(""), "missing"),
        (thou("-5"), "out_of_bounds"),
        ({"text": "59.5", "unit": "psi"}, "wrong_unit"),
        (None, "missing"),
        ("59.5", "missing"),
    ],
)
def test_a_wrong_new_value_is_refused_at_its_field(bay, check, value, code):
    error = refusal(bay.technician, check, TRAVEL, value)
    assert (error.field, error.code) == ("new_value", code)


def test_a_reason_is_asked_for(bay, check):
    assert refusal(bay.technician, check, TRAVEL, thou("59.5"), reason="  ").field == "reason"


def test_the_same_value_again_is_no_amendment(bay, check):
    assert refusal(bay.technician, check, TRAVEL, thou("95")).code == "nothing_changed"


@pytest.mark.parametrize(
    "field", ["key", "technician", "as_found.99.travel", "as_left.0.travel", "a.b.c", "", "made_at"]
)
def test_what_is_no_field_of_a_check_cannot_be_amended(bay, check, field):
    assert refusal(bay.technician, check, field, "x").status == 404


def test_half_turns_need_an_as_left_stroke(bay, check):
    assert refusal(bay.technician, check, "half_turns", "2").code == "half_turns_implausible"


def test_an_instrument_read_in_another_unit_is_refused(bay, check):
    MultimeterFactory(depot=bay.depot)
    transducer = TransducerFactory(depot=bay.depot)
    assert refusal(bay.technician, check, "stimulus", transducer.pk).code == "meter_missing"


def test_only_who_signed_it_or_a_manager_may_amend(bay, check):
    other = person(bay.depot, "technician")
    assert not may_amend(other, check)
    for user, status in ((other, 403), (bay.viewer, 403), (make_bay().manager, 404)):
        assert refusal(user, check, TRAVEL, thou("59.5")).status == status
