"""The pages of a job: how far it is, how to stop it, how to go on; and nobody else's."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.models import Job
from tests.factories import JobFactory, MembershipFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def asker():
    return MembershipFactory(role="viewer").user


@pytest.fixture
def asked(client: Client, asker) -> Client:
    client.force_login(asker)
    return client


def half_done(asker, **changes) -> Job:
    lease = {"lease_token": "0" * 32, "lease_until": timezone.now()}
    running = {"state": "running", "done_count": 4500, "total_count": 9000, "rows_per_second": 1500.0, **lease}
    return JobFactory(requested_by=asker, **{**running, **changes})


def test_an_open_job_shows_how_far_it_is_and_asks_again(asked: Client, asker, no_writes) -> None:
    job = half_done(asker, message="chunk 5 of 10")
    with no_writes():
        page = asked.get(reverse("jobs:progress", args=[job.pk])).content.decode()
    for words in (
        'value="50"',
        "4,500 of 9,000",
        "1,500 rows/s",
        "about 3 s",
        "chunk 5 of 10",
        'hx-trigger="every 1s"',
    ):
        assert words in page


def test_a_job_that_is_over_stops_asking(asked: Client, asker) -> None:
    job = JobFactory(requested_by=asker, state="done", finished_at=timezone.now(), done_count=9)
    page = asked.get(reverse("jobs:progress", args=[job.pk])).content.decode()
    assert "hx-get" not in page
    assert "This job is done." in page
    assert "Cancel" not in page


def test_a_failed_job_says_why_and_offers_to_go_on(asked: Client, asker) -> None:
    job = JobFactory(requested_by=asker, state="failed", error="The file is gone.", finished_at=timezone.now())
    page = asked.get(reverse("jobs:progress", args=[job.pk])).content.decode()
    assert "The file is gone." in page
    assert reverse("jobs:retry", args=[job.pk]) in page


def test_cancelling_and_retrying_move_the_job(asked: Client, asker) -> None:
    job = half_done(asker)
    asked.post(reverse("jobs:cancel", args=[job.pk]))
    job.refresh_from_db()
    assert (job.state, job.lease_token) == ("cancelled", None)
    asked.post(reverse("jobs:retry", args=[job.pk]))
    job.refresh_from_db()
    assert (job.state, job.done_count) == ("queued", 4500)


def test_cancelling_what_is_over_is_explained(asked: Client, asker) -> None:
    job = JobFactory(requested_by=asker, state="done", finished_at=timezone.now())
    answer = asked.post(reverse("jobs:cancel", args=[job.pk]))
    assert answer.status_code == 409
    assert "nothing to cancel" in answer.content.decode()


@pytest.mark.parametrize("name", ["job", "progress", "cancel", "retry"])
def test_another_persons_job_is_not_there(asked: Client, name: str) -> None:
    job = JobFactory(requested_by=MembershipFactory().user)
    send = asked.post if name in {"cancel", "retry"} else asked.get
    assert send(reverse(f"jobs:{name}", args=[job.pk])).status_code == 404


def test_the_list_names_own_jobs_alone(asked: Client, asker) -> None:
    mine, other = JobFactory(requested_by=asker), JobFactory()
    page = asked.get(reverse("jobs:list")).content.decode()
    assert reverse("jobs:job", args=[mine.pk]) in page
    assert reverse("jobs:job", args=[other.pk]) not in page


def test_an_empty_list_says_what_will_be_there(asked: Client) -> None:
    assert "You have asked for no long work yet" in asked.get(reverse("jobs:list")).content.decode()
