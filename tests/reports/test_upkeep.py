"""Those who run the installation see what waits, what failed and why, how fresh the data is; a retry is done once."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from fleet.models import Job, Trip
from fleet.selectors.upkeep import FAILED_DAYS, failed_jobs, kinds_of_work, running_jobs
from reports.pages.upkeep import is_late
from reports.selectors.upkeep import fresh_depots
from reports.sentences.upkeep import age, upkeep_sentence
from tests.bay import make_bay
from tests.factories import DepotFactory, JobFactory, TruckFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def operator(client: Client):
    user = UserFactory(is_superuser=True)
    client.force_login(user)
    return user


def failed(days_ago: float = 0, **changes) -> Job:
    at = timezone.now() - timedelta(days=days_ago)
    return JobFactory(
        **{"kind": "sweep", "state": "failed", "error": "The disk was full.", "finished_at": at, **changes}
    )


def running(heard_s_ago: float, lease_s: float) -> Job:
    now = timezone.now()
    return JobFactory(
        kind="refit", state="running", lease_token=uuid4(), started_at=now - timedelta(minutes=2),
        heartbeat_at=now - timedelta(seconds=heard_s_ago), lease_until=now + timedelta(seconds=lease_s),
    )  # fmt: skip


def test_the_queue_is_counted_by_kind_and_a_delayed_job_does_not_wait_yet() -> None:
    now = timezone.now()
    JobFactory(kind="refit", not_before=now - timedelta(minutes=9))
    JobFactory(kind="refit", not_before=now - timedelta(minutes=4))
    JobFactory(kind="refit", not_before=now + timedelta(minutes=4))
    JobFactory(kind="recall", state="done", finished_at=now)
    failed(kind="sweep")
    found = {row.kind: row for row in kinds_of_work(now=now)}
    assert sorted(found) == ["refit", "sweep"]
    assert (found["refit"].waiting, found["refit"].oldest_at) == (2, now - timedelta(minutes=9))
    assert (found["sweep"].waiting, found["sweep"].oldest_at, found["sweep"].failed) == (0, None, 1)
    assert upkeep_sentence(kinds_of_work(now=now), failed_jobs(now=now), now) == (
        f"Two jobs wait, the oldest for nine minutes; none runs; one failed in the last {FAILED_DAYS} days."
    )


def test_the_longest_silent_worker_comes_first_with_what_is_left_of_its_lease() -> None:
    running(3, 27)
    lost = running(45, -15)
    rows = running_jobs()
    assert rows[0].id == lost.pk
    assert rows[0].silent_s == pytest.approx(45, abs=5)
    assert rows[0].lease_s == pytest.approx(-15, abs=5)


def test_old_failures_are_history() -> None:
    failed(FAILED_DAYS + 1)
    kept = failed(FAILED_DAYS - 1)
    assert [row.id for row in failed_jobs()] == [kept.pk]


def test_a_depot_is_as_fresh_as_its_latest_check_and_trip(checked, no_writes) -> None:
    bay, silent = make_bay(), DepotFactory()
    check = checked(bay, days_ago=3)
    other = TruckFactory(depot=bay.depot)
    for truck, day in ((bay.truck, 3), (bay.truck, 14), (other, 9)):
        start = int(datetime(2026, 3, day, 8, tzinfo=UTC).timestamp())
        Trip.objects.create(truck=truck, started_s=start, duration_s=3600, distance_km=50, fuel_l=20)
    with no_writes():
        found = {row.name: row for row in fresh_depots()}
    assert found[bay.depot.name].checked_at == check.recorded_at
    assert found[bay.depot.name].drove_at == datetime(2026, 3, 14, 8, tzinfo=UTC)
    assert (found[silent.name].checked_at, found[silent.name].drove_at, found[silent.name].planned_at) == (None,) * 3


def test_the_page_says_all_of_it_and_writes_nothing(client: Client, operator, no_writes) -> None:
    bay = make_bay()
    job = failed(error="Line 7 <b>broke</b> it.", requested_by=bay.manager)
    running(45, -15)
    with no_writes():
        page = client.get(reverse("reports:upkeep")).content.decode()
    for words in ("Line 7 &lt;b&gt;broke&lt;/b&gt; it.", bay.manager.display_name, "run out", bay.depot.name, "Django"):
        assert words in page
    assert reverse("reports:upkeep_retry", args=[job.pk]) in page


def test_an_empty_installation_is_told_as_one(client: Client, operator) -> None:
    page = client.get(reverse("reports:upkeep")).content.decode()
    assert "No job waits; none runs; none failed" in page
    assert "There is no depot yet" in page


def test_the_page_costs_the_same_for_any_fleet(client: Client, operator) -> None:
    make_bay()
    failed(), running(1, 20)
    client.get(reverse("reports:upkeep"))
    with CaptureQueriesContext(
        connection,
    ) as few:
        client.get(reverse("reports:upkeep"))
    for _ in range(4):
        make_bay()
        failed(), running(1, 20), JobFactory(kind="recall")
    with CaptureQueriesContext(connection) as many:
        client.get(reverse("reports:upkeep"))
    assert len(many) == len(few) <= 18


def test_a_retry_puts_the_job_back_once_however_often_it_is_asked_for(client: Client, operator) -> None:
    job = failed(done_count=4, chunk={"at": 4}, attempts=5)
    address = reverse("reports:upkeep_retry", args=[job.pk])
    first = client.post(address, follow=True).content.decode()
    assert f"Job no. {job.pk} goes on after what it had written." in first
    job.refresh_from_db()
    assert (job.state, job.error, job.attempts, job.chunk) == ("queued", "", 0, {"at": 4})
    second = client.post(address, follow=True)
    assert second.status_code == 200
    assert f"Job no. {job.pk} is waiting; nothing was done twice." in second.content.decode()
    assert Job.objects.count() == 1


def test_a_retry_of_work_that_waits_already_under_another_number_says_so(client: Client, operator) -> None:
    job = failed(key="all")
    JobFactory(kind="sweep", key="all")
    page = client.post(reverse("reports:upkeep_retry", args=[job.pk]), follow=True).content.decode()
    assert f"Job no. {job.pk} is failed; nothing was done twice." in page


def test_a_job_that_is_not_there_is_not_found(client: Client, operator) -> None:
    assert client.post(reverse("reports:upkeep_retry", args=[12345])).status_code == 404


def test_the_way_to_the_page_is_shown_to_those_who_may_go(client: Client, operator) -> None:
    bay = make_bay()
    assert reverse("reports:upkeep") in client.get(reverse("fleet:register")).content.decode()
    client.force_login(bay.manager)
    assert reverse("reports:upkeep") not in client.get(reverse("fleet:register")).content.decode()


@pytest.mark.parametrize(
    ("seconds", "words"), [(0, "no second"), (59, "59 seconds"), (61, "one minute"), (90_000, "one day")]
)
def test_an_age_is_told_in_its_largest_unit(seconds: int, words: str) -> None:
    assert age(timedelta(seconds=seconds)) == words


def test_a_days_own_work_is_late_after_a_day() -> None:
    now = timezone.now()
    assert is_late(None, now)
    assert is_late(now - timedelta(hours=27), now)
    assert not is_late(now - timedelta(hours=25), now)
