"""Certificates: in date, and what they take off an indication."""

from datetime import date

import pytest

from checks.measurement.calibration import Certificate, CertificatePoint, in_calibration
from checks.measurement.correction import channels, correction
from checks.measurement.errors import MeasurementError
from tests.measurement.making import certificate, command_tool, dial, gauge, instruments, meter, transducer


@pytest.mark.parametrize(
    ("on", "valid"),
    [(date(2025, 12, 31), False), (date(2026, 1, 1), True), (date(2027, 1, 1), True), (date(2027, 1, 2), False)],
)
def test_a_certificate_covers_its_first_and_its_last_day(on, valid):
    assert in_calibration(certificate((0, 0, 1)), on) is valid


def test_no_certificate_is_never_in_calibration():
    assert not in_calibration(None, date(2026, 1, 1))


def test_the_error_is_taken_off_the_indication():
    """Error = indication - reference, so an instrument that reads high is corrected downwards."""
    ready = channels(instruments(gauge(certificate=certificate((0, 0, 1), (100, 2.0, 1), (200, 4.0, 1)))))
    assert ready.stimulus_value(100.0, 0.0) == 98.0
    assert ready.stimulus_value(101.0, 1.0) == 98.0  # the certificate speaks of pressure above zero


def test_between_points_the_error_rises_without_overshooting():
    made = correction("gauge", certificate((0, 0.0, 1), (100, 1.0, 1), (200, 1.0, 1)), 1.0, "kPa")
    assert 0.0 < made.error(50.0) < 1.0
    assert made.error(150.0) == 1.0


def test_beyond_the_last_point_there_is_no_correction_but_a_refusal():
    made = correction("pressure instrument", certificate((0, 0.0, 1), (100, 1.0, 1)), 0.5, "kPa")
    assert made.error(100.4) == 1.0  # within one digit of the end: rounding
    with pytest.raises(MeasurementError, match=r"0\.00 kPa to 100\.00 kPa") as caught:
        made.error(101.0)
    assert caught.value.code == "outside_calibrated_range"


def test_below_the_first_point_only_zero_itself_is_granted():
    made = correction("pressure instrument", certificate((50, 0.4, 1), (100, 1.0, 1)), 0.5, "kPa")
    assert made.error(0.0) == 0.0
    with pytest.raises(MeasurementError):
        made.error(20.0)


def test_one_point_holds_within_a_tenth_of_itself():
    made = correction("gauge", certificate((200, 0.8, 1)), 0.5, "kPa")
    assert made.error(181.0) == made.error(219.0) == 0.8
    with pytest.raises(MeasurementError):
        made.error(230.0)


def test_a_certificate_without_points_corrects_nothing_and_states_no_uncertainty():
    made = correction("gauge", certificate(), 0.5, "kPa")
    assert (made.error(123.0), made.standard_uncertainty(123.0)) == (0.0, None)


def test_the_uncertainty_is_divided_by_its_coverage_factor_and_interpolated():
    points = (
        CertificatePoint(indication=0.0, error=0.0, expanded_uncertainty=0.6, coverage_factor=2.0),
        CertificatePoint(indication=100.0, error=0.0, expanded_uncertainty=1.8, coverage_factor=3.0),
    )
    made = correction(
        "g", Certificate(number="1", issued=date(2026, 1, 1), due=date(2027, 1, 1), points=points), 1.0, "kPa"
    )
    assert [made.standard_uncertainty(x) for x in (-1.0, 0.0, 100.0, 105.0)] == pytest.approx([0.3, 0.3, 0.6, 0.6])
    assert made.standard_uncertainty(50.0) == pytest.approx(0.45)


def test_points_out_of_order_are_refused():
    with pytest.raises(MeasurementError) as caught:
        correction("gauge", certificate((100, 0, 1), (50, 0, 1)), 1.0, "kPa")
    assert caught.value.code == "points_not_rising"


def test_a_transducer_is_read_through_its_meter():
    """(51 mV - 1 mV) / 0.25 mV per kPa = 200 kPa; a meter that reads 0.5 mV high takes 2 kPa off."""
    assert channels(instruments(transducer())).stimulus_indication(51.0) == pytest.approx(200.0)
    high = meter(certificate=certificate((0, 0.5, 0.02), (200, 0.5, 0.02)))
    assert channels(instruments(transducer(meter=high))).stimulus_indication(51.0) == pytest.approx(198.0)


def test_a_transducer_whose_output_falls_with_pressure_is_read_all_the_same():
    ready = channels(instruments(transducer(sensitivity=-0.25, offset=100.0)))
    assert ready.stimulus_indication(50.0) == pytest.approx(200.0)
    assert ready.stimulus_resolution == pytest.approx(0.04)


@pytest.mark.parametrize("changes", [{"meter": None}, {"sensitivity": None}, {"sensitivity": 0.0}])
def test_a_transducer_without_meter_or_sensitivity_is_refused(changes):
    with pytest.raises(MeasurementError) as caught:
        channels(instruments(transducer(**changes)))
    assert caught.value.code == "no_meter"


def test_travel_is_the_difference_of_two_corrected_dial_readings():
    made = dial(certificate=certificate((0, 0.0, 0.01), (2, 0.02, 0.01), (4, 0.04, 0.01)))
    assert channels(instruments(travel=made)).travel_value(3.0, 1.0) == pytest.approx(2.0 - 0.02)


def test_a_command_is_read_in_percent():
    assert channels(instruments(command_tool())).unit == "%"


@pytest.mark.parametrize(
    ("instrument", "field"),
    [
        ({"travel": dial(division_mm=0.0)}, "division_mm"),
        ({"travel": dial(division_mm=float("nan"))}, "division_mm"),
        ({"travel": dial(range_mm=-1.0)}, "range_mm"),
        ({"travel": dial(read_to=0.0)}, "read_to"),
        ({"stimulus": gauge(resolution=-1.0)}, "resolution"),
        ({"stimulus": gauge(range_low=5.0, range_high=5.0)}, "range_high"),
        ({"stimulus": gauge(permissible_error=float("inf"))}, "permissible_error"),
        ({"stimulus": transducer(offset=float("nan"))}, "offset"),
        ({"stimulus": transducer(sensitivity=float("inf"))}, "sensitivity"),
        ({"stimulus": transducer(meter=meter(error_share=2.0))}, "error_share"),
        ({"stimulus": gauge(certificate=certificate((0, 0, -1.0)))}, "expanded_uncertainty"),
        ({"stimulus": gauge(certificate=certificate((float("nan"), 0, 1.0)))}, "indication"),
        ({"stimulus": gauge(certificate=certificate((0, float("inf"), 1.0)))}, "error"),
    ],
)
def test_what_could_not_be_an_instrument_is_refused_by_field(instrument, field):
    with pytest.raises(MeasurementError) as caught:
        channels(instruments(**instrument))
    assert caught.value.field == field
