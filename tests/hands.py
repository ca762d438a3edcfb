"""What a technician does with the screens of the guided check, in a real browser."""

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect

from tests.bay import RISE, Bay

SIGNED = re.compile(r"/checks/\d+/$")
HEADINGS = {
    "": ("Exercise the actuator", "Return to zero", "The rise"),
    "as-left-": ("As left: exercise the actuator", "As left: return to zero", "As left: the rise"),
}


class Hands:
    """Fills boxes and presses buttons; ``shots`` keeps a picture of each screen where it is given."""

    def __init__(self, page: Page, shots: Callable[[str], Any] | None = None) -> None:
        self.page = page
        self.shots = shots
        # An electric actuator is read in % alone, where no unit is chosen.
        self.stimulus_unit, self.travel_unit = "psi", "in"

    def type(self, name: str, text: str, unit: str = "") -> None:
        self.page.locator(f"#f-{name}").fill(text)
        if unit:
            self.page.locator(f"select[name={name}_unit]").select_option(unit)

    def press(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def shoot(self, name: str) -> None:
        if self.shots:
            self.shots(name)

    def at(self, heading: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_have_text(heading)

    def next(self, heading: str, word: str = "Next") -> None:
        self.press(word)
        self.at(heading)

    def begin(self, bay: Bay) -> None:
        self.page.locator("#q").fill(bay.truck.unit_number)
        self.press("Find")
        self.shoot("find")
        self.page.get_by_role("button", name="Begin").click()
        self.at("Reason and meter")

    def prepare(self, bay: Bay) -> None:
        """Reason, instruments, cautions."""
        self.begin(bay)
        self.page.get_by_label("Scheduled").check()
        self.type("odometer", "212000")
        self.shoot("reason")
        self.next("Instruments")
        self.shoot("instruments")
        self.next("Cautions, once, in full")
        self.page.locator("#f-read").check()
        self.shoot("cautions")
        self.next("Zero both instruments", "I have read them")

    def ready(self, prefix: str = "", *, highest: str = "35") -> None:
        """Zero, exercise, return to zero."""
        exercise, back, rise = HEADINGS[prefix]
        self.type("stimulus", "0", self.stimulus_unit)
        self.type("travel", "0", self.travel_unit)
        self.shoot(f"{prefix}zero")
        self.next(exercise)
        for i in range(3):
            self.type(f"stimulus{i}", highest)
        self.shoot(f"{prefix}exercise")
        self.next(back)
        self.type("stimulus", "0")
        self.type("travel", "0")
        self.shoot(f"{prefix}zero-return")
        self.next(rise)

    def add(self, stimulus: str, travel: str, button: str = "Add reading") -> None:
        """One more reading, which the list then shows."""
        rows = self.page.locator(".readings tbody tr")
        count = rows.count()
        self.type("stimulus", stimulus)
        self.type("travel", travel)
        self.press(button)
        expect(rows).to_have_count(count + 1)

    def rise(self, at_setting: str) -> None:
        """A good rise in psi and inches, to `at_setting` at 31 psi."""
        for psi, thou in RISE:
            self.add(str(psi), f"{thou / 1000:.4f}")
        self.add("31", at_setting, "Add as the reading at the setting")

    def to_the_verdict(self, at_setting: str, prefix: str = "") -> None:
        self.rise(at_setting)
        self.shoot(f"{prefix}rise")
        self.next("As left: fall and hold" if prefix else "Fall and hold")
        self.shoot(f"{prefix}fall")
        self.next("As left: verdict" if prefix else "Verdict", "To the verdict")
        self.shoot(f"{prefix}verdict")

    def sign(self) -> None:
        self.press("Sign the check")
        self.page.wait_for_url(SIGNED)
