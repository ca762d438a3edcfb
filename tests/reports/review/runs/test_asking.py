"""A review is asked for once, by people for their depots and by the calendar in the first days of a month."""

import uuid
from datetime import UTC, date, datetime

import pytest
from django.test import Client
from django.urls import reverse

from fleet.jobs.tasks import run_job
from fleet.models import Depot, Job
from fleet.problems import FleetError
from reports.jobs.review import ask_for_reviews
from reports.models import Review
from reports.review.month import Month
from reports.selectors.reviews import sees_all
from reports.services import review as review_service
from reports.services.review import ask_review
from tests.bay import make_bay
from tests.reviews import MARCH

pytestmark = pytest.mark.django_db


def test_the_same_key_is_the_same_request(director):
    key = uuid.uuid4()
    first, second = (ask_review(user=director, month=MARCH, depot=None, key=key) for _ in range(2))
    assert first.pk == second.pk
    assert Job.objects.filter(kind="make-review").count() == 1


def test_the_same_key_sent_twice_at_once_is_the_same_request(director, monkeypatch):
    key = uuid.uuid4()
    first = ask_review(user=director, month=MARCH, depot=None, key=key)
    look = review_service._kept_under
    looks = iter([lambda *told: None, look])  # the other one is not there yet when we look for it first
    monkeypatch.setattr(review_service, "_kept_under", lambda *told: next(looks)(*told))
    assert ask_review(user=director, month=MARCH, depot=None, key=key) == first


def test_a_key_of_another_request_is_refused(director):
    key = uuid.uuid4()
    ask_review(user=director, month=MARCH, depot=None, key=key)
    with pytest.raises(FleetError) as refused:
        ask_review(user=director, month=Month(date(2025, 2, 1)), depot=None, key=key)
    assert (refused.value.code, refused.value.status) == ("key_used", 409)


def test_a_month_that_is_not_over_is_refused(director):
    with pytest.raises(FleetError) as refused:
        ask_review(user=director, month=Month(datetime.now(UTC).date().replace(day=1)), depot=None, key=None)
    assert (refused.value.code, refused.value.field) == ("month_not_over", "month")


def test_the_fleets_review_is_for_people_of_every_depot(march):
    viewer = march["low"].viewer
    assert not sees_all(viewer)
    with pytest.raises(FleetError) as refused:
        ask_review(user=viewer, month=MARCH, depot=None, key=None)
    assert refused.value.status == 403
    with pytest.raises(FleetError):
        ask_review(user=viewer, month=MARCH, depot=march["back"].depot, key=None)
    assert ask_review(user=viewer, month=MARCH, depot=march["low"].depot, key=None).depot == march["low"].depot


def test_the_calendar_asks_once_in_the_first_days_of_a_month(march):
    second = datetime(2025, 4, 2, 12, tzinfo=UTC)
    depots = Depot.objects.filter(checks__isnull=False).distinct().count()
    assert ask_for_reviews(second) == depots + 1
    assert ask_for_reviews(second) == 0
    assert set(Review.objects.values_list("month", flat=True)) == {MARCH.first}
    assert Job.objects.filter(kind="make-review").count() == depots + 1
    assert ask_for_reviews(datetime(2025, 4, 20, 12, tzinfo=UTC)) == 0


def test_the_calendar_waits_for_the_first_at_each_depot(looked):
    bay = make_bay()
    bay.depot.time_zone = "Pacific/Honolulu"
    bay.depot.save()
    looked(bay, "03-02")
    assert ask_for_reviews(datetime(2025, 4, 1, 4, tzinfo=UTC)) == 0  # still March there
    assert ask_for_reviews(datetime(2025, 4, 1, 12, tzinfo=UTC)) == 2


def test_the_calendar_leaves_an_empty_register_alone():
    assert ask_for_reviews(datetime(2025, 4, 1, 12, tzinfo=UTC)) == 0


def test_asking_on_the_page_leads_to_the_run(march):
    bay = march["low"]
    client = Client()
    client.force_login(bay.viewer)
    page = client.get(reverse("reports:reviews"))
    month = page.context["form"].fields["month"].choices[0][0]
    typed = {"month": month, "depot": bay.depot.pk, "key": str(uuid.uuid4())}
    answer = client.post(reverse("reports:reviews"), typed)
    review = Review.objects.get()
    assert answer["Location"] == reverse("reports:review", args=[review.pk])
    assert f"{review.month:%Y-%m}" == month
    run_job(review.job_id)
    shown = client.get(answer["Location"]).content.decode()
    assert "of 1 unit stood inside" in shown
    wrong = client.post(reverse("reports:reviews"), typed | {"depot": march["back"].depot.pk, "key": str(uuid.uuid4())})
    assert wrong.status_code == 400
    assert Review.objects.count() == 1
