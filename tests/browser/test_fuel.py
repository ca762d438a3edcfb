"""The page of fuel in a real browser: from the sentence to the unit, and from no price to money."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from checks.models import FuelLoss
from checks.services.fuel import fit_fleet
from tests.charted import drawn, look_on_every_screen
from tests.thirsty_fleet import make_thirsty_fleet

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def fleet():
    made = make_thirsty_fleet(inside=8, low=7, high=6)
    made.drive(months=6)
    fit_fleet()
    return made


def test_the_page_is_drawn_and_clean_on_every_screen(fleet, page, enter, console, shoot):
    enter(fleet.checked.bay.manager, "/fuel/")
    drawn(page, "figure-fuel")
    look_on_every_screen(page, shoot, "fuel")


def test_from_the_sentence_to_the_unit_that_lost_most_and_the_file(fleet, page, enter, console):
    enter(fleet.checked.bay.viewer, "/fuel/")
    expect(page.locator("p.lead")).to_contain_text(re.compile(r"Each 0\.1 mm below the window costs [\d.]+ % \("))
    page.get_by_label("Ranking over").select_option("month")
    page.get_by_role("button", name="Show").click()
    page.wait_for_url("**period=month**")
    first = page.get_by_role("region", name="Units by fuel lost").locator("a.unit-link").first
    worst = FuelLoss.objects.order_by("-litres_month").first()
    expect(first).to_have_text(worst.truck.unit_number)
    expect(first).to_have_attribute("href", f"/units/{worst.turbocharger_id}/")
    with page.expect_download() as sent:
        page.get_by_role("link", name="The whole list as CSV").click()
    assert sent.value.suggested_filename == "fuel-month.csv"
    assert worst.turbocharger.serial in Path(sent.value.path()).read_text(encoding="utf-8-sig").splitlines()[1]


def test_from_no_price_to_money(fleet, page, enter, console):
    enter(fleet.checked.bay.manager, "/fuel/")
    page.get_by_role("link", name="Add a fuel price").click()
    page.get_by_label("From").fill("2025-01-01")
    page.get_by_role("textbox", name="Price").fill("1,5x")
    page.get_by_label("Currency").fill("EUR")
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_role("textbox", name="Price")).to_have_value("1,5x")
    console.clear()  # the browser notes every refusal
    page.get_by_role("textbox", name="Price").fill("1,50")
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_role("region", name="Prices")).to_contain_text("1.5000 EUR")
    fit_fleet()
    page.get_by_role("link", name="Fuel", exact=True).first.click()
    expect(page.get_by_role("region", name="Cost by period")).to_contain_text("EUR")


def test_the_board_tells_it_and_sorts_by_it(fleet, page, enter, console):
    enter(fleet.checked.bay.viewer, "/?sort=fuel")
    row = page.locator("table.units tbody tr").first
    expect(row.locator("td").last).to_have_text(re.compile(r"\+\d+\.\d ± \d+\.\d %"))
