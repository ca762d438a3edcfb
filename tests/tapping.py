"""What a technician does with the tablet's own keys, in a real browser."""

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.bay import RISE, Bay

# Digits have the widest keys; these say what they do instead of what is on them.
NAMED = {".": "Decimal point", "-": "Change the sign"}


class Taps:
    """Taps buttons; gives numbers by the keys of the screen where ``on_screen``, else by a keyboard, which is quicker.

    ``shots`` keeps a picture of each screen where it is given.
    """

    def __init__(self, page: Page, shots: Callable[[str], Any] | None = None, *, on_screen: bool = False) -> None:
        self.page = page
        self.shots = shots
        self.on_screen = on_screen
        self.travel_unit = "in"

    def at(self, heading: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_have_text(heading)

    def shoot(self, name: str) -> None:
        if self.shots:
            self.shots(name)

    def tap(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def step(self, title: str) -> None:
        """Go to a step by the list of steps."""
        self.page.locator(".steps summary").click()
        self.page.get_by_role("navigation", name="Steps of the check").get_by_role("button", name=title).click()
        self.at(title)

    def box(self, name: str) -> Locator:
        return self.page.locator(f"#f-{name}")

    def key(self, text: str) -> None:
        """Tap a number on the keys, into the box that has the cursor."""
        keys = self.page.get_by_role("group", name="Keys for numbers")
        for sign in text.lstrip("-"):
            keys.get_by_role("button", name=NAMED.get(sign, sign), exact=True).click()
        if text.startswith("-"):
            keys.get_by_role("button", name=NAMED["-"], exact=True).click()

    def enter(self, name: str, text: str) -> None:
        """Tap a box, then give its number."""
        self.box(name).click()
        if self.on_screen:
            self.key(text)
        else:
            self.page.keyboard.type(text)
        expect(self.box(name)).to_have_value(text)

    def pair(self, stimulus: str, travel: str) -> None:
        self.enter("stimulus", stimulus)
        self.enter("travel", travel)

    def act(self) -> Locator:
        """The key that enters, whatever it says at the moment."""
        return self.page.locator(".keypad .enter")

    def begin(self, bay: Bay) -> None:
        """From the tablet's first screen to the first step of a check."""
        self.page.goto(self.page.url.split("#")[0] + f"#/unit/{bay.turbocharger.pk}")
        self.tap("Begin the check")
        self.at("Reason and meter")

    def prepare(self) -> None:
        """Reason, instruments, cautions."""
        self.shoot("1-reason-empty")
        self.page.get_by_text("Scheduled", exact=True).click()
        self.enter("odometer", "212000")
        self.shoot("1-reason")
        self.tap("Next")
        self.at("Instruments")
        self.shoot("2-instruments")
        self.tap("Next")
        self.at("Cautions, once, in full")
        self.page.get_by_label("I have read these and will keep to them.").check()
        self.shoot("3-cautions")
        self.tap("I have read them")
        self.at("Zero both instruments")

    def ready(self, prefix: str = "", *, highest: str = "35", cycles: int = 3) -> None:
        """Zero, exercise, return to zero."""
        title = "As left: {}" if prefix else "{}"
        self.pair("0", "0")
        self.shoot(f"{prefix}4-zero")
        self.act().click()
        self.at(self.name(title, "Exercise the actuator"))
        for i in range(cycles):
            self.enter("stimulus", highest)
            if i == 1:
                self.shoot(f"{prefix}5-exercise")
            self.act().click()
        self.at(self.name(title, "Return to zero"))
        self.pair("0", "0")
        self.shoot(f"{prefix}6-zero-return")
        self.act().click()
        self.at(self.name(title, "The rise"))

    @staticmethod
    def name(title: str, heading: str) -> str:
        return title.format(heading.lower() if "As left" in title else heading)

    def add(self, stimulus: str, travel: str) -> None:
        """One more reading, taken by the key that enters."""
        readings = self.page.locator(".readings tbody tr")
        count = readings.count()
        self.pair(stimulus, travel)
        self.act().click()
        expect(readings).to_have_count(count + 1)

    def rise(self, at_setting: str, shot: str = "") -> None:
        """A good rise in psi and inches, to `at_setting` at 31 psi."""
        for i, (psi, thou) in enumerate(RISE):
            self.add(str(psi), f"{thou / 1000:.3f}")
            if shot and i == 3:
                self.enter("stimulus", "29")
                self.shoot(f"{shot}7-rise")
                self.box("stimulus").fill("")
        self.enter("stimulus", "31")
        expect(self.act()).to_have_text("Travel")
        self.enter("travel", at_setting)
        expect(self.act()).to_have_text("Add at the setting")
        self.act().click()
        expect(self.page.get_by_text("The reading at the setting is made.")).to_be_visible()

    def to_the_verdict(self, at_setting: str, prefix: str = "") -> None:
        title = "As left: {}" if prefix else "{}"
        self.rise(at_setting, prefix or "found-")
        self.shoot(f"{prefix}8-rise-made")
        self.tap("Next")
        self.at(self.name(title, "Fall and hold"))
        self.shoot(f"{prefix}9-fall")
        self.tap("To the verdict")
        self.at(self.name(title, "Verdict"))
        self.shoot(f"{prefix}A-verdict")

    def leave_it_and_look_it_over(self) -> None:
        """From the fall through a verdict that asks for no turn to the last look before signing."""
        self.tap("To the verdict")
        self.at("Verdict")
        self.page.get_by_text("Leave the setting alone and sign", exact=True).click()
        self.tap("Next")
        self.at("Look it over, then sign")

    def sign(self) -> None:
        """From the last verdict to the answer of the server."""
        self.tap("Next")
        self.at("Look it over, then sign")
        self.tap("Sign the check")
        expect(self.page.locator("#content")).to_contain_text("received", timeout=20_000)

    def up_to_the_rise(self, bay: Bay) -> None:
        """Everything before the rise, without pictures."""
        shots, self.shots = self.shots, None
        self.begin(bay)
        self.prepare()
        self.ready()
        self.shots = shots


def at_the_rise(bay: Bay, page: Page, enter: Callable[..., Any], snap: Callable[[str], Any]) -> Taps:
    """A tablet in landscape, brought to the step of the rise by the bay's technician."""
    page.set_viewport_size({"width": 1180, "height": 820})
    enter(bay.technician, "/tablet/")
    hands = Taps(page, lambda name: snap(f"tablet-{name}"))
    hands.up_to_the_rise(bay)
    return hands
