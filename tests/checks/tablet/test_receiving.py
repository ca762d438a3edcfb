"""A check that comes from a tablet: recorded once, with what the technician must be told."""

import json
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from checks.models import Check
from checks.services.check import record_check
from tests.bay import MADE_AT, Bay, make_bay, reading

pytestmark = pytest.mark.django_db
ADDRESS = reverse("checks:tablet_receive")
DAY = timedelta(days=1)


@pytest.fixture
def bay() -> Bay:
    return make_bay()


@pytest.fixture
def send(bay: Bay) -> Any:
    """Return a function that sends a check as the bay's technician's tablet does."""
    client = Client()
    client.force_login(bay.technician)

    def post(submission: dict[str, Any], **more: Any) -> Any:
        envelope = {"submission": submission, "person": bay.technician.pk, "device_now": timezone.now().isoformat()}
        return client.post(ADDRESS, json.dumps(envelope | more), content_type="application/json")

    return post


def test_it_is_recorded_and_answered_with_the_verdict(bay: Bay, send: Any) -> None:
    sent = bay.submission(source="tablet")
    answer = send(sent, provisional={"as_found": {"state": "inside"}})
    assert answer.status_code == 201
    body, check = answer.json(), Check.objects.get()
    assert (body["key"], body["check"], body["address"]) == (sent["key"], check.pk, f"/checks/{check.pk}/")
    [verdict] = body["verdicts"]
    assert (verdict["moment"], verdict["state"], verdict["word"]) == ("as_found", "inside", "inside")
    assert "conformance probability" in verdict["sentence"]
    assert (body["told"], body["differences"], body["others"]) == ([], [], [])


def test_the_same_check_again_gets_the_same_answer(bay: Bay, send: Any) -> None:
    sent = bay.submission()
    first, again = send(sent), send(sent)
    assert (first.json(), Check.objects.count()) == (again.json(), 1)


def test_a_verdict_that_differs_from_the_tablets_is_told(bay: Bay, send: Any) -> None:
    body = send(bay.submission(travel="95"), provisional={"as_found": {"state": "inside"}}).json()
    assert body["differences"][0]["state"] == "outside_high"
    assert "the tablet said 'inside', the server says 'outside high'" in body["told"][0]


@pytest.mark.parametrize("said", [None, "inside", {"as_found": None}, {"as_found": {"state": "fine"}}, {"as_found": 3}])
def test_what_the_tablet_said_may_be_anything(bay: Bay, send: Any, said: Any) -> None:
    assert send(bay.submission(), provisional=said).json()["differences"] == []


def test_every_fault_is_named_with_its_field_and_nothing_is_recorded(bay: Bay, send: Any) -> None:
    answer = send(bay.submission(odometer={"text": "x", "unit": "km"}, reason="because"))
    assert answer.status_code == 400
    assert {one["field"] for one in answer.json()["errors"]} >= {"odometer", "reason"}
    assert not Check.objects.exists()


@pytest.mark.parametrize("body", ["", "[]", "{", '{"submission": 7}', '{"submission": {"key": "x"}}', '"\\ud800"'])
def test_nonsense_is_refused_with_a_sentence(bay: Bay, signed_in: Any, body: str) -> None:
    answer = signed_in(bay.technician).post(ADDRESS, body, content_type="application/json")
    assert answer.status_code in {400, 404}
    assert answer.json()["title"]


def test_a_leak_is_told_though_the_travel_is_inside(bay: Bay, send: Any) -> None:
    """29 psi fall to 27 in a minute; a sound canister loses next to nothing (common practice, no source)."""
    payload = bay.submission()
    payload["as_found"]["readings"] += [reading("hold", "29", seconds="0"), reading("hold", "27", seconds="60")]
    body = send(payload).json()
    assert body["verdicts"][0]["state"] == "inside"
    assert body["told"][0].startswith("It leaks: ")


def test_a_check_that_arrived_since_the_tablets_data_is_told_and_both_are_kept(bay: Bay, send: Any) -> None:
    before = timezone.now() - timedelta(minutes=1)
    record_check(user=bay.manager, submission=bay.submission())
    body = send(bay.submission(made_at="2025-03-04T10:30:00+00:00"), sheet_made_at=before.isoformat()).json()
    assert [one["by"] for one in body["others"]] == [bay.manager.display_name]
    assert "Both are kept" in body["told"][0]
    later = send(bay.submission(made_at="2025-03-04T11:30:00+00:00"), sheet_made_at=timezone.now().isoformat()).json()
    assert later["others"] == []
    assert Check.objects.count() == 3


@pytest.mark.parametrize("ahead", [DAY, -DAY, timedelta(minutes=20)])
def test_a_wrong_clock_is_set_right_and_what_it_said_is_kept(bay: Bay, send: Any, ahead: timedelta) -> None:
    true = datetime.fromisoformat(MADE_AT)
    sent = bay.submission(
        made_at=(true + ahead).isoformat(), cautions_read_at=(true + ahead - timedelta(minutes=20)).isoformat()
    )
    answer = send(sent, device_now=(timezone.now() + ahead).isoformat())
    check = Check.objects.get()
    assert abs(check.made_at - true) < timedelta(seconds=30)
    assert check.made_at_typed == sent["made_at"]
    assert "This tablet's clock is wrong" in answer.json()["told"][0]
    # The clock's error is measured anew at each try; the check is the same all the same.
    again = send(sent, device_now=(timezone.now() + ahead + timedelta(seconds=40)).isoformat())
    assert (again.status_code, Check.objects.count()) == (201, 1)


def test_a_few_minutes_are_no_wrong_clock(bay: Bay, send: Any) -> None:
    send(bay.submission(), device_now=(timezone.now() + timedelta(minutes=4)).isoformat())
    check = Check.objects.get()
    assert (check.made_at.isoformat(), check.made_at_typed) == (MADE_AT, "")


def test_a_tablet_that_says_nothing_of_its_clock_is_believed(bay: Bay, send: Any) -> None:
    for said in (None, "noon", 7, "2026-01-01T00:00:00"):
        send(bay.submission(), device_now=said)
    assert set(Check.objects.values_list("made_at_typed", flat=True)) == {""}


def test_a_check_signed_by_someone_else_is_left_on_the_tablet(bay: Bay, signed_in: Any) -> None:
    envelope = {"submission": bay.submission(), "person": bay.technician.pk}
    answer = signed_in(bay.manager).post(ADDRESS, json.dumps(envelope), content_type="application/json")
    assert (answer.status_code, answer.json()["code"]) == (409, "other_person")
    assert not Check.objects.exists()


def test_a_unit_of_another_depot_cannot_be_checked(bay: Bay, send: Any) -> None:
    answer = send(make_bay().submission())
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_turbocharger")


def test_a_write_needs_the_token_of_this_session(bay: Bay) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(bay.technician)
    body = json.dumps({"submission": bay.submission()})
    assert client.post(ADDRESS, body, content_type="application/json").status_code == 403
    token = client.get(reverse("checks:tablet_session")).json()["token"]
    sent = client.post(ADDRESS, body, content_type="application/json", headers={"X-CSRFToken": token})
    assert sent.status_code == 201


def test_the_session_tells_who_is_signed_in_and_nothing_more(bay: Bay, signed_in: Any) -> None:
    address = reverse("checks:tablet_session")
    told = signed_in(bay.technician).get(address).json()
    assert told["person"] == {"pk": bay.technician.pk, "name": bay.technician.display_name}
    assert signed_in(None).get(address).json()["person"] is None
