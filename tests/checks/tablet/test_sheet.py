"""What travels to a tablet: one's own depots, fresh numbers, and nothing of anybody else."""

import json
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import Instrument
from checks.selectors import offline
from checks.services.check import record_check
from checks.services.plan import replan
from checks.tablet.sheet import sheet_of
from fleet.models import Complaint, MeterReading
from tests.bay import Bay, make_bay
from tests.factories import FitmentFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db
SHEET = reverse("checks:tablet_sheet")


@pytest.fixture
def bay() -> Bay:
    return make_bay()


def test_it_holds_the_units_of_ones_own_depots_with_what_a_check_needs(bay: Bay) -> None:
    make_bay()
    complaint = Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on="2026-01-02", raised_by="the driver")
    MeterReading.objects.create(truck=bay.truck, read_at=timezone.now() - timedelta(days=9), odometer_km=1000)
    MeterReading.objects.create(truck=bay.truck, read_at=timezone.now() - timedelta(days=2), odometer_km=212_000)
    sheet = sheet_of(bay.technician)
    [unit] = sheet["units"]
    assert (unit["turbocharger"], unit["number"], unit["position"]) == (
        bay.turbocharger.pk,
        "T" + unit["number"][1:],
        "single",
    )
    assert unit["specification"] == bay.specification.pk
    assert [one["pk"] for one in unit["complaints"]] == [complaint.pk]
    assert unit["meter"]["odometer_km"] == 212_000
    assert [one["pk"] for one in sheet["depots"]] == [bay.depot.pk]
    assert {one["pk"] for one in sheet["instruments"]} == {bay.dial.pk, bay.gauge.pk}
    assert [(one["dial"], one["stimulus"], one["meter"]) for one in sheet["sets"]] == [
        (bay.dial.pk, bay.gauge.pk, None)
    ]


def test_a_unit_tells_its_state_and_when_it_was_checked_last(bay: Bay) -> None:
    check = record_check(user=bay.technician, submission=bay.submission())
    replan([bay.turbocharger.pk])
    [unit] = sheet_of(bay.technician)["units"]
    assert unit["state"] == "inside"
    assert unit["last"]["made_at"] == check.made_at.isoformat()


def test_what_is_scrapped_withdrawn_or_elsewhere_stays_away(bay: Bay) -> None:
    bay.turbocharger.scrapped_on = timezone.localdate()
    bay.turbocharger.save()
    Instrument.objects.filter(pk=bay.gauge.pk).update(withdrawn_on=timezone.localdate())
    sheet = sheet_of(bay.technician)
    assert sheet["units"] == sheet["sets"] == []
    assert [one["pk"] for one in sheet["instruments"]] == [bay.dial.pk]


def test_a_viewer_has_no_sheet_and_nobody_is_told_to_sign_in(bay: Bay, signed_in: Any) -> None:
    refused = signed_in(bay.viewer).get(SHEET)
    assert (refused.status_code, refused.json()["code"]) == (403, "not_allowed")
    nobody = signed_in(None).get(SHEET)
    assert (nobody.status_code, nobody.json()["code"]) == (401, "signed_out")


def test_the_same_sheet_is_not_sent_twice(bay: Bay, signed_in: Any) -> None:
    client = signed_in(bay.technician)
    first = client.get(SHEET)
    again = client.get(SHEET, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on="2026-01-02", raised_by="the driver")
    assert client.get(SHEET, headers={"If-None-Match": first.headers["ETag"]}).status_code == 200


def test_another_depot_cannot_be_asked_for(bay: Bay, signed_in: Any) -> None:
    other = make_bay()
    assert signed_in(bay.technician).get(SHEET, {"depot": other.depot.code}).json()["units"] == []
    assert len(signed_in(bay.technician).get(SHEET, {"depot": bay.depot.code}).json()["units"]) == 1


def test_it_costs_the_same_queries_for_many_units(bay: Bay, django_assert_num_queries: Any, no_writes: Any) -> None:
    with no_writes(), django_assert_num_queries(17, exact=False) as few:
        sheet_of(bay.technician)
    for _ in range(6):
        FitmentFactory(turbocharger=TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model))
    with django_assert_num_queries(len(few)):
        assert len(sheet_of(bay.technician)["units"]) == 7


def test_a_large_depot_sends_the_soonest_due_and_says_how_many_are_left(
    bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(offline, "UNITS_MOST", 2)
    for _ in range(3):
        TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    replan([bay.turbocharger.pk])
    sheet = sheet_of(bay.technician)
    assert (len(sheet["units"]), sheet["units_left_out"]) == (2, 2)
    assert sheet["units"][0]["turbocharger"] == bay.turbocharger.pk


def test_it_can_be_written_as_json_without_loss(bay: Bay) -> None:
    sheet = sheet_of(bay.technician)
    assert json.loads(json.dumps(sheet, allow_nan=False)) == json.loads(json.dumps(sheet))
