"""A truck's meters run forwards, whoever reads them."""

from datetime import UTC, datetime, timedelta

import pytest

from checks.services.check import record_check
from fleet.models import Fitment, MeterReading
from fleet.problems import FleetErrors
from tests.bay import make_bay
from tests.factories import FitmentFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db
CHECKED = datetime(2025, 3, 4, 9, 30, tzinfo=UTC)


def refusal(bay, payload) -> FleetErrors:
    with pytest.raises(FleetErrors) as caught:
        record_check(user=bay.technician, submission=payload)
    return caught.value


def test_an_odometer_below_an_earlier_reading_is_refused_and_says_which():
    bay = make_bay()
    MeterReading.objects.create(truck=bay.truck, read_at=CHECKED - timedelta(days=9), odometer_km=230_000)
    error = refusal(bay, bay.submission())
    assert (error.field, error.code) == ("odometer", "meter_runs_backwards")
    assert "230,000 km" in error.sentence
    assert "23 Feb 2025" in error.sentence


def test_hours_above_a_later_reading_are_refused():
    bay = make_bay()
    MeterReading.objects.create(truck=bay.truck, read_at=CHECKED + timedelta(days=9), engine_hours=5000)
    assert refusal(bay, bay.submission()).field == "engine_hours"


def test_miles_are_converted_and_kept_as_typed():
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission(odometer={"text": "131 731,2", "unit": "mi"}))
    assert check.odometer_km == pytest.approx(131_731.2 * 1.609344)  # NIST SP 811: 1 mi = 1.609344 km
    assert MeterReading.objects.get().odometer_typed == "131 731,2 mi"


def test_meters_may_stay_unread():
    bay = make_bay()
    check = record_check(user=bay.technician, submission=bay.submission(odometer=None, engine_hours=None))
    assert check.odometer_km is None
    assert not MeterReading.objects.exists()


def test_two_units_of_one_truck_checked_at_once_share_the_reading():
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    twin = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    FitmentFactory(turbocharger=twin, engine=bay.engine, position="rear")
    record_check(user=bay.technician, submission=bay.submission(turbocharger=twin.pk))
    assert MeterReading.objects.count() == 1
    other = bay.submission(turbocharger=twin.pk, odometer={"text": "212500", "unit": "km"})
    assert refusal(bay, other).code == "meter_differs"


def test_on_the_bench_there_is_no_odometer():
    bay = make_bay()
    Fitment.objects.update(removed_on="2025-01-01")
    assert {error.code for error in refusal(bay, bay.submission()).errors} == {"not_in_a_truck"}
    check = record_check(user=bay.technician, submission=bay.submission(odometer=None, engine_hours=None))
    assert check.fitment is None


def test_an_odometer_below_that_at_fitting_is_refused_though_no_reading_of_its_own_was_kept():
    """As a register file leaves it: the fitting knows its meter, the truck has no reading."""
    bay = make_bay()
    Fitment.objects.filter(turbocharger=bay.turbocharger).update(fitted_odometer_km=230_000)
    error = refusal(bay, bay.submission())
    assert (error.field, error.code) == ("odometer", "meter_below_fitting")
    assert "read 230,000 km when the turbocharger was fitted on 1 Mar 2022; 212,000 km is less" in error.sentence


def test_a_meter_replaced_since_the_fitting_may_read_less():
    bay = make_bay()
    Fitment.objects.filter(turbocharger=bay.turbocharger).update(fitted_odometer_km=230_000)
    at = CHECKED - timedelta(days=90)
    MeterReading.objects.create(truck=bay.truck, read_at=at, odometer_km=211_000, replaced_meter=True)
    assert record_check(user=bay.technician, submission=bay.submission()).odometer_km == 212_000
