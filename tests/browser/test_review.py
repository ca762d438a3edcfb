"""A review in a browser: asked for, watched while it is made, read and taken away."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.services.check import record_check
from fleet.jobs.tasks import run_job
from reports.models import Review
from tests.bay import make_bay
from tests.browser.looking import barriers

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_review_is_asked_for_watched_read_and_taken_away(
    page: Page, enter: Any, console: list[str], shoot: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fleet.jobs.requests.ring", lambda *told: None)  # the worker comes later
    bay = make_bay()
    record_check(user=bay.technician, submission=bay.submission())
    enter(bay.viewer, "/reviews/")
    expect(page.get_by_text("No review was made yet")).to_be_visible()
    page.get_by_label("Of").select_option(label=bay.depot.name)
    page.get_by_role("button", name="Make a review").click()
    expect(page.get_by_text("waits for a worker")).to_be_visible()
    review = Review.objects.get()
    run_job(review.job_id)
    # The page looks again by itself.
    expect(page.get_by_text("of 1 unit stood inside")).to_be_visible(timeout=20_000)
    page.locator("summary", has_text="State of the fleet").click()
    expect(page.get_by_role("columnheader", name="this month").first).to_be_visible()
    with page.expect_download() as begun:
        page.get_by_role("link", name="CSV files of").click()
    assert begun.value.suggested_filename.endswith(f"-{review.pk}.zip")
    shoot("review")
    for scheme in ("light", "dark"):
        assert barriers(page, scheme) == []
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
