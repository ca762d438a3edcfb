"""A check made in a real browser, by a technician who thinks in psi and inches."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.models import Assessment, Check
from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.browser.looking import layout_faults
from tests.hands import Hands

pytestmark = pytest.mark.django_db(transaction=True)
VIEWS = {"desk": (1280, 800), "portrait": (820, 1180), "landscape": (1180, 820)}


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


def test_a_whole_check_with_the_common_check_values(bay: Bay, page: Page, enter: Any, shoot: Any, console: Any) -> None:
    """31 psi, 0.038, 0.059, 0.080 in, at most 43 psi, reading 0.0595 in: inside (common practice, no source).

    Every step is turned through every screen, and worked on the last.
    """

    def look(name: str) -> None:
        for view, (width, height) in VIEWS.items():
            page.set_viewport_size({"width": width, "height": height})
            assert layout_faults(page) == []
            shoot(f"guided-{view}-{name}")

    hands = Hands(page, look)
    enter(bay.technician, "/checks/find/")
    hands.prepare(bay)
    hands.ready()
    hands.shoot("rise-empty")
    hands.to_the_verdict("0.0595")
    expect(page.locator(".big-state")).to_contain_text("inside")
    expect(page.locator(".told .lead")).to_contain_text("0.0594 ± 0.0013 in")
    page.get_by_label("Leave the setting alone and sign").check()
    hands.next("Look it over, then sign")
    hands.shoot("sign")
    hands.sign()
    check = Check.objects.get()
    expect(page.locator("main")).to_contain_text("0.0594 ± 0.0013 in")
    expect(page.locator("main")).to_contain_text("inside")
    page.goto(page.url.replace(f"/checks/{check.pk}/", f"/units/{bay.turbocharger.pk}/"))
    expect(page.locator("main")).to_contain_text("inside")
    page.get_by_role("link", name="Fleet board").click()
    expect(page.locator("tr", has_text=bay.truck.unit_number)).to_contain_text("inside")


def test_an_adjustment_with_its_as_left_stroke(bay: Bay, page: Page, enter: Any, shoot: Any, console: Any) -> None:
    page.set_viewport_size({"width": 820, "height": 1180})
    hands = Hands(page, lambda name: shoot(f"guided-adjusted-{name}"))
    enter(bay.technician, "/checks/find/")
    hands.prepare(bay)
    hands.ready()
    hands.to_the_verdict("0.0880")
    expect(page.locator(".big-state")).to_contain_text("outside high")
    page.get_by_label("Turn the rod, then make the stroke again").check()
    hands.next("Turn the rod")
    expect(page.locator(".lead")).to_contain_text("1 half turn shorter")
    hands.type("half_turns", "1")
    page.get_by_label("Shorter").check()
    hands.shoot("adjust")
    hands.next("As left: zero both instruments", "Turned: now the whole stroke again")
    hands.ready("as-left-")
    hands.to_the_verdict("0.0600", "as-left-")
    expect(page.locator(".big-state")).to_contain_text("inside")
    hands.next("Look it over, then sign")
    hands.shoot("sign")
    hands.sign()
    states = Assessment.objects.order_by("stroke__moment").values_list("stroke__moment", "state")
    assert list(states) == [("as_found", "outside_high"), ("as_left", "inside")]
    assert Check.objects.get().half_turns == -1
