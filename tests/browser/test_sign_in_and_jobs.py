"""Signing in, going astray, and watching a job, in a real browser."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from fleet.models import Job
from tests.browser.looking import broken_rules
from tests.factories import JobFactory, MembershipFactory, UserFactory


@pytest.fixture
def accessible(page):
    """Return a function that asserts that axe finds nothing wrong with the page."""

    def look() -> None:
        assert broken_rules(page) == []

    return look


def test_a_person_signs_in_and_lands_where_they_wanted(page, live_server, console, shoot, accessible) -> None:
    person = UserFactory(username="mara")
    person.set_password("salt marsh and lime")
    person.save()
    MembershipFactory(user=person)
    page.goto(live_server.url + "/jobs/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    accessible()
    page.get_by_label("Username").fill("mara")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("Username")).to_have_value("mara")
    accessible()
    shoot("sign-in-refused")
    page.get_by_label("Password").fill("salt marsh and lime")
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(live_server.url + "/jobs/")
    shoot("jobs-empty")


def test_a_lost_person_finds_the_way_back(enter, shoot, accessible) -> None:
    page = enter(MembershipFactory().user, "/nowhere/")
    expect(page.get_by_role("heading", level=1)).to_have_text("There is nothing here that you can see")
    accessible()
    shoot("not-found")
    page.get_by_role("link", name="Open the fleet board").click()
    expect(page).to_have_url(re.compile("/$"))


def test_a_job_is_watched_to_its_end_and_retried_when_it_failed(enter, console, shoot, accessible) -> None:
    person = MembershipFactory().user
    lease = {"lease_token": "0" * 32, "lease_until": timezone.now()}
    progress = {"done_count": 412_000, "total_count": 1_000_000, "rows_per_second": 20_400.0}
    running = {"state": "running", "message": "chunk 42 of 100", **lease, **progress}
    job = JobFactory(requested_by=person, kind="re-judge", **running)
    page = enter(person, f"/jobs/{job.pk}/")
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "41")
    expect(page.get_by_text("20,400 rows/s")).to_be_visible()
    accessible()
    shoot("job-running")
    Job.objects.filter(pk=job.pk).update(
        state="failed", error="The file is gone. Upload it again.", finished_at=timezone.now(),
        lease_token=None, lease_until=None,
    )  # fmt: skip
    expect(page.get_by_role("status")).to_have_text("The file is gone. Upload it again.")
    expect(page.get_by_role("button", name="Retry from where it stopped")).to_be_visible()
    accessible()
    shoot("job-failed")


def test_a_button_held_across_a_second_is_still_heard(enter, console) -> None:
    """The page asks for itself each second, and would exchange the button under the finger."""
    person = MembershipFactory().user
    lease = {"lease_token": "0" * 32, "lease_until": timezone.now() + timedelta(hours=1)}
    job = JobFactory(requested_by=person, kind="re-judge", state="running", done_count=1, total_count=9, **lease)
    page = enter(person, f"/jobs/{job.pk}/")
    page.get_by_role("button", name="Cancel this job").hover()
    page.mouse.down()
    for _ in range(2):
        with page.expect_response("**/progress/"):
            pass
    page.mouse.up()
    expect(page.get_by_role("status")).to_have_text("This job is cancelled.")
