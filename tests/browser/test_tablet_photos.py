"""Photographs taken on a tablet: made smaller there, kept without a network, sent once after their check."""

import io
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, expect

from checks.models import Check, CheckPhoto
from checks.pages import photo as photo_page
from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.browser.looking import broken_rules
from tests.tablet import PATIENCE_MS, Tablet
from tests.tapping import Taps

pytestmark = pytest.mark.django_db(transaction=True)
PHOTOS = """async () => {
  const { openStore } = await import("/static/checks/tablet/store.js");
  return (await (await openStore()).photos()).map(({ what, state, blob }) => ({ what, state, size: blob.size }));
}"""


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def tablet(page: Any, browser: Browser, live_server: Any, bay: Bay) -> Any:
    context = browser.new_context(viewport={"width": 1180, "height": 820})
    one = Tablet(context, live_server.url)
    one.open(bay.technician)
    yield one
    context.close()


def camera(size: tuple[int, int] = (4000, 3000)) -> dict[str, Any]:
    """A file as a tablet's camera makes it, its left half dark."""
    picture = Image.new("RGB", size, (210, 205, 190))
    picture.paste((40, 44, 50), (0, 0, size[0] // 2, size[1]))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=95)
    return {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def to_the_signature(taps: Taps, bay: Bay) -> None:
    taps.begin(bay)
    taps.prepare()
    taps.ready()
    taps.rise("0.0595")
    taps.tap("Next")
    taps.leave_it_and_look_it_over()


def test_a_photograph_waits_with_its_check_and_follows_it(tablet: Tablet, bay: Bay) -> None:
    taps, page = Taps(tablet.page), tablet.page
    with tablet.offline():
        to_the_signature(taps, bay)
        page.set_input_files("#photo-dial", camera())
        expect(page.locator(".photos li")).to_have_count(1)
        page.set_input_files("#photo-meter", camera((800, 600)))
        expect(page.locator(".photos li")).to_have_count(2)
        page.reload()
        expect(page.locator(".photos canvas")).to_have_count(2)
        assert broken_rules(page) == []
        page.get_by_role("button", name="Sign the check", exact=True).click()
        tablet.expect_waiting("1 check waits to be sent")
        assert all(0 < one["size"] < 500_000 for one in page.evaluate(PHOTOS))
    tablet.expect_waiting("Nothing waits")
    expect(tablet.page.locator("#verdict")).to_contain_text("inside", timeout=PATIENCE_MS)
    arrived(tablet, 2)
    expect(tablet.page.locator(".photos")).to_contain_text("Gauge or meter: received")
    photos = Check.objects.get().photos.order_by("what")
    assert [(row.what, row.width, row.height) for row in photos] == [("dial", 1600, 1200), ("meter", 800, 600)]
    assert {row.added_by for row in photos} == {bay.technician}


def test_a_photograph_is_sent_again_until_it_is_there_and_is_there_once(
    tablet: Tablet, bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The server fails after it kept the photograph: the tablet cannot tell, and the key makes both the same."""
    add, asked = photo_page.add_photo, []

    def failing(**words: Any) -> CheckPhoto:
        kept = add(**words)
        asked.append(words["key"])
        if len(asked) == 1:
            raise RuntimeError("after")
        return kept

    monkeypatch.setattr(photo_page, "add_photo", failing)
    with tablet.offline():
        to_the_signature(Taps(tablet.page), bay)
        tablet.page.set_input_files("#photo-other", camera((640, 480)))
        expect(tablet.page.locator(".photos li")).to_have_count(1)
        tablet.page.get_by_role("button", name="Sign the check", exact=True).click()
        tablet.expect_waiting("1 check waits to be sent")
        tablet.page.wait_for_url("**/tablet/#/outbox/*")
    tablet.send()
    tablet.send()
    arrived(tablet, 1)
    assert len(asked) == 2
    assert len(set(asked)) == CheckPhoto.objects.count() == 1


def test_what_is_no_picture_is_told_and_one_taken_by_mistake_is_removed(tablet: Tablet, bay: Bay) -> None:
    page = tablet.page
    to_the_signature(Taps(page), bay)
    page.set_input_files("#photo-dial", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"<svg onload=alert(1)>"})
    expect(page.locator(".photos [role=status]")).to_contain_text("no picture that can be read here")
    page.set_input_files("#photo-dial", camera((640, 480)))
    expect(page.locator(".photos li")).to_have_count(1)
    page.locator(".photos").get_by_role("button", name="Remove").click()
    expect(page.locator(".photos li")).to_have_count(0)


def arrived(tablet: Tablet, count: int) -> None:
    """Wait until the server has so many photographs and the tablet knows it."""
    for _ in range(60):
        if CheckPhoto.objects.count() == count and {one["state"] for one in tablet.page.evaluate(PHOTOS)} == {
            "received"
        }:
            return
        tablet.page.wait_for_timeout(500)
    raise AssertionError(f"{CheckPhoto.objects.count()} of {count} photographs arrived.")
