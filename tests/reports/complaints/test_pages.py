"""The register of complaints, and the page of one."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.selectors.days import month_of
from checks.services.check import record_check
from checks.services.complaint import settle_complaint
from fleet.models import Complaint
from reports.selectors.complaints import complaints_for, held
from reports.sentences.complaints import list_sentence
from tests.bay import make_bay
from tests.reports.complaints.complaining import RAISED, complaint, fuel

pytestmark = pytest.mark.django_db


def test_the_list_is_narrowed_and_costs_the_same_at_any_length(bay, signed_in, django_assert_num_queries):
    client = signed_in(bay.viewer)
    for day in range(60):
        Complaint.objects.create(
            truck=bay.truck, kind="smoke" if day % 2 else "noise", raised_on=RAISED + timedelta(days=day), raised_by="x"
        )
    with CaptureQueriesContext(connection) as many:
        first = client.get(reverse("reports:complaints"))
    assert len(first.context["rows"]) == 50
    with CaptureQueriesContext(connection) as none:
        client.get(reverse("reports:complaints"), {"find": "no such truck"})
    assert len(many) == len(none)
    second = client.get(reverse("reports:complaints") + first.context["next"])
    assert [row.raised_on for row in second.context["rows"]] == [RAISED + timedelta(days=n) for n in range(9, -1, -1)]
    smoke = client.get(reverse("reports:complaints"), {"kind": "smoke", "find": bay.truck.unit_number})
    assert len(smoke.context["rows"]) == 30
    assert not complaints_for(make_bay().manager).exists()
    with django_assert_num_queries(1):
        now = held(bay.viewer)
    assert (now.open, now.oldest, now.asking) == (60, RAISED, 30)


@pytest.mark.parametrize(
    ("open_ones", "asking", "words"),
    [
        (0, 0, "No complaint is open."),
        (1, 1, "One complaint is open, since 1 Mar 2025; it asks for a check."),
        (1, 0, "One complaint is open, since 1 Mar 2025; it asks for no check."),
        (7, 5, "Seven complaints are open, the oldest since 1 Mar 2025; five of them ask for a check."),
        (7, 1, "Seven complaints are open, the oldest since 1 Mar 2025; one of them asks for a check."),
        (7, 0, "Seven complaints are open, the oldest since 1 Mar 2025; no of them ask for a check."),
    ],
)
def test_the_lists_sentence(open_ones, asking, words):
    assert list_sentence(open_ones, RAISED, asking) == words.replace("no of them ask", "none of them asks")


def test_a_complaints_page_shows_its_sentence_picture_and_answer(bay, signed_in, no_writes):
    row = complaint(bay)
    check = record_check(user=bay.technician, submission=bay.submission())
    fuel(bay, month_of(RAISED) + 1, [0.1] * 12)
    settle_complaint(user=bay.manager, complaint=row, finding="Brake dragged.", check=check.pk)
    client, address = signed_in(bay.viewer), reverse("reports:complaint", args=[row.pk])
    with no_writes():
        page = client.get(address).content.decode()
    for words in ("was checked on 4 Mar 2025", "Brake dragged.", "figure-complaint", "the check of 4 Mar 2025"):
        assert words in page
    assert "Next:" not in page
    assert reverse("checks:complaint_close", args=[row.pk]) not in page


def test_one_complaint_costs_the_same_with_many_checks_and_months(bay, signed_in, django_assert_max_num_queries):
    row = complaint(bay)
    fuel(bay, month_of(RAISED) + 1, [0.1] * 20)
    for _ in range(3):
        record_check(user=bay.technician, submission=bay.submission())
    client, address = signed_in(bay.manager), reverse("reports:complaint", args=[row.pk])
    client.get(address)
    with django_assert_max_num_queries(32):
        client.get(address)
