"""A sheet of paper typed in by somebody who never touches the mouse."""

import time
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.models import Check, Draft
from tests.bay import RISE, Bay
from tests.browser.guided import bay_in_inches

pytestmark = pytest.mark.django_db(transaction=True)
# What a practised hand needs for one key; Card, Moran and Newell's keystroke-level model, from memory.
SECONDS_A_KEY = 0.28


class Keys:
    """A keyboard that counts."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def press(self, name: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.keyboard.press(name)
        self.count += times

    def type(self, text: str) -> None:
        """Type into the box that has the focus, and go on."""
        self.page.keyboard.type(text)
        self.count += len(text)
        self.press("Enter")

    def at(self, name: str) -> None:
        expect(self.page.locator(f"[name={name}]")).to_be_focused()


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


def type_sheet(keys: Keys, day: str) -> None:
    """Twelve lines in the order of the sheet."""
    keys.at("day")
    for text in (day, "930", "9.05"):
        keys.type(text.zfill(4) if text.isdecimal() else text)
    keys.at("reason")
    keys.press("Enter")
    keys.type("212000")
    keys.press("Enter")  # the odometer's unit stands
    keys.type("5120,5")
    while keys.page.evaluate("document.activeElement.name") != "found-zero-p":
        keys.press("Enter")  # the instruments are those that the sheet names first
    keys.type("0")
    keys.type("0")
    for _ in range(3):
        keys.type("35")
    keys.type("0")
    keys.type("0")
    for psi, thou in RISE:
        keys.type(str(psi))
        keys.type(f".{thou:03d}" if thou else "0")
    keys.at("found-rise-6-p")
    keys.press("Enter")
    keys.at("found-setting-p")
    keys.type("31")
    keys.type(".0595")
    keys.press("Enter")
    keys.at("turns")
    keys.press("Enter")
    keys.at("note")
    keys.press("Enter")
    expect(keys.page.get_by_role("button", name="Sign the check")).to_be_focused()


def test_a_sheet_is_typed_in_and_judged_from_the_keyboard_alone(
    bay: Bay, page: Page, enter: Any, shoot: Any, console: Any
) -> None:
    enter(bay.technician, f"/checks/quick/{bay.turbocharger.pk}/")
    keys, began = Keys(page), time.monotonic()
    type_sheet(keys, "2025-03-04")
    shoot("quick-typed")
    keys.press("Enter")
    page.wait_for_url("**/checks/*/")
    took = time.monotonic() - began
    expect(page.locator("main")).to_contain_text("Inside: 0.0594 ± 0.0013 in")
    assert Check.objects.get().source == "paper"
    print(f"\n{keys.count} keys, {took:.1f} s by machine, about {keys.count * SECONDS_A_KEY:.0f} s by hand")
    assert keys.count * SECONDS_A_KEY < 60


def test_what_was_typed_outlives_the_page_and_a_refusal_leads_to_its_box(
    bay: Bay, page: Page, enter: Any, shoot: Any
) -> None:
    enter(bay.technician, f"/checks/quick/{bay.turbocharger.pk}/")
    keys = Keys(page)
    type_sheet(keys, "2025-03-04")
    page.locator("[name=found-rise-3-x]").fill("twenty")
    expect(page.locator("[data-kept]")).to_contain_text("kept as draft")
    assert Draft.objects.get().answers["paper"]["found-setting-x"] == ".0595"
    page.reload()
    expect(page.locator("[name=found-rise-3-x]")).to_have_value("twenty")
    page.get_by_role("button", name="Sign the check").press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("One thing to mend.")
    expect(page.locator("[name=found-rise-3-x]")).to_be_focused()
    shoot("quick-refused")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(".020")
    page.get_by_role("button", name="Sign the check").press("Enter")
    page.wait_for_url("**/checks/*/")
    expect(page.locator("main")).to_contain_text("Inside")


def test_signed_out_it_says_so_and_the_page_keeps_what_was_typed(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, f"/checks/quick/{bay.turbocharger.pk}/")
    page.context.clear_cookies(name="sessionid")
    page.locator("[name=note]").fill("stiff coupling")
    expect(page.locator("[data-kept]")).to_contain_text("not kept: you are signed out")
    expect(page.locator("[name=note]")).to_have_value("stiff coupling")


def test_what_was_typed_may_be_thrown_away(bay: Bay, page: Page, enter: Any) -> None:
    address = f"/checks/quick/{bay.turbocharger.pk}/"
    enter(bay.technician, address)
    page.locator("[name=note]").fill("wrong unit")
    expect(page.locator("[data-kept]")).to_contain_text("kept as draft")
    page.get_by_text("Discard what was typed").click()
    page.get_by_role("button", name="Discard it").click()
    page.wait_for_url("**/checks/find/")
    assert not Draft.objects.exists()


def test_without_the_server_it_says_that_nothing_was_kept(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, f"/checks/quick/{bay.turbocharger.pk}/")
    page.context.set_offline(True)
    page.keyboard.type("2025-03-04")
    expect(page.locator("[data-kept]")).to_contain_text("not kept: the server cannot be reached")
    page.context.set_offline(False)
