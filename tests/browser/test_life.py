"""Lives until outside in a real browser: from the drift page to the curves, their counts and the files."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from checks.services.life import fit_all
from tests.charted import drawn, look_on_every_screen
from tests.living_fleet import make_living_fleet

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def fleet():
    made = make_living_fleet()
    made.add(16, origin="new")
    made.add(12, origin="reconditioned", eta_km=50_000.0)
    fit_all()
    return made


def test_the_page_is_drawn_and_clean_on_every_screen(fleet, page, enter, console, shoot):
    enter(fleet.checked.bay.manager, "/life/?by=origin")
    drawn(page, "figure-life")
    look_on_every_screen(page, shoot, "life")


def test_from_drift_to_the_curves_of_a_group_and_the_files(fleet, page, enter, console):
    enter(fleet.checked.bay.viewer, "/models/")
    page.get_by_role("link", name="How long do settings stay inside their window?").click()
    expect(page.locator("p.lead")).to_contain_text(re.compile(r"10 % of .+ have left their window by [\d,]+ km \("))
    drawn(page, "figure-life")
    chart = page.locator("[data-figure=figure-life]")
    expect(chart).to_contain_text("followed and known to be inside")
    page.get_by_label("Curves").select_option("origin")
    page.get_by_role("button", name="Show").click()
    page.wait_for_url("**by=origin**")
    drawn(page, "figure-life")
    expect(chart).to_contain_text("followed and inside: reconditioned")
    expect(page.get_by_role("region", name="B10 new or reconditioned")).to_contain_text("reconditioned")
    with page.expect_download() as sent:
        page.get_by_role("link", name="Groups as CSV").click()
    lines = Path(sent.value.path()).read_text(encoding="utf-8-sig").splitlines()
    assert lines[0].startswith("model,grouped by,group")
    assert any(",origin,reconditioned," in line for line in lines)


def test_in_engine_hours_without_any_it_says_what_is_missing(fleet, page, enter, console):
    enter(fleet.checked.bay.viewer, "/life/?usage=hours")
    expect(page.locator("p.lead")).to_contain_text("cannot be told yet")
    page.get_by_role("link", name="km", exact=True).click()
    expect(page.locator("p.lead")).to_contain_text("have left their window by")
