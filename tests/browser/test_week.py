"""The depot week in a real browser: moved by keyboard and by touch, without scripts too; console empty, axe clean."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import BayPlace, Standing
from checks.services.bay import level_depot
from tests.bay import make_bay
from tests.browser.looking import broken_rules
from tests.charted import look_on_every_screen
from tests.reports.week_units import all_week, due_unit, number_of

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay():
    """A bay with a fortnight's checks, one of them without a day."""
    made = all_week(make_bay(), room=2)
    for days in (-2, 0, 1, 2, 3, 4, 9):
        due_unit(made, days)
    due_unit(made, 1, "outside_left", state=Standing.State.OUTSIDE_HIGH)
    for _ in range(4):
        due_unit(made, 0, "void", state=Standing.State.VOID)
    level_depot(depot=made.depot)
    return made


@pytest.fixture
def unit(bay):
    """A unit without a limit, planned for tomorrow or later."""
    place = BayPlace.objects.filter(latest_on=None, day__gt=timezone.localdate()).order_by("day").first()
    assert place is not None
    return place.turbocharger


def address(bay):
    """Where the week is."""
    return reverse("reports:week", args=[bay.depot.code])


def day_of(unit):
    """The day of a unit's place."""
    return BayPlace.objects.get(turbocharger=unit).day


def test_a_check_moves_by_keyboard_and_the_focus_stays(bay, unit, enter, console):
    page, before = enter(bay.manager, address(bay)), day_of(unit)
    later = page.locator(f"#later-{unit.pk}")
    later.focus()
    page.keyboard.press("Enter")
    page.get_by_role("status").get_by_text("is seen on").wait_for()
    assert day_of(unit) == before + timedelta(days=1)
    assert page.evaluate("document.activeElement.id") == f"later-{unit.pk}"
    page.keyboard.press("Enter")
    page.locator(f"#day-{before + timedelta(days=2)}").locator("..").locator(f"#unit-{unit.pk}").wait_for()
    assert day_of(unit) == before + timedelta(days=2)
    page.locator(f"#undo-{unit.pk}").focus()
    page.keyboard.press("Enter")
    page.get_by_text("has the day that the plan gives it").wait_for()
    assert BayPlace.objects.get(turbocharger=unit).moved_by is None


def test_a_check_moves_by_touch(bay, unit, live_server, browser, signed_in):
    cookie = signed_in(bay.manager).cookies["sessionid"]
    tablet = browser.new_context(has_touch=True, viewport={"width": 820, "height": 1180})
    tablet.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page, before = tablet.new_page(), day_of(unit)
    page.goto(live_server.url + address(bay))
    button = page.locator(f"#later-{unit.pk}")
    size = button.bounding_box()
    assert min(size["width"], size["height"]) >= 56
    button.tap()
    page.get_by_role("status").get_by_text("is seen on").wait_for()
    assert day_of(unit) == before + timedelta(days=1)
    tablet.close()


def test_past_its_limit_the_reason_is_asked_for_and_nothing_typed_is_lost(bay, enter, console):
    limited = BayPlace.objects.filter(latest_on__isnull=False).first().turbocharger
    day = timezone.localdate() + timedelta(days=5)
    page = enter(bay.manager, address(bay))
    page.locator(f"#other-{limited.pk}").click()
    page.locator(f"#day-{limited.pk}").fill(str(day))
    page.locator(f"#move-{limited.pk}").click()
    page.get_by_text("Say why it may wait").wait_for()
    assert page.locator(f"#day-{limited.pk}").input_value() == str(day)
    page.locator(f"#reason-{limited.pk}").fill("Away on a long haul")
    page.locator(f"#move-{limited.pk}").click()
    page.get_by_text(": Away on a long haul").wait_for()
    assert day_of(limited) == day


def test_it_works_without_scripts(bay, unit, live_server, browser, signed_in):
    cookie = signed_in(bay.manager).cookies["sessionid"]
    plain = browser.new_context(java_script_enabled=False)
    plain.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page, before = plain.new_page(), day_of(unit)
    page.goto(live_server.url + address(bay))
    page.locator(f"#later-{unit.pk}").click()
    page.get_by_text(f"{number_of(unit)} is seen on").first.wait_for()
    assert page.url.endswith(f"#unit-{unit.pk}")
    assert day_of(unit) == before + timedelta(days=1)
    plain.close()


@pytest.mark.parametrize("part", ["week", "sheets"])
def test_pages_are_clean_and_fit(bay, enter, shoot, console, part):
    where = {"week": address(bay), "sheets": reverse("reports:week_sheets", args=[bay.depot.code])}
    look_on_every_screen(enter(bay.manager, where[part]), shoot, part)


def test_the_calendar_is_made_on_the_own_page(bay, enter, shoot, console):
    page = enter(bay.viewer, reverse("fleet:me"))
    shoot("me")
    assert broken_rules(page) == []
    page.get_by_role("button", name="Make the address").click()
    assert "/calendar/" in page.get_by_label("Secret address").input_value()
    shoot("feed")
    assert broken_rules(page) == []
