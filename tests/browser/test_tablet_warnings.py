"""The tablet warns at the moment it matters, keeps what happened, and says what to do next."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.models import Assessment, Check, Reading
from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.tapping import Taps, at_the_rise

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def taps(bay: Bay, page: Page, enter: Any, snap: Any) -> Taps:
    """A tablet at the step of the rise."""
    return at_the_rise(bay, page, enter, snap)


def watch(taps: Taps) -> Any:
    return taps.page.locator(".watch")


def test_close_to_the_setting_it_says_go_slowly_while_the_number_is_typed(taps: Taps) -> None:
    """From nine tenths of the setting on, 27.9 of 31 psi (common practice, no source)."""
    expect(watch(taps)).to_contain_text("stop at the setting: 31.00 psi")
    taps.enter("stimulus", "27")
    expect(watch(taps)).to_contain_text("4.00 psi below the setting. Keep rising")
    taps.box("stimulus").fill("")
    taps.enter("stimulus", "28")
    expect(watch(taps)).to_contain_text("Go slowly now: 3.00 psi below the setting")
    taps.box("stimulus").fill("")
    taps.enter("stimulus", "31")
    expect(watch(taps)).to_contain_text("You are at the setting")


def test_an_overshoot_is_kept_and_the_rise_starts_again_after_a_vent(taps: Taps) -> None:
    taps.add("28", "0.035")
    taps.enter("stimulus", "32")
    expect(watch(taps)).to_contain_text("Passed the setting by 1.00 psi")
    taps.shoot("overshoot-typed")
    taps.enter("travel", "0.064")
    taps.act().click()
    expect(taps.act()).to_have_text("Travel")
    expect(watch(taps)).to_contain_text("Vent to zero and rise again")
    taps.shoot("overshoot")
    taps.pair("0", "0")
    expect(taps.act()).to_have_text("Vented: start again")
    taps.act().click()
    expect(watch(taps)).to_contain_text("Raise slowly")
    expect(taps.page.locator(".readings tr.faint")).to_have_count(2)
    taps.page.get_by_role("button", name="Show the readings").click()
    taps.shoot("overshoot-list")
    taps.to_the_verdict("0.0595")
    taps.page.get_by_text("Leave the setting alone and sign", exact=True).click()
    taps.sign()
    check = Check.objects.get()
    phases = list(Reading.objects.filter(stroke__check_made=check).order_by("order").values_list("phase", flat=True))
    assert phases[5:9] == ["rise", "rise", "vent", "rise"]
    assert Assessment.objects.get().state == "inside"


def test_above_the_maximum_it_says_stop_and_the_check_is_signed_as_void(taps: Taps) -> None:
    taps.enter("stimulus", "44")
    expect(watch(taps)).to_contain_text("Stop. 44.00 psi was entered and the maximum is 43.00 psi. Vent now.")
    expect(watch(taps)).to_have_attribute("role", "alert")
    taps.shoot("above-maximum")
    taps.tap("The actuator did see it: keep it and stop")
    taps.at("Verdict")
    expect(taps.page.locator(".big-state")).to_contain_text("void")
    expect(taps.page.locator(".told")).to_contain_text("Do not put the unit back into service")
    taps.shoot("void")
    taps.page.get_by_text("Leave the setting alone and sign it as void").click()
    taps.sign()
    assert Assessment.objects.get().state == "void"
    # Nobody read the dial: what is known is kept, and no travel is made up.
    assert Reading.objects.get(stimulus_typed="44").travel_typed == ""


def test_a_fall_of_the_pressure_asks_for_a_vent(taps: Taps) -> None:
    taps.add("28", "0.035")
    taps.enter("stimulus", "26")
    expect(watch(taps)).not_to_contain_text("fell back")  # a 2 may become a 29
    taps.box("travel").click()
    expect(watch(taps)).to_contain_text("It fell back by 2.00 psi")


def test_a_dial_that_does_not_come_home_is_told_where_it_was_entered(taps: Taps) -> None:
    page = taps.page
    taps.step("Return to zero")
    taps.at("Return to zero")
    taps.box("travel").fill("0.003")
    taps.tap("Next")
    expect(page.get_by_role("alert")).to_contain_text("The dial came back to +0.0030 in; within 0.0010 in is asked.")
    taps.shoot("not-back")
    taps.tap("Next")
    taps.at("The rise")


def test_exercise_that_stayed_too_low_is_told(taps: Taps) -> None:
    page = taps.page
    taps.step("Exercise the actuator")
    taps.tap("Cycle 3, 35 psi: correct it")
    taps.box("stimulus").fill("9")
    taps.act().click()
    expect(page.get_by_role("alert")).to_contain_text("exercised 2 of 3 times; a cycle counts from 15.50 psi")
    taps.shoot("short-exercise")


def test_a_wrong_number_keeps_what_was_typed_beside_its_reason(taps: Taps) -> None:
    taps.box("stimulus").fill("3o")
    taps.box("travel").fill("0.035")
    taps.act().click()
    expect(taps.page.locator("#d-stimulus")).to_contain_text("'3o' is not a number")
    expect(taps.box("stimulus")).to_have_value("3o")
    expect(taps.box("travel")).to_have_value("0.035")
    taps.shoot("wrong-number")


def test_half_a_division_and_the_steps_follow_the_instrument(taps: Taps) -> None:
    """The dial's division is 0.001 in, the gauge's 0.2 psi."""
    keys = taps.page.get_by_role("group", name="Keys for numbers")
    taps.enter("stimulus", "22")
    keys.get_by_role("button", name="Add 0.2 psi, one division").click()
    keys.get_by_role("button", name="Add 0.1 psi, half a division").click()
    expect(taps.box("stimulus")).to_have_value("22.3")
    taps.enter("travel", "0.059")
    keys.get_by_role("button", name="Add 0.0005 in, half a division").click()
    expect(taps.box("travel")).to_have_value("0.0595")
    keys.get_by_role("button", name="Take away 0.001 in, one division").click()
    expect(taps.box("travel")).to_have_value("0.0585")
    taps.page.get_by_role("button", name="Unit of Travel: in. Change it").click()
    expect(taps.box("travel")).to_have_value("0.0585")  # a text is kept as typed
    keys.get_by_role("button", name="Add 1 thou, one division").click()


def test_a_reload_returns_to_the_same_step_with_the_same_keystrokes_and_the_clock_runs_on(taps: Taps) -> None:
    page = taps.page
    taps.enter("stimulus", "22")
    page.reload()
    taps.at("The rise")
    expect(taps.box("stimulus")).to_have_value("22")
    taps.box("stimulus").fill("")
    taps.rise("0.0595")
    taps.tap("Next")
    page.get_by_text("Hold, supply closed").click()
    taps.tap("Supply closed: start the clock")
    expect(page.get_by_role("timer")).to_have_text("0:02", timeout=10_000)
    page.set_viewport_size({"width": 820, "height": 1180})
    page.reload()
    taps.at("Fall and hold")
    expect(page.get_by_role("timer")).not_to_have_text("0:00")
    taps.enter("stimulus", "30.8")
    expect(taps.box("seconds")).not_to_have_value("")
    taps.shoot("hold")
    page.set_viewport_size({"width": 1180, "height": 820})
    expect(taps.box("stimulus")).to_have_value("30.8")
    taps.shoot("hold-landscape")
    taps.box("seconds").focus()
    taps.act().click()
    expect(page.locator(".readings tbody tr")).to_contain_text("hold")


def test_above_the_maximum_in_the_exercise_ends_the_stroke(bay: Bay, page: Page, enter: Any, snap: Any) -> None:
    page.set_viewport_size({"width": 1180, "height": 820})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    taps.prepare()
    taps.pair("0", "0")
    taps.act().click()
    taps.enter("stimulus", "45")
    expect(page.get_by_role("alert")).to_contain_text("Stop. 45.00 psi was entered")
    snap("tablet-exercise-stop")
    taps.tap("The actuator did see it: stop the stroke here")
    taps.at("Verdict")
    expect(page.locator(".big-state")).to_contain_text("void")
