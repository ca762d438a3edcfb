"""Every step of a check on a tablet: fits the screen it is held on, and reads in all three themes."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.browser.looking import CONTRAST, STANDARD, TWO_FRAMES, broken_rules
from tests.browser.test_tablet_hands import VIEWS
from tests.tapping import Taps

pytestmark = pytest.mark.django_db(transaction=True)
TARGET = 56
SMALL = """() => [...document.querySelectorAll('.hands :is(button, select, summary, .tiles label)')]
  .map(one => [one.textContent.trim() || one.getAttribute('aria-label'), one.getBoundingClientRect()])
  .filter(([, box]) => box.height > 0 && box.height < 55.5).map(([name, box]) => `${name}: ${box.height}`)"""
# The act of a step is in reach when its last key or choice ends above the line of buttons.
HIDDEN = """() => {
  const foot = document.querySelector('.hands-foot').getBoundingClientRect().top;
  const pad = document.querySelector('.keypad')?.getBoundingClientRect();
  return pad && (pad.bottom > foot + 1 || pad.top < 0) ? Math.round(pad.bottom - foot) : null;
}"""


class Inspector:
    """Looks at whatever step is on the screen."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.faults: list[str] = []
        self.seen: set[str] = set()

    def __call__(self, name: str) -> None:
        page, step = self.page, self.page.locator(".hands").get_attribute("data-step") or ""
        self.seen.add(step)
        found = []
        for view, (width, height) in VIEWS.items():
            page.set_viewport_size({"width": width, "height": height})
            found += [f"{view}: {one}" for one in self.fits(view, step)]
        for theme in ("light", "dark", "sun"):
            page.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
            found += [f"{theme} {one}" for one in broken_rules(page, STANDARD if theme == "light" else CONTRAST)]
        page.evaluate("delete document.documentElement.dataset.theme")
        self.faults += [f"{name}: {one}" for one in found]

    def fits(self, view: str, step: str) -> Iterator[str]:
        """Yield what does not fit the screen, once the step has taken its new size."""
        page = self.page
        page.evaluate(TWO_FRAMES)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if wide > 0:
            yield f"{wide} too wide"
        yield from (f"small: {one}" for one in page.evaluate(SMALL))
        # On a phone reasons, and the cautions before the rod is turned, are read first, and scrolled past.
        hidden = None if view == "phone" and step in ("reason", "adjust") else page.evaluate(HIDDEN)
        if hidden is not None:
            yield f"keys end {hidden} below"


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


def test_every_step_fits_every_screen_and_reads_in_every_theme(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, "/tablet/")
    look = Inspector(page)
    taps = Taps(page, look)
    taps.begin(bay)
    taps.prepare()
    taps.ready()
    taps.to_the_verdict("0.0880")
    page.get_by_text("Turn the rod, then make the stroke again").click()
    taps.tap("Next")
    taps.at("Turn the rod")
    look("adjust")
    taps.enter("half_turns", "1")
    page.get_by_text("Shorter", exact=True).click()
    taps.tap("Turned: the whole stroke again")
    taps.ready("as-left-")
    taps.to_the_verdict("0.0600", "as-left-")
    taps.tap("Next")
    taps.at("Look it over, then sign")
    look("sign")
    assert len(look.seen) == 17
    assert not look.faults, "\n".join(look.faults)


def test_the_theme_for_bright_sun_is_kept_on_the_device(bay: Bay, page: Page, enter: Any, snap: Any) -> None:
    page.set_viewport_size({"width": 1180, "height": 820})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    for name in ("as the device", "light", "dark"):
        taps.tap(f"Screen: {name}")
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-theme", "sun")
    taps.prepare()
    taps.ready()
    taps.rise("0.0595", "sun-")
    snap("tablet-sun-rise")
    taps.tap("Screen: bright sun")
    taps.tap("Screen: as the device")
    taps.tap("Screen: light")
    snap("tablet-dark-rise")


def test_turning_the_tablet_in_the_middle_keeps_everything(bay: Bay, page: Page, enter: Any) -> None:
    page.set_viewport_size({"width": 1180, "height": 820})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    taps.prepare()
    taps.ready()
    taps.add("22", "0.000")
    taps.enter("stimulus", "24")
    before = page.locator(".stroke-plot").bounding_box()
    page.set_viewport_size({"width": 820, "height": 1180})
    expect(taps.box("stimulus")).to_have_value("24")
    expect(page.locator(".readings tbody tr")).to_have_count(1)
    expect(page.locator(".stroke-plot")).to_have_attribute("width", "772")
    after = page.locator(".stroke-plot").bounding_box()
    assert before
    assert after
    assert after["width"] != before["width"]
    taps.enter("travel", "0.008")
    taps.act().click()
    expect(page.locator(".readings tbody tr")).to_have_count(2)


def test_a_real_keyboard_works_the_boxes(bay: Bay, page: Page, enter: Any) -> None:
    page.set_viewport_size({"width": 1180, "height": 820})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    taps.prepare()
    page.keyboard.type("0")
    page.keyboard.press("Enter")
    page.keyboard.type("0,000")
    page.keyboard.press("Enter")
    taps.at("Exercise the actuator")
    page.keyboard.type("35")
    page.keyboard.press("ArrowUp")
    expect(taps.box("stimulus")).to_have_value("35.2")
