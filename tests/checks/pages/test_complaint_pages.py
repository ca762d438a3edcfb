"""Complaints are filed, amended and closed on pages that keep what was typed and say what is wrong."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import ComplaintAnswer
from checks.services.check import record_check
from fleet.models import Complaint
from tests.bay import make_bay
from tests.factories import TurbochargerFactory

pytestmark = pytest.mark.django_db
RAISED = date(2025, 3, 1)


@pytest.fixture
def bay():
    return make_bay()


@pytest.fixture
def said(bay):
    return Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on=RAISED, raised_by="driver")


def typed(**changes):
    return {
        "kind": "smoke",
        "raised_on": "2025-03-01",
        "raised_by": "driver",
        "text": "",
        "key": str(uuid4()),
    } | changes


def test_a_refused_complaint_keeps_what_was_typed(bay, signed_in):
    address = reverse("checks:complaint_file", args=[bay.truck.pk])
    sent = typed(raised_on="2999-01-01", raised_by="night driver", text="Black on the hill.")
    answer = signed_in(bay.technician).post(address, sent)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "lies in the future" in page
    assert 'value="night driver"' in page
    assert "Black on the hill." in page
    assert not Complaint.objects.exists()


def test_without_a_kind_the_page_says_to_press_a_button(bay, signed_in):
    answer = signed_in(bay.technician).post(reverse("checks:complaint_file", args=[bay.truck.pk]), typed(kind=""))
    assert "press one of the buttons" in answer.content.decode()


def test_the_same_form_sent_twice_is_one_complaint(bay, signed_in):
    client, address, sent = signed_in(bay.technician), reverse("checks:complaint_file", args=[bay.truck.pk]), typed()
    assert client.post(address, sent)["Location"] == client.post(address, sent)["Location"]
    assert Complaint.objects.count() == 1


def test_a_unit_on_no_truck_has_nobody_to_complain_of(bay, signed_in):
    spare = TurbochargerFactory(depot=bay.depot)
    assert signed_in(bay.technician).get(reverse("checks:complaint_file_unit", args=[spare.pk])).status_code == 404


@pytest.mark.parametrize("nonsense", ["", "NaN", "-5", "9" * 30, "2026-13-45", "\x00", "<script>"])
def test_no_nonsense_in_any_field_is_a_server_error_or_a_row(bay, said, signed_in, nonsense):
    client = signed_in(bay.manager)
    for name, pk in (
        ("file", bay.truck.pk),
        ("file_unit", bay.turbocharger.pk),
        ("amend", said.pk),
        ("close", said.pk),
    ):
        address = reverse(f"checks:complaint_{name}", args=[pk])
        form = client.get(address).context["form"]
        assert client.post(address, {field.html_name: nonsense for field in form}).status_code == 200, name
    said.refresh_from_db()
    assert (Complaint.objects.count(), said.kind, said.closed_on) == (1, "smoke", None)


def test_the_check_that_answered_is_offered_and_kept(bay, said, signed_in):
    check = record_check(user=bay.technician, submission=bay.submission(reason="complaint", complaint=said.pk))
    client, address = signed_in(bay.manager), reverse("checks:complaint_close", args=[said.pk])
    form = client.get(address).context["form"]
    assert form.initial["check"] == check.pk
    sent = {"finding": "Wastegate inside.", "check": check.pk, "closed_on": "2025-03-05"}
    assert client.post(address, sent).status_code == 302
    answer = ComplaintAnswer.objects.get()
    assert (answer.complaint, answer.check_made, answer.recorded_by) == (said, check, bay.manager)


def test_closing_without_a_check_is_allowed_and_a_foreign_check_is_not(bay, said, signed_in):
    other = make_bay()
    foreign = record_check(user=other.technician, submission=other.submission())
    client, address = signed_in(bay.manager), reverse("checks:complaint_close", args=[said.pk])
    refused = client.post(address, {"finding": "x", "check": foreign.pk, "closed_on": "2025-03-05"})
    assert refused.context["form"].errors["check"]
    assert client.post(address, {"finding": "x", "check": "", "closed_on": "2025-03-05"}).status_code == 302
    assert not ComplaintAnswer.objects.exists()


def test_a_closed_complaint_is_amended_with_its_finding(bay, said, signed_in):
    client = signed_in(bay.manager)
    client.post(reverse("checks:complaint_close", args=[said.pk]), {"finding": "Filter", "closed_on": "2025-03-05"})
    address = reverse("checks:complaint_amend", args=[said.pk])
    sent = typed(finding="Filter blocked", closed_on="2025-03-06", reason="Say more.")
    assert client.post(address, sent).status_code == 302
    said.refresh_from_db()
    assert (said.finding, said.closed_on) == ("Filter blocked", date(2025, 3, 6))
    assert said.history.first().history_change_reason == "Say more."


def test_a_day_to_come_is_refused_beside_its_field(bay, said, signed_in):
    sent = typed(raised_on=str(timezone.localdate() + timedelta(days=4)), reason="x")
    answer = signed_in(bay.technician).post(reverse("checks:complaint_amend", args=[said.pk]), sent)
    assert "lies in the future" in answer.context["form"].errors["raised_on"][0]
