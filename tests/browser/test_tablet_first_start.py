"""The tablet's app where it is opened for the first time: what it says, and what it loads before it can be used."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.tablet import Tablet

pytestmark = pytest.mark.django_db(transaction=True)
LIMIT_BYTES = 100_000
FETCHING = "Fetching the units of your depots …"
# Notes when the first screen stands, and which scripts had been loaded by then.
WATCH = """new MutationObserver((_, me) => {
  if (!document.querySelector("#content .fresh")) return;
  me.disconnect();
  const found = performance.getEntriesByType("resource").filter((one) => one.name.endsWith(".js"));
  window.usable = { at: performance.now(), scripts: found.map((one) => [one.name, one.decodedBodySize]) };
}).observe(document, { childList: true, subtree: true });"""


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def context(page: Page, browser: Browser) -> Iterator[BrowserContext]:
    """A device that never saw the app. The worker would answer in the stead of what a test puts in the way."""
    fresh = browser.new_context(viewport={"width": 1180, "height": 820}, service_workers="block")
    yield fresh
    fresh.close()


def test_it_says_that_it_fetches_the_units_and_does_not_offer_to(
    context: BrowserContext, live_server: Any, bay: Bay
) -> None:
    held: list[Route] = []
    context.route("**/tablet/sheet.json*", lambda route: held.append(route))
    tablet = Tablet(context, live_server.url)
    tablet.sign_in(bay.technician)
    tablet.page.goto(f"{live_server.url}/tablet/")
    expect(tablet.page.locator(".network")).to_have_text("fetching the units")
    expect(tablet.page.locator(".fresh")).to_have_text(FETCHING)
    while not held:
        tablet.page.wait_for_timeout(50)
    held.pop().continue_()
    expect(tablet.page.locator(".fresh")).to_contain_text("Units as of")
    expect(tablet.page.locator(".network")).to_have_text("network")
    expect(tablet.page.locator(".who")).to_contain_text(
        f"Checks made here are signed by {bay.technician.display_name}."
    )


def test_it_says_what_is_missing_where_the_units_cannot_come(
    context: BrowserContext, live_server: Any, bay: Bay
) -> None:
    tablet = Tablet(context, live_server.url)
    tablet.page.goto(f"{live_server.url}/tablet/")
    expect(tablet.page.locator(".fresh")).to_contain_text("fetched once you are signed in")
    tablet.sign_in(bay.technician)
    context.route("**/tablet/session.json", lambda route: route.abort())
    tablet.page.reload()
    expect(tablet.page.locator(".fresh")).to_contain_text("there is no network")
    context.unroute("**/tablet/session.json")
    tablet.page.get_by_role("button", name="Fetch the units now").click()
    expect(tablet.page.locator(".fresh")).to_contain_text("Units as of")


def test_what_it_loads_before_it_can_be_used_is_within_100_kb(
    context: BrowserContext, live_server: Any, bay: Bay
) -> None:
    """100 KB of script at most without charts: bytes of scripts unpacked that had been loaded by then."""
    context.add_init_script(WATCH)
    tablet = Tablet(context, live_server.url)
    tablet.sign_in(bay.technician)
    tablet.page.goto(f"{live_server.url}/tablet/")
    usable = tablet.page.wait_for_function("() => window.usable").json_value()
    sizes = dict(usable["scripts"])
    print(f"usable after {usable['at']:.0f} ms, {len(sizes)} scripts, {sum(sizes.values())} bytes unpacked")
    assert len(sizes) > 5
    assert min(sizes.values()) > 0
    assert sum(sizes.values()) <= LIMIT_BYTES
    assert not [name for name in sizes if "/screens/" in name or "/plot" in name]
    expect(tablet.page.locator(".fresh")).to_contain_text("Units as of")
    with tablet.page.expect_response("**/tablet/screens/index*.js"):
        tablet.go(f"#/unit/{bay.turbocharger.pk}")
        tablet.page.get_by_role("button", name="Begin the check").click()
