"""The first hour of a technician: a sheet of last month typed in, and a check on the tablet without a network."""

from datetime import timedelta

from playwright.sync_api import Browser, Page, expect

from tests.bay import RISE
from tests.browser.serving.setting_up import PASSWORD, TECHNICIAN
from tests.first_hour import last_month
from tests.tablet import READY
from tests.tapping import Taps

TABLET, PATIENCE_MS = {"width": 800, "height": 1280}, 60_000


def check_on_the_tablet(browser: Browser, register: str) -> None:
    """Sign in, choose units, type in an old sheet, open the app once, and check H01 where there is no network."""
    device = browser.new_context(viewport=TABLET)
    page = device.new_page()
    page.goto(f"{register}/tablet/")
    expect(page.locator(".fresh").first).to_contain_text("fetched once you are signed in")
    page.goto(f"{register}/register/me/")
    page.locator("#id_username").fill(TECHNICIAN)
    page.locator("#id_password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Pressure in").select_option("psi")
    page.get_by_label("Rod travel in").select_option("in")
    page.get_by_role("button", name="Save").click()
    type_in_sheet(page, register)
    page.goto(f"{register}/tablet/")
    expect(page.locator(".fresh").first).to_contain_text("Units as of", timeout=PATIENCE_MS)
    page.evaluate(READY)
    device.set_offline(True)
    page.reload()
    sign_without_a_network(page)
    device.set_offline(False)
    expect(page.locator(".waiting")).to_have_text("Nothing waits", timeout=PATIENCE_MS)
    expect(page.locator("#content")).to_contain_text("received")
    device.close()


def type_in_sheet(page: Page, register: str) -> None:
    """H02 was checked on paper in the last month, the rod hardly moved; a time that is none is refused first."""
    page.goto(register)
    page.get_by_role("link", name="H02").first.click()
    page.get_by_role("link", name="Type in a sheet").click()
    day = last_month().first + timedelta(days=9)
    rows = {"zero": ("0", "0"), "back": ("0", "0"), "setting": ("31", "0.022")}
    rows |= {f"exercise-{i}": ("35", "") for i in (1, 2, 3)}
    rows |= {f"rise-{i}": (str(psi), f"{thou / 2700:.3f}") for i, (psi, thou) in enumerate(RISE, start=1)}
    typed = {"day": str(day), "begun": "25:61", "cautions": "0905", "odometer": "181400", "angle_max": "2"}
    for name, (pressure, travel) in rows.items():
        typed |= {f"found-{name}-p": pressure} | ({f"found-{name}-x": travel} if travel else {})
    for name, text in typed.items():
        page.locator(f"[name={name}]").fill(text)
    page.get_by_role("button", name="Sign the check").click()
    expect(page.get_by_role("alert")).to_contain_text("'25:61' is no time. Write it as 14:05.")
    expect(page.locator("[name=found-setting-x]")).to_have_value("0.022")
    page.locator("[name=begun]").fill("0930")
    page.get_by_role("button", name="Sign the check").click()
    expect(page.locator("main")).to_contain_text("Outside low: 0.02")


def sign_without_a_network(page: Page) -> None:
    """The tablet says at once what the server will say later."""
    page.get_by_label("Unit number or serial number").fill("H01")  # it may not be planned yet, so not to be seen next
    page.get_by_role("link", name="H01").click()
    hands = Taps(page)
    hands.tap("Begin the check")
    hands.at("Reason and meter")
    hands.prepare()
    hands.ready()
    hands.to_the_verdict("0.0595")
    expect(page.locator("#content")).to_contain_text("inside provisional")
    page.get_by_text("Leave the setting alone and sign", exact=True).click()
    hands.tap("Next")
    hands.at("Look it over, then sign")
    hands.tap("Sign the check")
    expect(page.locator(".waiting")).to_have_text("1 check waits to be sent")
