"""A second factor turned on, used and turned off, in a browser."""

import re
import time

from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice
from playwright.sync_api import Page, expect

from tests.browser.looking import broken_rules
from tests.factories import MembershipFactory

PASSWORD = "marsh-lantern-47"


def clean(page: Page) -> bool:
    return not broken_rules(page)


def give_password(page: Page, address: str) -> None:
    page.goto(f"{address}/accounts/login/?next=/register/me/")
    page.get_by_label("Username").fill("sedge")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def turn_on(page: Page, shoot) -> str:
    """Turn the second factor on and return a recovery code."""
    page.get_by_role("link", name="Second factor").click()
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_role("img", name=re.compile("The key as a square code"))).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("square"))).not_to_have_js_property("naturalWidth", 0)
    shoot("second-factor-key")
    assert clean(page)
    page.get_by_label("Code").fill(f"{totp(TOTPDevice.objects.get().bin_key):06d}")
    page.get_by_role("button", name="Turn it on").click()
    expect(page.get_by_role("heading", name="Your recovery codes")).to_be_visible()
    shoot("recovery-codes")
    assert clean(page)
    return page.locator("li code").first.text_content() or ""


def test_a_second_factor_from_its_key_to_the_next_sign_in(page: Page, live_server, console, shoot) -> None:
    user = MembershipFactory(role="viewer", user__username="sedge").user
    user.set_password(PASSWORD)
    user.save()
    give_password(page, live_server.url)
    recovery = turn_on(page, shoot)
    page.get_by_role("link", name="I have kept them").click()
    page.get_by_role("button", name="Sign out", exact=True).click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    give_password(page, live_server.url)
    expect(page.get_by_role("heading", name="Second code")).to_be_visible()
    shoot("second-step")
    assert clean(page)
    page.get_by_label("Code").fill("000000x")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("This code is wrong")).to_be_visible()
    page.get_by_label("Code").fill(recovery)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("A second code is asked for after your password.")).to_be_visible()
    page.get_by_role("link", name="Second factor").click()
    expect(page.get_by_text("7 of 8 recovery codes are unused")).to_be_visible()
    shoot("second-factor-on")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Turn it off").click()
    expect(page.get_by_text("The second factor is off")).to_be_visible()


def test_a_new_password_is_typed_twice(page: Page, enter, console, shoot) -> None:
    user = MembershipFactory(role="viewer").user
    user.set_password(PASSWORD)
    user.save()
    enter(user, "/register/me/password/")
    page.get_by_label("Present password").fill(PASSWORD)
    page.get_by_label("New password", exact=True).fill("another-lantern-48")
    page.get_by_label("New password once more").fill(f"another-lantern-{time.time_ns()}")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("The two new passwords differ")).to_be_visible()
    shoot("password")
    assert clean(page)
    for label, typed in (("Present password", PASSWORD), ("New password once more", "another-lantern-48")):
        page.get_by_label(label).fill(typed)
    page.get_by_label("New password", exact=True).fill("another-lantern-48")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("You have a new password")).to_be_visible()
