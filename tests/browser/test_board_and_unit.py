"""Board, unit, check, sheet and due list in a real browser: charts drawn, console empty, axe clean, pictures taken."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from checks.models import Standing
from checks.services.check import record_check
from fleet.models import Complaint
from tests.bay import make_bay, readings
from tests.charted import look_on_every_screen, settled

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay():
    """A bay whose unit was checked five times, adjusted once and void once."""
    made = make_bay()
    made.turbocharger.fitments.update(fitted_odometer_km=60_000)
    Complaint.objects.create(truck=made.truck, kind="fuel_economy", raised_on="2025-05-01", raised_by="driver")
    void = [row for row in readings("60") if row["phase"] != "zero_return"]
    for days, travel, more in (
        (400, "57", {}),
        (300, "66", {}),
        (200, "84", {"half_turns": -2, "as_left": {"readings": readings("59")}}),
        (100, "60", {"as_found": {"readings": void}}),
        (3, "92", {}),
    ):
        at = timezone.now() - timedelta(days=days)
        changes = {
            "made_at": at.isoformat(),
            "cautions_read_at": (at - timedelta(minutes=5)).isoformat(),
            "odometer": {"text": str(212_000 - 300 * days), "unit": "km"},
            "engine_hours": None,
        }
        record_check(user=made.technician, submission=made.submission(travel=travel, **changes | more))
    Standing.objects.update(due_on=timezone.localdate() - timedelta(days=1))
    return made


def places(bay):
    """Address of each page by name."""
    check = bay.turbocharger.checks.filter(half_turns__isnull=False).get()
    return {
        "board": reverse("reports:board"),
        "unit": reverse("reports:unit", args=[bay.turbocharger.pk]),
        "check": reverse("reports:check", args=[check.pk]),
        "sheet": reverse("reports:check_sheet", args=[check.pk]),
        "due": reverse("reports:due"),
    }


@pytest.mark.parametrize("name", ["board", "unit", "check", "sheet", "due"])
def test_pages_are_axe_clean_with_an_empty_console(bay, page, enter, console, shoot, name):
    enter(bay.manager, places(bay)[name])
    settled(page)
    look_on_every_screen(page, shoot, name)


def test_charts_are_drawn_and_swallow_no_clicks(bay, page, enter, console):
    enter(bay.technician, places(bay)["unit"])
    settled(page)
    drift = page.locator("[data-figure='figure-drift']")
    assert drift.locator(".errorbar").count() == 6
    assert page.locator("[data-figure='figure-curve'] .point").count() >= 5
    below = page.locator("table.units a").first
    below.click()
    page.wait_for_url("**/checks/*/")


def test_a_page_without_charts_does_not_fetch_the_plotting_script(bay, page, enter):
    fetched = []
    page.on("request", lambda request: fetched.append(request.url))
    enter(bay.viewer, places(bay)["board"])
    page.wait_for_load_state("networkidle")
    assert not [url for url in fetched if "plotly" in url]
    assert not [url for url in fetched if not url.startswith(page.url.split("/", 3)[0] + "//" + page.url.split("/")[2])]


def test_charts_follow_a_change_of_theme(bay, page, enter):
    page.emulate_media(color_scheme="light")
    enter(bay.viewer, places(bay)["unit"])
    settled(page)
    paper = "[data-figure='figure-drift'] .main-svg >> nth=0"
    before = page.locator(paper).evaluate("svg => getComputedStyle(svg).backgroundColor")
    page.emulate_media(color_scheme="dark")
    expect(page.locator(paper)).not_to_have_css("background-color", before)


def test_counts_and_filters_change_the_list_in_place(bay, page, enter, console):
    enter(bay.viewer, places(bay)["board"])
    page.get_by_role("link", name="0 inside").click()
    page.get_by_text("No unit answers this.").wait_for()
    assert "state=inside" in page.url
    page.get_by_role("link", name="1 outside high").click()
    page.get_by_role("link", name=bay.truck.unit_number, exact=True).wait_for()
    page.fill("#filter-find", "no such unit")
    page.keyboard.press("Enter")
    page.get_by_text("No unit matches “no such unit”.").wait_for()
    page.go_back()
    page.get_by_role("link", name=bay.truck.unit_number, exact=True).wait_for()


def test_the_sheet_prints_on_paper_without_controls(bay, page, enter):
    enter(bay.viewer, places(bay)["sheet"])
    page.emulate_media(media="print")
    assert not page.locator(".masthead, .no-print").locator("visible=true").count()
    page.set_viewport_size({"width": 688, "height": 980})  # A4 less its margins, in CSS pixels
    assert page.evaluate("document.documentElement.scrollWidth") <= 688


def test_no_column_of_the_sheet_is_cut_off_on_the_screen(bay, page, enter):
    page.set_viewport_size({"width": 1440, "height": 900})
    enter(bay.viewer, places(bay)["sheet"])
    hidden = "boxes => boxes.map(box => box.scrollWidth - box.clientWidth)"
    assert set(page.locator(".scroll-x").evaluate_all(hidden)) == {0}
