"""Meter readings."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from fleet.problems import FleetError
from fleet.services.meter import Meter, record_meter_reading
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db
AT = datetime(2024, 3, 1, 9, 0, tzinfo=UTC)


@pytest.fixture
def truck(crew):
    return TruckFactory(depot=crew.depot)


def read(crew, truck, day, km, hours=None, **options):
    meter = Meter(km, f"{km} km" if km is not None else "", hours)
    moment = AT + timedelta(days=day)
    return record_meter_reading(user=crew.technician, truck=truck, read_at=moment, meter=meter, **options)


def refusal(*arguments, **options) -> tuple[str, str]:
    with pytest.raises(FleetError) as caught:
        read(*arguments, **options)
    return caught.value.code, caught.value.field


def test_a_reading_is_kept_as_typed_beside_the_converted_value(crew, truck):
    reading = read(crew, truck, 0, 1609.344, 12.5)
    assert (reading.odometer_km, reading.odometer_typed, reading.engine_hours) == (1609.344, "1609.344 km", 12.5)
    assert reading.recorded_by == crew.technician


def test_a_meter_that_runs_backwards_is_refused_by_either_neighbour(crew, truck):
    read(crew, truck, 0, 1000.0, 100.0)
    read(crew, truck, 10, 2000.0, 200.0)
    assert refusal(crew, truck, 11, 1999.0) == ("meter_runs_backwards", "odometer")
    assert refusal(crew, truck, 5, 2001.0) == ("meter_runs_backwards", "odometer")
    assert refusal(crew, truck, 11, None, 199.0) == ("meter_runs_backwards", "engine_hours")
    assert read(crew, truck, 5, 1500.0, 150.0).pk


def test_a_replaced_meter_may_start_low_and_later_ones_follow_it(crew, truck):
    read(crew, truck, 0, 500_000.0)
    assert read(crew, truck, 5, 10.0, replaced_meter=True).replaced_meter
    assert read(crew, truck, 9, 700.0).pk
    assert read(crew, truck, 3, 500_900.0).pk


def test_nothing_read_is_refused(crew, truck):
    assert refusal(crew, truck, 0, None) == ("meter_reading_given", "odometer")


def test_two_readings_at_one_moment_are_refused(crew, truck):
    read(crew, truck, 0, 1000.0)
    assert refusal(crew, truck, 0, 1000.0) == ("one_meter_reading_per_moment", "read_at")


def test_a_reading_in_the_future_is_refused(crew, truck):
    ahead = (timezone.now() - AT).days + 2
    assert refusal(crew, truck, ahead, 1000.0) == ("in_the_future", "read_at")


def test_a_viewer_records_no_meter(crew, truck):
    with pytest.raises(FleetError, match="technician"):
        record_meter_reading(user=crew.viewer, truck=truck, read_at=AT, meter=Meter(1.0, "1 km", None))
