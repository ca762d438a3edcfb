"""A whole check by taps on the tablet's own keys, held in either direction: the server keeps what was tapped."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.models import Assessment, Check, Reading
from tests.bay import RISE, Bay
from tests.browser.guided import bay_in_inches
from tests.tapping import Taps

pytestmark = pytest.mark.django_db(transaction=True)
VIEWS = {"landscape": (1180, 820), "portrait": (820, 1180), "phone": (390, 844)}


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.mark.parametrize("view", VIEWS)
def test_a_whole_check_by_taps_is_what_the_server_keeps(
    bay: Bay, page: Page, enter: Any, snap: Any, console: Any, view: str
) -> None:
    """31 psi, 0.038, 0.059, 0.080 in, at most 43 psi, reading 0.0595 in: inside (common practice, no source)."""
    width, height = VIEWS[view]
    page.set_viewport_size({"width": width, "height": height})
    enter(bay.technician, "/tablet/")
    taps = Taps(page, lambda name: snap(f"tablet-{view}-{name}"), on_screen=True)
    taps.begin(bay)
    taps.prepare()
    taps.ready()
    taps.to_the_verdict("0.0595")
    expect(page.locator(".big-state")).to_contain_text("inside")
    page.get_by_text("Leave the setting alone and sign", exact=True).click()
    taps.tap("Next")
    taps.at("Look it over, then sign")
    taps.shoot("B-sign")
    taps.tap("Sign the check")
    expect(page.locator("#content")).to_contain_text("received", timeout=20_000)
    check = Check.objects.get()
    assert (check.odometer_typed, check.source, check.dial, check.half_turns) == ("212000 km", "tablet", bay.dial, None)
    kept = Reading.objects.order_by("order").values_list("phase", "stimulus_typed", "travel_typed")
    assert list(kept) == [
        ("zero", "0", "0"),
        *[("exercise", "35", "")] * 3,
        ("zero_return", "0", "0"),
        *[("rise", str(psi), f"{thou / 1000:.3f}") for psi, thou in RISE],
        ("setting", "31", "0.0595"),
    ]
    assert set(Reading.objects.values_list("stimulus_unit", "travel_unit")) == {("psi", "in"), ("psi", "")}
    assert Assessment.objects.get().state == "inside"
