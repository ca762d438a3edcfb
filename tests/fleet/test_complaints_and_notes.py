"""Complaints and notes."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.models import Complaint, Note
from fleet.problems import FleetError
from fleet.services.complaint import amend_complaint, close_complaint, raise_complaint
from fleet.services.turbocharger import add_note
from tests.factories import TruckFactory, TurbochargerFactory

pytestmark = pytest.mark.django_db
DAY = date(2024, 2, 1)


def refusal(call, **arguments) -> tuple[str, str]:
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    return caught.value.code, caught.value.field


@pytest.fixture
def said(crew):
    truck = TruckFactory(depot=crew.depot)
    return {"user": crew.technician, "truck": truck, "kind": "smoke", "raised_on": DAY, "raised_by": "night driver"}


def test_a_complaint_is_raised_and_closed_with_its_finding(crew, said):
    complaint = raise_complaint(**said, text="Black on the hill.")
    assert (complaint.closed_on, complaint.recorded_by) == (None, crew.technician)
    close_complaint(user=crew.manager, complaint=complaint, finding="Filter blocked.", closed_on=DAY)
    assert Complaint.objects.get().finding == "Filter blocked."


def test_a_complaint_sent_twice_is_one_complaint(said):
    assert raise_complaint(**said) == raise_complaint(**said)
    assert Complaint.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"kind": "colour"}, ("invalid_choice", "kind")),
        ({"raised_by": " "}, ("blank", "raised_by")),
        ({"raised_on": timezone.localdate() + timedelta(days=3)}, ("in_the_future", "raised_on")),
        ({"raised_on": date(24, 2, 1)}, ("too_far_back", "raised_on")),  # two digits typed where a year has four
    ],
)
def test_a_wrong_complaint_is_refused_at_its_field(said, changes, expected):
    assert refusal(raise_complaint, **said | changes) == expected


def test_a_complaint_closes_once_with_a_finding_after_it_was_raised(crew, said):
    closing = {"user": crew.manager, "complaint": raise_complaint(**said)}
    assert refusal(close_complaint, **closing, finding=" ", closed_on=DAY) == (
        "complaint_closed_with_finding",
        "finding",
    )
    early = DAY - timedelta(days=1)
    closing["complaint"].refresh_from_db()
    assert refusal(close_complaint, **closing, finding="x", closed_on=early) == (
        "complaint_closed_after_raised",
        "closed_on",
    )
    closing["complaint"].refresh_from_db()
    close_complaint(**closing, finding="x", closed_on=DAY)
    assert refusal(close_complaint, **closing, finding="y", closed_on=DAY) == ("complaint_closed", "")


def test_of_two_who_close_at_once_the_later_is_told(crew, said):
    complaint = raise_complaint(**said)
    stale = Complaint.objects.get()
    close_complaint(user=crew.manager, complaint=complaint, finding="Filter.", closed_on=DAY)
    assert refusal(close_complaint, user=crew.manager, complaint=stale, finding="Pump.") == ("complaint_closed", "")
    assert Complaint.objects.get().finding == "Filter."


def test_a_technician_records_and_a_manager_closes(crew, said):
    complaint = raise_complaint(**said)
    closing = {"complaint": complaint, "finding": "Filter blocked."}
    assert refusal(close_complaint, user=crew.technician, **closing) == ("not_allowed", "")


def test_the_same_key_is_the_same_complaint_and_never_one_of_another_truck(crew, said):
    key = uuid4()
    first = raise_complaint(**said, key=key)
    assert raise_complaint(**said | {"text": "Once more."}, key=key) == first
    other = TruckFactory(depot=crew.depot)
    assert refusal(raise_complaint, **said | {"truck": other}, key=key) == ("key_used", "key")


def test_an_amendment_keeps_what_was_with_its_author_and_reason(crew, said):
    complaint = raise_complaint(**said)
    amend_complaint(user=crew.technician, complaint=complaint, kind="low_power", reason="Heard wrong.")
    latest, first = complaint.history.all()
    assert (latest.kind, first.kind) == ("low_power", "smoke")
    assert (latest.history_user, latest.history_change_reason) == (crew.technician, "Heard wrong.")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"kind": "noise", "reason": " "}, ("amendment_has_reason", "reason")),
        ({"reason": "Nothing."}, ("nothing_changed", "")),
        ({"raised_by": "", "reason": "x"}, ("blank", "raised_by")),
        ({"raised_on": timezone.localdate() + timedelta(days=3), "reason": "x"}, ("in_the_future", "raised_on")),
    ],
)
def test_a_wrong_amendment_is_refused_at_its_field(crew, said, changes, expected):
    assert refusal(amend_complaint, user=crew.technician, complaint=raise_complaint(**said), **changes) == expected


def test_after_closing_only_a_manager_amends(crew, said):
    complaint = raise_complaint(**said)
    close_complaint(user=crew.manager, complaint=complaint, finding="Filter.", closed_on=DAY)
    changes = {"complaint": complaint, "finding": "Filter blocked.", "reason": "Say more."}
    assert refusal(amend_complaint, user=crew.technician, **changes) == ("not_allowed", "")
    assert amend_complaint(user=crew.manager, **changes).finding == "Filter blocked."


def test_a_note_is_kept_once_as_written_and_never_empty(crew):
    noted = {"user": crew.technician, "turbocharger": TurbochargerFactory(depot=crew.depot)}
    assert add_note(**noted, text="Rod end stiff.") == add_note(**noted, text="Rod end stiff.")
    assert Note.objects.get().author == crew.technician
    assert refusal(add_note, **noted, text="  ") == ("blank", "text")


def test_a_viewer_writes_neither(crew, said):
    assert refusal(raise_complaint, **said | {"user": crew.viewer}) == ("not_allowed", "")
    unit = TurbochargerFactory(depot=crew.depot)
    assert refusal(add_note, user=crew.viewer, turbocharger=unit, text="x") == ("not_allowed", "")
