"""What a manager has from the first hour: the verdict, a month of trips, the page of fuel, a review to hand on."""

import csv
import io
import time
import zipfile
from pathlib import Path

import openpyxl
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.first_hour import ZONE, last_month, trips_file

MEANT = {
    "Wagon": "truck", "Left": "start", "Home": "end", "Way": "distance", "Diesel": "fuel", "Tonnes": "payload",
    "Climb": "ascent", "Standing": "idle",
}  # fmt: skip
PATIENCE_MS = 60_000
UNITS = 23  # twenty trucks from a file, one of them with two turbochargers, and two by hand


def see_the_verdict(page: Page, register: str) -> None:
    """Every first step is done, and both checks stand on the board."""
    page.get_by_role("banner").get_by_role("link", name="First steps").click()
    expect(page.locator("ol.steps h2", has_text="done")).to_have_count(5)
    page.goto(register)
    rows = page.locator("#board tbody tr")
    expect(rows).to_have_count(UNITS)
    expect(rows.filter(has_text="H01")).to_contain_text("inside")
    expect(rows.filter(has_text="H02")).to_contain_text("outside low")


def bring_in_trips(page: Page, register: str) -> None:
    """Say once what each column holds; the line of a truck that nobody has is refused and can be taken away."""
    content, count = trips_file(last_month())
    page.goto(f"{register}/register/trips/")
    page.get_by_role("link", name="Bring in a file").first.click()
    page.get_by_label("Where the file comes from").fill("Weighbridge")
    page.locator("input[type=file]").set_input_files({"name": "trips.csv", "mimeType": "text/csv", "buffer": content})
    page.get_by_role("button", name="Show how it reads").click()
    expect(page.get_by_role("alert")).to_contain_text("Say which column holds: truck, start, distance, fuel")
    for label, choice in [
        *((f"What {column} holds", item) for column, item in MEANT.items()),
        ("Unit of Standing", "min"), ("Clock of the times", ZONE),
    ]:  # fmt: skip
        with page.expect_response(lambda answer: answer.request.method == "POST"):
            page.get_by_label(label).select_option(choice)
    page.get_by_role("button", name="Make the trial run").click()
    expect(page.get_by_text(f"It would bring {count} trips new to the record")).to_be_visible(timeout=PATIENCE_MS)
    page.get_by_role("button", name=f"Bring in {count} trips").click()
    expect(page.get_by_text(f"It is in: {count} trips new to the record")).to_be_visible(timeout=PATIENCE_MS)
    with page.expect_download() as begun:
        page.get_by_role("link", name="Every refused line with its reason").click()
    [refused] = csv.DictReader(io.StringIO(Path(begun.value.path()).read_text("utf-8-sig")))
    assert refused["reason"] == "You manage no truck with this number."
    assert refused["line"] == str(count + 2)
    assert refused["original"].startswith("H99;")


def read_fuel(page: Page, register: str) -> None:
    """One month cannot set fuel against travel, since no truck was seen with another travel; the page says so."""
    lead, end = page.locator(".lead"), time.monotonic() + PATIENCE_MS / 1000
    page.goto(f"{register}/fuel/")
    while "is being computed. Look again" in lead.inner_text() and time.monotonic() < end:
        page.wait_for_timeout(500)
        page.reload()
    expect(lead).to_contain_text("cannot be told yet")


def review(page: Page, register: str) -> None:
    """Ask for the month's review, take it away in three forms, and find the same numbers in all of them."""
    page.goto(f"{register}/reviews/")
    page.get_by_label("Month").select_option(label=f"{last_month().first:%B %Y}")
    page.get_by_role("button", name="Make a review").click()
    found = f"0 of {UNITS} units stood inside their window and 1 outside"
    expect(page.get_by_role("main")).to_contain_text(found, timeout=PATIENCE_MS)
    pdf, book, tables = (_download(page, name) for name in ("PDF", "workbook", "CSV files"))
    told = " ".join(" ".join(leaf.extract_text() for leaf in PdfReader(io.BytesIO(pdf)).pages).split())
    assert found in told
    sheet = openpyxl.load_workbook(io.BytesIO(book))["fleet_state"]
    with zipfile.ZipFile(io.BytesIO(tables)) as files:
        rows = list(csv.DictReader(io.StringIO(files.read("fleet_state.csv").decode())))
    states = {row["state"]: int(row["units"]) for row in rows}
    assert states["outside low"] == 1
    assert states["never checked"] == UNITS - 1
    assert states["all"] == UNITS
    in_book = {row[0]: row[2] for row in sheet.iter_rows(values_only=True) if row[0] in states}
    assert in_book == states


def _download(page: Page, name: str) -> bytes:
    with page.expect_download() as begun:
        page.get_by_role("link", name=name).first.click()
    return Path(begun.value.path()).read_bytes()
