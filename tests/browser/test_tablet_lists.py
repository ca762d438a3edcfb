"""The app's own screens beside the steps: fit every width, clean for assistive technology, quick to open."""

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.browser.looking import CONTRAST, STANDARD, broken_rules
from tests.tablet import Tablet

pytestmark = pytest.mark.django_db(transaction=True)
VIEWS = ((1180, 820), (820, 1180), (390, 844))
THEMES = ("light", "dark", "sun")
PAINTED = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime"


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def tablet(page: Page, browser: Browser, live_server: Any, bay: Bay) -> Any:
    one = Tablet(browser.new_context(viewport={"width": 1180, "height": 820}), live_server.url)
    one.open(bay.technician)
    yield one
    one.context.close()


def faults(page: Page) -> list[str]:
    """What is too wide, and what the axe rules find in each theme."""
    found = []
    for width, height in VIEWS:
        page.set_viewport_size({"width": width, "height": height})
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            found.append(f"{wide} wide at {width}")
    for theme in THEMES:
        page.evaluate("(theme) => { document.documentElement.dataset.theme = theme; }", theme)
        page.evaluate("() => new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
        rules = STANDARD if theme == THEMES[0] else CONTRAST
        found += [f"{theme} {one}" for one in broken_rules(page, rules)]
    return found


def test_every_list_fits_and_reads_in_every_theme(tablet: Tablet, bay: Bay) -> None:
    with tablet.offline():
        sent_back = tablet.sign(bay, odometer={"text": "21x", "unit": "km"})
        received = tablet.sign(bay, provisional="outside_low")
    tablet.expect_waiting("Nothing waits, 1 needs you")
    with tablet.offline():
        waiting = tablet.sign(bay)
        found = {}
        for address, heading in {
            "#/": "Which unit do you check?",
            "#/find": "Find a unit",
            f"#/unit/{bay.turbocharger.pk}": bay.truck.unit_number,
            "#/label/0-0": "This label is not known here",
            "#/outbox": "Signed on this tablet",
            f"#/outbox/{sent_back}": bay.truck.unit_number,
            f"#/outbox/{received}": bay.truck.unit_number,
            f"#/outbox/{waiting}": bay.truck.unit_number,
            "#/check/none": "There is no such check under way on this tablet",
        }.items():
            tablet.go(address)
            expect(tablet.page.get_by_role("heading", level=1)).to_have_text(heading)
            found[address] = faults(tablet.page)
    assert {address: what for address, what in found.items() if what} == {}


def test_a_search_finds_by_number_and_by_serial(tablet: Tablet, bay: Bay) -> None:
    tablet.page.locator("#q").fill(bay.turbocharger.serial[2:].lower())
    expect(tablet.page.locator("#found .unit-link")).to_have_count(1)
    tablet.page.locator("#q").fill("no such unit")
    expect(tablet.page.locator("#found")).to_contain_text("No unit of your depots has ‘no such unit’")
    tablet.page.locator("#q").fill(bay.truck.unit_number)
    tablet.page.locator("#found .unit-link").click()
    expect(tablet.page.get_by_role("button", name="Begin the check")).to_be_visible()


def test_whoever_may_make_no_checks_is_told_why_there_are_no_units(
    browser: Browser, live_server: Any, page: Page, bay: Bay
) -> None:
    other = Tablet(browser.new_context(), live_server.url)
    other.sign_in(bay.viewer)
    other.page.goto(f"{live_server.url}/tablet/")
    expect(other.page.locator("#found")).to_contain_text("This needs the role of technician")
    other.context.close()


def test_every_target_is_large_enough_for_gloves(tablet: Tablet, bay: Bay) -> None:
    for address in ("#/", "#/outbox", f"#/unit/{bay.turbocharger.pk}"):
        tablet.go(address)
        tablet.page.locator("h1").wait_for()
        for target in tablet.page.locator("main button:visible, main a:visible, .tablet-head a:visible").all():
            box = target.bounding_box()
            assert box is not None
            assert box["height"] >= 56, target.inner_text()


def test_how_long_the_first_paint_takes_is_printed(browser: Browser, live_server: Any, tablet: Tablet) -> None:
    """A measurement to be read by people: cold, with an empty cache, and from the worker's cache."""
    context = browser.new_context()
    cold = context.new_page()
    cold.goto(f"{live_server.url}/tablet/")
    cold.locator(".fresh").wait_for()
    with tablet.offline():
        tablet.page.reload()
        tablet.page.locator(".fresh").wait_for()
        warm = tablet.page.wait_for_function(PAINTED).json_value()
    times = cold.wait_for_function(PAINTED).json_value()
    context.close()
    print(f"first paint: cold {times:.0f} ms, without a network {warm:.0f} ms")
    assert min(times, warm) > 0
