"""Several wrong fields are named at once."""

from datetime import timedelta

import pytest
from django.utils import timezone

from fleet.problems import FleetError, each_error
from fleet.services.truck import add_truck
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db


def test_every_wrong_field_of_a_truck_is_named_at_once(crew):
    TruckFactory(depot=crew.depot, unit_number="113")
    with pytest.raises(FleetError) as caught:
        add_truck(
            user=crew.manager, depot=crew.depot, unit_number="113", vin="1M8GDM9A0KP042788",
            in_service_on=timezone.localdate() + timedelta(days=9),
        )  # fmt: skip
    assert {error.field for error in each_error(caught.value)} == {"unit_number", "vin", "in_service_on"}
