"""What goes wrong in a bay: reloads, double taps, two tabs, slips of typing, an overshoot, no mouse."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.models import Check, Draft, Reading
from tests.bay import Bay, calibrated
from tests.browser.guided import bay_in_inches, electric_bay
from tests.browser.looking import CONTRAST, broken_rules
from tests.factories import InstrumentFactory
from tests.hands import SIGNED, Hands

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def hands(bay: Bay, page: Page, enter: Any) -> Hands:
    page.set_viewport_size({"width": 820, "height": 1180})
    enter(bay.technician, "/checks/find/")
    return Hands(page)


@pytest.fixture
def rising(hands: Hands, bay: Bay) -> Hands:
    hands.prepare(bay)
    hands.ready()
    return hands


def test_a_reload_in_the_middle_of_the_rise_loses_nothing(rising: Hands, bay: Bay) -> None:
    rising.add("22", "0")
    rising.add("26", "0.020")
    rising.page.reload()
    expect(rising.page.locator(".readings tbody tr")).to_have_count(2)
    rising.page.goto(rising.page.url.split("/checks/")[0] + "/checks/find/")
    rising.page.locator(".unit-link").click()
    rising.at("The rise")
    expect(rising.page.locator(".readings tbody tr")).to_have_count(2)


def test_a_double_tap_adds_one_reading_and_signs_one_check(rising: Hands) -> None:
    rising.type("stimulus", "22")
    rising.type("travel", "0")
    rising.page.get_by_role("button", name="Add reading").dblclick()
    expect(rising.page.locator(".readings tbody tr")).to_have_count(1)
    rising.add("30", "0.052")
    rising.add("31", "0.0595", "Add as the reading at the setting")
    rising.next("Fall and hold")
    rising.next("Verdict", "To the verdict")
    rising.page.get_by_label("Leave the setting alone and sign").check()
    rising.next("Look it over, then sign")
    rising.page.get_by_role("button", name="Sign the check").dblclick()
    rising.page.wait_for_url(SIGNED)
    assert Check.objects.count() == 1
    assert Reading.objects.filter(phase="rise").count() == 2


def test_two_tabs_sign_one_check(rising: Hands, page: Page) -> None:
    rising.rise("0.0595")
    rising.next("Fall and hold")
    rising.next("Verdict", "To the verdict")
    rising.page.get_by_label("Leave the setting alone and sign").check()
    rising.next("Look it over, then sign")
    other = page.context.new_page()
    other.goto(page.url)
    rising.sign()
    Hands(other).sign()
    assert other.url == page.url
    assert Check.objects.count() == 1


def test_a_lagging_tab_is_told_and_keeps_what_was_typed(rising: Hands, page: Page) -> None:
    other = Hands(page.context.new_page())
    other.page.goto(page.url)
    rising.add("22", "0")
    other.type("stimulus", "24")
    other.type("travel", "0.0081")
    other.press("Add reading")
    expect(other.page.get_by_text("changed from another screen").first).to_be_visible()
    expect(other.page.locator("#f-travel")).to_have_value("0.0081")
    expect(other.page.locator(".readings tbody tr")).to_have_count(1)
    other.press("Add reading")
    expect(other.page.locator(".readings tbody tr")).to_have_count(2)


def test_a_slip_of_typing_names_box_reason_and_fix(rising: Hands, shoot: Any) -> None:
    rising.type("stimulus", "thirty")
    rising.type("travel", "0.0521")
    rising.press("Add reading")
    wrong = rising.page.locator(".field.wrong")
    expect(wrong).to_contain_text("Pressure")
    expect(wrong).to_contain_text("'thirty' is not a number")
    expect(rising.page.locator("#f-stimulus")).to_have_value("thirty")
    expect(rising.page.locator("#f-stimulus")).to_be_focused()
    expect(rising.page.locator("#f-travel")).to_have_value("0.0521")
    shoot("guided-slip")


def test_an_overshoot_is_vented_and_the_rise_made_again(rising: Hands, shoot: Any, console: Any) -> None:
    rising.add("30", "0.052")
    expect(rising.page.locator(".watch")).to_contain_text("Go slowly now")
    shoot("guided-slow")
    rising.add("32", "0.066")
    expect(rising.page.locator(".watch")).to_contain_text("Passed the setting by 1.00 psi")
    shoot("guided-overshoot")
    rising.add("0", "0", "Vented: start the rise again")
    rising.to_the_verdict("0.0595")
    expect(rising.page.locator(".big-state")).to_contain_text("inside")


def test_above_the_maximum_the_screen_says_stop(rising: Hands, shoot: Any) -> None:
    rising.add("44", "0.070")
    expect(rising.page.get_by_role("alert")).to_contain_text("Vent now")
    shoot("guided-stop")
    rising.next("Verdict", "The actuator did see it: stop the stroke here")
    expect(rising.page.locator(".big-state")).to_contain_text("void")
    shoot("guided-void")


def test_an_electric_actuator_is_commanded_in_percent(
    transactional_db: None, page: Page, enter: Any, shoot: Any, console: Any
) -> None:
    bay = electric_bay()
    page.set_viewport_size({"width": 1180, "height": 820})
    hands = Hands(page, lambda name: shoot(f"guided-electric-{name}"))
    hands.stimulus_unit = ""
    enter(bay.technician, "/checks/find/")
    hands.prepare(bay)
    hands.ready(highest="70")
    for percent, inch in (("40", "0"), ("46", "0.012"), ("52", "0.031"), ("57", "0.049")):
        hands.add(percent, inch)
    hands.add("60", "0.0595", "Add as the reading at the setting")
    hands.shoot("rise")
    hands.next("Fall and hold")
    hands.next("Verdict", "To the verdict")
    expect(page.locator(".big-state")).to_contain_text("inside")


def test_the_keyboard_is_enough(rising: Hands) -> None:
    """The pressure box has the focus after each reading, and Enter adds."""
    page = rising.page
    for number, (psi, inch) in enumerate((("22", "0"), ("24", "0.008"), ("26", "0.020")), start=1):
        expect(page.locator("#f-stimulus")).to_be_focused()
        page.keyboard.type(psi)
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        page.keyboard.type(inch)
        page.keyboard.press("Enter")
        expect(page.locator(".readings tbody tr")).to_have_count(number)


def test_the_screens_are_clean_for_assistive_technology(hands: Hands, bay: Bay) -> None:
    found: dict[str, list[str]] = {}

    def look(name: str) -> None:
        if broken := broken_rules(hands.page):
            found[name] = broken

    hands.shots = look
    look("find-empty")
    hands.prepare(bay)
    hands.ready()
    hands.to_the_verdict("0.0880")
    hands.page.get_by_label("Turn the rod, then make the stroke again").check()
    hands.next("Turn the rod")
    look("adjust")
    hands.press("Turned: now the whole stroke again")
    look("refused")
    assert found == {}


def test_targets_are_large_enough_for_gloves(rising: Hands) -> None:
    rising.add("22", "0")
    for target in rising.page.locator("main button:visible, main a.button:visible, main select:visible").all():
        box = target.bounding_box()
        assert box is not None
        assert box["height"] >= 56, target.inner_text()


def test_a_draft_waits_for_its_author(rising: Hands, bay: Bay) -> None:
    assert Draft.objects.get().author == bay.technician
    rising.page.goto(rising.page.url.split("/checks/")[0] + "/checks/find/")
    expect(rising.page.get_by_role("heading", name="Begun and not signed")).to_be_visible()


def test_fitness_is_told_again_when_another_dial_is_chosen(hands: Hands, bay: Bay) -> None:
    blunt = InstrumentFactory(depot=bay.depot, label="Blunt", division=2.0, permissible_error=2.0)
    calibrated(blunt, top=12.7, uncertainty=1.5)
    hands.begin(bay)
    hands.page.get_by_label("Scheduled").check()
    hands.type("odometer", "212000")
    hands.next("Instruments")
    expect(hands.page.locator("#fitness .answer")).to_contain_text("Yes.")
    hands.page.locator("#f-dial").select_option(label="Blunt")
    expect(hands.page.locator("#fitness .answer")).to_contain_text("Not as it stands.")
    hands.press("Next")
    expect(hands.page.get_by_role("alert")).to_contain_text("This set is not fit")
    hands.page.locator("#f-knowing").check()
    hands.next("Cautions, once, in full")


def test_the_screens_are_legible_in_the_dark(rising: Hands, page: Page, bay: Bay, shoot: Any) -> None:
    page.emulate_media(color_scheme="dark")
    rising.rise("0.0595")
    shoot("guided-dark-rise")
    assert broken_rules(page, CONTRAST) == []
    rising.next("Fall and hold")
    rising.next("Verdict", "To the verdict")
    page.get_by_text("The uncertainty budget").click()
    shoot("guided-dark-verdict")
