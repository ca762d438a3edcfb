"""Technicians record at their own depots; a viewer may not, and other depots do not show."""

import pytest

from checks.models import Check
from checks.services.check import record_check
from fleet.problems import FleetError, FleetErrors
from tests.bay import make_bay

pytestmark = pytest.mark.django_db


def refusal(user, payload) -> FleetError:
    with pytest.raises(FleetError) as caught:
        record_check(user=user, submission=payload)
    assert not Check.objects.exists()
    return caught.value


def test_a_manager_may_record():
    bay = make_bay()
    assert record_check(user=bay.manager, submission=bay.submission()).technician == bay.manager


def test_a_viewer_is_refused():
    bay = make_bay()
    assert refusal(bay.viewer, bay.submission()).status == 403


def test_another_depots_unit_is_not_there():
    bay, other = make_bay(), make_bay()
    error = refusal(other.technician, bay.submission())
    assert (error.status, error.code) == (404, "no_such_turbocharger")


def test_another_depots_instrument_is_not_there():
    bay, other = make_bay(), make_bay()
    payload = bay.submission()
    payload["instruments"]["dial"] = other.dial.pk
    error = refusal(bay.technician, payload)
    assert isinstance(error, FleetErrors)
    assert error.field == "instruments.dial"
