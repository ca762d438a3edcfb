"""Instruments fit the actuator and each other; one out of calibration voids the check and does not forbid it."""

from datetime import date

import pytest

from checks.models import Assessment, Reading
from checks.services.check import record_check
from fleet.models import TurbochargerModel
from fleet.problems import FleetErrors
from tests.bay import MADE_AT, calibrated, make_bay, reading
from tests.factories import (
    CertificateFactory,
    CommandToolFactory,
    GaugeFactory,
    MultimeterFactory,
    TransducerFactory,
    TurbochargerModelFactory,
)

pytestmark = pytest.mark.django_db


def refused(bay, **instruments) -> dict[str, str]:
    payload = bay.submission()
    payload["instruments"] |= instruments
    with pytest.raises(FleetErrors) as caught:
        record_check(user=bay.technician, submission=payload)
    return {error.field: error.code for error in caught.value.errors}


def millivolts(payload):
    """The same stroke read on a transducer of 0.1 mV per kPa."""
    for row in payload["as_found"]["readings"]:
        psi = float(row["stimulus"]["text"])
        row["stimulus"] = {"text": f"{psi * 6.894757 * 0.1:.2f}", "unit": "mV"}
    return payload


def test_a_transducer_read_on_a_multimeter_gives_the_same_verdict_as_a_gauge():
    bay = make_bay()
    transducer = calibrated(TransducerFactory(depot=bay.depot), top=500.0, uncertainty=0.5)
    meter = calibrated(MultimeterFactory(depot=bay.depot), top=100.0, uncertainty=0.01)
    payload = millivolts(bay.submission())
    payload["instruments"] |= {"stimulus": transducer.pk, "meter": meter.pk}
    check = record_check(user=bay.technician, submission=payload)
    verdict = Assessment.objects.get(stroke__check_made=check)
    assert verdict.state == "inside"
    assert verdict.travel_mm == pytest.approx(1.5113, abs=0.02)
    assert len(verdict.certificates) == 3
    assert Reading.objects.get(stroke__check_made=check, phase="setting").stimulus == pytest.approx(21.37)


def test_a_pressure_typed_for_a_multimeter_is_the_wrong_unit():
    bay = make_bay()
    transducer = TransducerFactory(depot=bay.depot)
    meter = MultimeterFactory(depot=bay.depot)
    codes = refused(bay, stimulus=transducer.pk, meter=meter.pk)
    assert set(codes.values()) == {"wrong_unit"}


def test_a_transducer_needs_its_multimeter():
    bay = make_bay()
    assert refused(bay, stimulus=TransducerFactory(depot=bay.depot).pk) == {"instruments.meter": "meter_missing"}


def test_a_multimeter_of_another_unit_is_refused():
    bay = make_bay()
    meter = MultimeterFactory(depot=bay.depot, electrical_unit="mA")
    codes = refused(bay, stimulus=TransducerFactory(depot=bay.depot).pk, meter=meter.pk)
    assert codes == {"instruments.meter": "meter_unit_differs"}


def test_a_gauge_needs_no_multimeter():
    bay = make_bay()
    assert refused(bay, meter=MultimeterFactory(depot=bay.depot).pk) == {"instruments.meter": "meter_not_used"}


def test_a_gauge_is_no_dial_and_a_dial_no_gauge():
    bay = make_bay()
    codes = refused(bay, dial=bay.gauge.pk, stimulus=bay.dial.pk)
    assert codes == {"instruments.dial": "wrong_kind", "instruments.stimulus": "wrong_kind"}


def test_a_pneumatic_actuator_is_not_commanded():
    bay = make_bay()
    codes = refused(bay, stimulus=CommandToolFactory(depot=bay.depot).pk)
    assert codes == {"instruments.stimulus": "wrong_kind"}


def test_an_electric_actuator_is_commanded_in_percent():
    electric = TurbochargerModelFactory(stimulus=TurbochargerModel.Stimulus.ELECTRIC)
    bay = make_bay(model=electric, setting=60.0, stimulus_max=95.0, capture_tolerance=0.6, zero_tolerance_stimulus=0.5)
    tool = calibrated(CommandToolFactory(depot=bay.depot), top=100.0, uncertainty=0.1)
    rows = [reading("zero", "0", "0"), *[reading("exercise", "90")] * 3, reading("zero_return", "0", "0")]
    rows += [reading("rise", str(5 * n), str(5 * n)) for n in range(6, 12)] + [reading("setting", "60", "60")]
    for row in rows:
        row["stimulus"]["unit"] = "%"
    payload = bay.submission(as_found={"readings": rows})
    payload["instruments"]["stimulus"] = tool.pk
    check = record_check(user=bay.technician, submission=payload)
    assert Assessment.objects.get(stroke__check_made=check).state == "inside"


def test_a_withdrawn_instrument_is_refused_from_its_day_on():
    bay = make_bay()
    bay.dial.withdrawn_on = date(2025, 3, 4)
    bay.dial.save()
    assert refused(bay) == {"instruments.dial": "instrument_withdrawn"}
    bay.dial.withdrawn_on = date(2025, 3, 5)
    bay.dial.save()
    assert record_check(user=bay.technician, submission=bay.submission()).made_at.isoformat() == MADE_AT


@pytest.mark.parametrize(
    ("issued", "due"), [(date(2023, 1, 1), date(2025, 3, 3)), (date(2025, 3, 5), date(2026, 3, 5))]
)
def test_a_certificate_that_does_not_cover_the_day_voids_the_check(issued, due):
    bay = make_bay()
    gauge = GaugeFactory(depot=bay.depot)
    CertificateFactory(instrument=gauge, issued_on=issued, due_on=due)
    payload = bay.submission()
    payload["instruments"]["stimulus"] = gauge.pk
    check = record_check(user=bay.technician, submission=payload)
    verdict = Assessment.objects.get(stroke__check_made=check)
    assert verdict.state == "void"
    assert any("out_of_calibration" in void["code"] for void in verdict.result["voids"])


def test_a_certificate_entered_in_error_does_not_count():
    bay = make_bay()
    bay.gauge.certificates.update(superseded_reason="entered for another gauge")
    check = record_check(user=bay.technician, submission=bay.submission())
    assert Assessment.objects.get(stroke__check_made=check).state == "void"
