"""Complaints for programs."""

import json
from uuid import uuid4

import pytest

from checks.models import ComplaintAnswer, Standing
from checks.services.check import record_check
from checks.services.plan import replan
from fleet.models import Complaint
from tests.bay import make_bay

pytestmark = pytest.mark.django_db
BASE = "/api/v1/complaints/"


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def send(signed_in):
    """Return a function that sends JSON as a person and gives status and answer."""

    def request(user, method, address="", body=None, key=None):
        if address:  # of one that is there
            key = key or uuid4()
        given = {"data": json.dumps(body or {}), "content_type": "application/json"} if method != "get" else {}
        headers = {"Idempotency-Key": str(key)} if key else {}
        answer = getattr(signed_in(user), method)(BASE + address, headers=headers, **given)
        return answer.status_code, answer.json()

    return request


def said(bay, **changes):
    return {
        "truck": bay.truck.pk, "kind": "fuel_economy", "raised_on": "2025-03-01", "raised_by": "driver",
    } | changes  # fmt: skip


def test_the_same_key_files_one_complaint(bay, send):
    key = uuid4()
    first = send(bay.technician, "post", body=said(bay), key=key)
    assert first[0] == 201
    assert send(bay.technician, "post", body=said(bay, text="Sent again."), key=key) == first
    assert Complaint.objects.count() == 1


def test_without_a_key_nothing_is_filed(bay, send):
    status, problem = send(bay.technician, "post", body=said(bay))
    assert (status, problem["code"]) == (400, "idempotency_key_missing")
    assert not Complaint.objects.exists()


def rules():
    return {rule["rule"] for rule in Standing.objects.get().rules}


def test_filing_and_closing_plan_the_unit_anew(bay, send):
    replan([bay.turbocharger.pk])
    assert "open_complaint" not in rules()
    _, complaint = send(bay.technician, "post", body=said(bay), key=uuid4())
    assert "open_complaint" in rules()
    status, closed = send(bay.manager, "post", f"{complaint['id']}/close/", {"finding": "Brake dragged."})
    assert (status, closed["finding"], closed["answered_by"]) == (200, "Brake dragged.", None)
    assert "open_complaint" not in rules()
    assert send(bay.manager, "post", f"{complaint['id']}/close/", {"finding": "x"})[0] == 409


@pytest.mark.parametrize(
    ("kind", "asks"),
    [
        ("fuel_economy", True),
        ("low_power", True),
        ("smoke", True),
        ("over_temperature", True),
        ("noise", False),
        ("other", False),
    ],
)
def test_kinds_that_a_wastegate_brings_about_ask_for_a_check(bay, send, kind, asks):
    """Common practice, no source."""
    send(bay.technician, "post", body=said(bay, kind=kind), key=uuid4())
    assert ("open_complaint" in rules()) == asks


def test_a_complaint_is_closed_by_the_check_that_answered_it(bay, send):
    _, complaint = send(bay.technician, "post", body=said(bay), key=uuid4())
    check = record_check(user=bay.technician, submission=bay.submission())
    closing = {"finding": "Wastegate inside.", "check": check.pk}
    status, closed = send(bay.manager, "post", f"{complaint['id']}/close/", closing)
    assert (status, closed["answered_by"]) == (200, check.pk)
    assert ComplaintAnswer.objects.get().recorded_by == bay.manager


def test_a_check_before_the_complaint_or_of_another_truck_answers_nothing(bay, send):
    _, complaint = send(bay.technician, "post", body=said(bay, raised_on="2025-03-20"), key=uuid4())
    other = make_bay()
    before = record_check(user=bay.technician, submission=bay.submission())
    later = {"made_at": "2025-04-04T09:30:00+00:00", "cautions_read_at": "2025-04-04T09:05:00+00:00"}
    foreign = record_check(user=other.technician, submission=other.submission(**later))
    for check in (before, foreign):
        closing = {"finding": "x", "check": check.pk}
        status, problem = send(bay.manager, "post", f"{complaint['id']}/close/", closing)
        assert (status, problem["code"]) == (400, "no_such_answer")
    assert Complaint.objects.get().closed_on is None


def test_a_technician_does_not_close(bay, send):
    _, complaint = send(bay.technician, "post", body=said(bay), key=uuid4())
    assert send(bay.technician, "post", f"{complaint['id']}/close/", {"finding": "x"})[0] == 403


def test_an_amendment_needs_its_reason(bay, send):
    _, complaint = send(bay.technician, "post", body=said(bay), key=uuid4())
    status, problem = send(bay.technician, "patch", f"{complaint['id']}/", {"kind": "smoke"})
    assert (status, problem["code"]) == (400, "amendment_has_reason")
    amended = send(bay.technician, "patch", f"{complaint['id']}/", {"kind": "smoke", "reason": "Misheard."})
    assert (amended[0], amended[1]["kind"]) == (200, "smoke")


def test_complaints_are_listed_by_what_is_asked_for(bay, send):
    for kind in ("smoke", "noise"):
        send(bay.technician, "post", body=said(bay, kind=kind), key=uuid4())
    noise = Complaint.objects.get(kind="noise")
    send(bay.manager, "post", f"{noise.pk}/close/", {"finding": "Loose shield."})

    def kinds(query):
        return [row["kind"] for row in send(bay.viewer, "get", query)[1]["results"]]

    assert kinds("?open=true") == ["smoke"]
    assert kinds("?open=false") == ["noise"]
    assert kinds(f"?depot={bay.depot.code}&kind=smoke") == ["smoke"]
    assert kinds("?raised_from=2025-03-02") == []
    assert send(make_bay().manager, "get")[1]["results"] == []
