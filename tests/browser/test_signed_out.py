"""Whoever was signed out in the middle of typing finds it all again after signing in."""

from typing import Any

import pytest
from django.conf import settings
from django.urls import reverse
from playwright.sync_api import Page, expect

from checks.models import Reading
from fleet.models import Complaint
from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.hands import Hands

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "a-gull-on-the-quay"
SAID = "What you typed is here again"


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


def session_ends(page: Page) -> None:
    page.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)


def sign_in(page: Page, user: Any) -> None:
    user.set_password(PASSWORD)
    user.save()
    page.locator("[name=username]").fill(user.username)
    page.locator("[name=password]").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_a_reading_typed_after_the_session_ended_comes_back_after_signing_in(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, reverse("checks:find"))
    hands = Hands(page)
    hands.prepare(bay)
    hands.ready()
    hands.add("22", "0")
    hands.type("stimulus", "24")
    hands.type("travel", "0.0081")
    session_ends(page)
    hands.press("Add reading")
    sign_in(page, bay.technician)
    hands.at("The rise")
    expect(page.get_by_text(SAID)).to_be_visible()
    expect(page.locator("#f-stimulus")).to_have_value("24")
    expect(page.locator("#f-travel")).to_have_value("0.0081")
    hands.press("Add reading")
    expect(page.locator(".readings tbody tr")).to_have_count(2)
    page.reload()
    expect(page.get_by_text(SAID)).to_have_count(0)


def complain(page: Page) -> None:
    page.locator("[name=raised_by]").fill("night driver")
    page.locator("[name=text]").fill("No pull on the hill.")


def test_a_page_of_the_register_comes_back_filled(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, reverse("checks:complaint_file", args=[bay.truck.pk]))
    complain(page)
    session_ends(page)
    page.get_by_role("button", name="Smoke").click()
    sign_in(page, bay.technician)
    expect(page.get_by_text(SAID)).to_be_visible()
    page.get_by_role("button", name="Smoke").click()
    expect(page.get_by_role("heading", name="Smoke, truck")).to_be_visible()
    assert Complaint.objects.values_list("kind", "raised_by", "text").get() == (
        "smoke",
        "night driver",
        "No pull on the hill.",
    )


def test_what_one_person_typed_is_not_handed_to_another(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, reverse("checks:complaint_file", args=[bay.truck.pk]))
    complain(page)
    session_ends(page)
    page.get_by_role("button", name="Smoke").click()
    sign_in(page, bay.manager)
    expect(page.locator("[name=raised_by]")).to_have_value(bay.manager.display_name)
    expect(page.get_by_text(SAID)).to_have_count(0)


def test_a_page_older_than_the_sign_in_says_so_and_comes_back_filled(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, reverse("checks:complaint_file", args=[bay.truck.pk]))
    complain(page)
    page.context.clear_cookies(name=settings.CSRF_COOKIE_NAME)
    page.get_by_role("button", name="Smoke").click()
    expect(page.get_by_role("heading", name="Open the page again")).to_be_visible()
    page.get_by_role("link", name="Back to the page").click()
    expect(page.locator("[name=raised_by]")).to_have_value("night driver")


def test_a_button_pressed_after_the_session_ended_leads_back_to_its_page(bay: Bay, page: Page, enter: Any) -> None:
    address = reverse("reports:unit", args=[bay.turbocharger.pk])
    enter(bay.technician, address)
    session_ends(page)
    page.get_by_role("button", name="Start a check").click()
    sign_in(page, bay.technician)
    page.wait_for_url(f"**{address}")
    assert not Reading.objects.exists()
