"""Trips in a real browser: a messy file from its upload to the record, and back again; progress, stop and go on."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from fleet.imports.trips.sending import begin_import
from fleet.models import Job, Trip, TripImport
from tests.browser.looking import barriers
from tests.factories import DepotFactory, JobFactory, MembershipFactory, TruckFactory

pytestmark = pytest.mark.django_db(transaction=True)
FILES = Path(settings.BASE_DIR) / "fixtures"
VIEWS = ((1440, 900), (820, 1180))
MESSY = FILES / "trips_semicolon_comma_local.csv"
# What a person says of the file's columns; Load (kg) and Climb are known by their names.
MEANT = {
    "Wagon": "truck", "Left the yard": "start", "Back again": "end", "Way (km)": "distance", "Diesel (l)": "fuel",
    "Standing (min)": "idle", "Outside": "temperature", "Meter at start": "odometer",
}  # fmt: skip


@pytest.fixture
def yard():
    """A depot whose clock goes by summer time, with two trucks and its manager."""
    depot = DepotFactory(name="Saltmarsh", time_zone="Europe/Berlin")
    trucks = [TruckFactory(depot=depot, unit_number=number) for number in ("201", "202")]
    return SimpleNamespace(depot=depot, trucks=trucks, manager=MembershipFactory(depot=depot, role="manager").user)


def assert_clean(page) -> None:
    """No barrier in either theme, nothing beyond the page's width, on a desk or an upright tablet."""
    for scheme in ("light", "dark"):
        assert barriers(page, scheme) == []
    page.emulate_media(color_scheme="light")
    for width, height in VIEWS:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function("document.documentElement.scrollWidth <= window.innerWidth")


def send(page, path: Path, source: str = "Yard export") -> None:
    page.get_by_label("Where the file comes from").fill(source)
    page.locator("input[type=file]").set_input_files(path)
    page.get_by_role("button", name="Show how it reads").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"How {path.name} reads")


def say(page, column: str, item: str) -> None:
    """Choose what a column holds and wait until the page has read the file again."""
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_label(f"What {column} holds").select_option(item)


def look(page, shoot, name: str) -> None:
    """Assert that the page is clean, and keep a picture of it."""
    assert_clean(page)
    shoot(name)


def read_by_hand(page, shoot) -> None:
    """Say of each column what it holds and of the times where their clock stands."""
    expect(page.get_by_role("alert")).to_contain_text("Say which column holds: truck, start, distance, fuel")
    look(page, shoot, "trips-unread")
    for column, item in MEANT.items():
        say(page, column, item)
    expect(page.get_by_role("alert")).to_have_count(0)
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_label("Clock of the times").select_option("Europe/Berlin")
    # Of eight lines one starts in an hour that the clock skips, one overlaps, one is too fast.
    expect(page.get_by_text("Of the first 8 lines, 5 can be brought in; 3 would be refused")).to_be_visible()
    expect(page.get_by_role("row", name="Load (kg)")).to_contain_text("17.5 t")
    expect(page.get_by_label("Unit of Standing (min)")).to_have_value("min")
    expect(page.get_by_role("row", name="Standing (min)")).to_contain_text("7.5 min")
    expect(page.get_by_role("row", name="Left the yard")).to_contain_text("2026-03-28 20:30:00 UTC")
    expect(page.get_by_text("falls in an hour that the clock skips")).to_be_visible()
    look(page, shoot, "trips-reads")


def try_and_bring_in(page, shoot) -> None:
    """Make the trial run and bring the file in, with an impatient hand."""
    page.get_by_role("button", name="Make the trial run").click()
    expect(page.get_by_text("Nothing is written yet. It would bring 5 trips new to the record")).to_be_visible()
    assert not Trip.objects.exists()
    look(page, shoot, "trips-tried")
    page.get_by_role("button", name="Bring in 5 trips").dblclick()
    expect(page.get_by_text("It is in: 5 trips new to the record, 0 corrected, 0 known already")).to_be_visible()
    look(page, shoot, "trips-in")


def test_a_messy_file_is_read_tried_and_brought_in(yard, enter, page, console, shoot):
    enter(yard.manager, reverse("fleet:register"))
    page.get_by_role("main").get_by_role("link", name="Trips").click()
    expect(page.get_by_text("No trips are on record yet.")).to_be_visible()
    assert_clean(page)
    page.get_by_role("link", name="Bring in a file").click()
    look(page, shoot, "trips-bring")
    send(page, MESSY)
    read_by_hand(page, shoot)
    try_and_bring_in(page, shoot)
    starts = set(Trip.objects.values_list("started_s", flat=True))
    # 29 March 2026, 01:20 in Berlin, is 00:20 UTC; on 30 March, 06:00 is 04:00 UTC, an hour less than in winter.
    for there in (datetime(2026, 3, 29, 0, 20, tzinfo=UTC), datetime(2026, 3, 30, 4, 0, tzinfo=UTC)):
        assert int(there.timestamp()) in starts
    page.get_by_role("link", name="See the trips from 28 Mar 2026 to 30 Mar 2026").click()
    expect(page.get_by_role("row", name="201")).to_have_count(3)
    look(page, shoot, "trips-list")
    page.get_by_role("link", name="Trips", exact=True).click()
    expect(page.get_by_text("Your depots have 5 trips on record")).to_be_visible()
    look(page, shoot, "trips")
    # The source is remembered, and its file again changes nothing.
    page.get_by_role("link", name="Bring in a file from Yard export").click()
    expect(page.get_by_label("Where the file comes from")).to_have_value("Yard export")
    send(page, MESSY)
    expect(page.get_by_label("What Wagon holds")).to_have_value("truck")
    page.get_by_role("button", name="Make the trial run").click()
    expect(page.get_by_text("It would change nothing: 5 trips known already")).to_be_visible()


def test_another_separator_gives_other_columns(yard, enter, page, console):
    enter(yard.manager, reverse("fleet:trips_bring"))
    send(page, FILES / "trips_miles_gallons.csv", "Old export")
    expect(page.get_by_label("Unit of Trip distance (mi)")).to_have_value("mi")
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_label("Between cells").select_option(",")
    expect(page.get_by_label("What Fuel used (gal) holds")).to_have_count(0)
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_label("Between cells").select_option("|")
    expect(page.get_by_label("What Fuel used (gal) holds")).to_have_value("fuel")
    expect(page.get_by_label("Times look like")).to_have_value("month_slashes")
    expect(page.get_by_text("Of the first 3 lines, 3 can be brought in.")).to_be_visible()


def test_the_choice_of_a_column_keeps_the_keyboard_where_it_was(yard, enter, page, console):
    enter(yard.manager, reverse("fleet:trips_bring"))
    send(page, MESSY)
    page.get_by_label("What Wagon holds").focus()
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.keyboard.press("T")
    expect(page.get_by_label("What Wagon holds")).to_have_value("truck")
    expect(page.get_by_label("What Wagon holds")).to_be_focused()


def test_without_script_the_same_walk_works(yard, browser, live_server, enter):
    enter(yard.manager, "/")
    with (FILES / "trips_plain.csv").open("rb") as file:
        sent = begin_import(user=yard.manager, source="Plain", name="trips_plain.csv", upload=file)
    context = browser.new_context(java_script_enabled=False, storage_state=enter(yard.manager).context.storage_state())
    page = context.new_page()
    page.goto(live_server.url + reverse("fleet:trip_reading", args=[sent.pk]))
    page.get_by_label("What fuel_l holds").select_option("")
    page.get_by_role("button", name="Show how it reads now").click()
    expect(page.get_by_role("alert")).to_contain_text("Say which column holds: fuel.")
    page.get_by_label("What fuel_l holds").select_option("fuel")
    page.get_by_role("button", name="Show how it reads now").click()
    page.get_by_role("button", name="Make the trial run").click()
    page.get_by_role("button", name="Bring in 6 trips").click()
    expect(page.get_by_text("It is in: 6 trips new to the record")).to_be_visible()
    context.close()


def test_progress_is_watched_stopped_and_gone_on_with(yard, enter, page, console, shoot):
    with (FILES / "trips_plain.csv").open("rb") as file:
        sent = begin_import(user=yard.manager, source="Plain", name="trips_plain.csv", upload=file)
    lease = {"lease_token": "0" * 32, "lease_until": timezone.now() + timedelta(hours=1)}
    counts = {"done_count": 412_000, "total_count": 1_000_000, "rows_per_second": 180_400.0}
    arguments = {"key": str(sent.pk), "trial": False}
    job = JobFactory(
        requested_by=yard.manager, kind="bring-trips", state="running", arguments=arguments, **counts, **lease
    )
    TripImport.objects.filter(pk=sent.pk).update(job=job, lines=412_000, accepted=411_000, refused=1_000, new=411_000)
    enter(yard.manager, reverse("fleet:trip_run", args=[sent.pk]))
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "41")
    expect(page.get_by_text("180,400 rows/s")).to_be_visible()
    expect(page.get_by_text("about 3 s")).to_be_visible()
    assert_clean(page)
    shoot("trips-running")
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now())
    expect(page.get_by_text("Its worker has fallen silent.")).to_be_visible()
    page.get_by_role("button", name="Stop here; keep what is in").click()
    expect(
        page.get_by_text("It was stopped after 412,000 lines. The 411,000 trips of them stay on record.")
    ).to_be_visible()
    assert_clean(page)
    shoot("trips-stopped")
    TripImport.objects.filter(pk=sent.pk).update(lines=0, accepted=0, refused=0, new=0)
    page.get_by_role("button", name="Bring in the rest").click()
    expect(page.get_by_text("It is in: 6 trips new to the record")).to_be_visible()
    assert Trip.objects.count() == 6
