"""Numbers as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.problems import FleetError
from fleet.services.meter import read_meter
from fleet.services.quantity import read_number
from tests.fleet.outcome import outcome


@pytest.mark.parametrize(
    ("text", "value"), [("212000", 212000), ("5120.5", 5120.5), ("5120,5", 5120.5), (" 212 000 ", 212000), (".5", 0.5)]
)
def test_a_number_is_read_with_point_or_comma(text, value):
    assert read_number(text, field="odometer") == value


@pytest.mark.parametrize("text", ["", "abc", "NaN", "inf", "1e9", "1,2,3", "--4", "=1+1", "0x10", "1" * 400])
def test_what_is_no_plain_number_is_refused(text):
    with pytest.raises(FleetError) as caught:
        read_number(text, field="odometer")
    assert (caught.value.code, caught.value.field) == ("not_a_number", "odometer")


@pytest.mark.parametrize("text", ["212,000", "1,512"])
def test_a_comma_that_may_mean_thousands_is_asked_about(text):
    with pytest.raises(FleetError, match="two ways") as caught:
        read_number(text, field="odometer")
    assert caught.value.code == "number_unclear"


@given(st.text(max_size=30))
def test_any_text_is_a_finite_number_or_refused(text):
    value, error = outcome(read_number, text, field="x")
    assert error.field == "x" if error else abs(value) < float("inf")


def test_miles_are_converted_by_the_exact_mile_and_kept_as_typed():
    """1 mile = 1.609344 km exactly (1959 agreement; NIST SP 811 appendix B.8)."""
    meter = read_meter(odometer="1000", unit="mi", engine_hours="5120,5")
    assert meter.odometer_km == pytest.approx(1609.344, rel=1e-12)
    assert (meter.odometer_typed, meter.engine_hours) == ("1000 mi", 5120.5)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"odometer": "-1"}, "odometer"),
        ({"odometer": "99999999"}, "odometer"),
        ({"odometer": "10", "unit": "furlong"}, "odometer"),
        ({"engine_hours": "2000000"}, "engine_hours"),
    ],
)
def test_meters_out_of_bounds_name_their_field(typed, field):
    with pytest.raises(FleetError) as caught:
        read_meter(**typed)
    assert caught.value.field == field
