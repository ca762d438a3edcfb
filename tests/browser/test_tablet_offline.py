"""A tablet without a network: nothing signed or typed is lost, and everything arrives once.

Long because each way of losing something has its test, and all share one tablet and its bay.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, expect

from checks.models import Check, Reading
from checks.selectors.label import label_code
from checks.tablet import shell, sync
from fleet.models import MeterReading
from tests.bay import Bay
from tests.browser.guided import bay_in_inches
from tests.tablet import PATIENCE_MS, Tablet
from tests.tapping import Taps

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def another_tablet(page: Any, browser: Browser, live_server: Any) -> Any:
    """Return a function that gives one more device."""
    made: list[Tablet] = []

    def make() -> Tablet:
        context = browser.new_context(viewport={"width": 1180, "height": 820})
        made.append(Tablet(context, live_server.url))
        return made[-1]

    yield make
    for tablet in made:
        tablet.context.close()


@pytest.fixture
def tablet(another_tablet: Callable[[], Tablet], bay: Bay) -> Tablet:
    one = another_tablet()
    one.open(bay.technician)
    return one


def test_a_whole_check_without_a_network_from_the_first_step_to_the_last(tablet: Tablet, bay: Bay) -> None:
    """In the middle the page is loaded again, and its process is killed while a number is half typed."""
    taps = Taps(tablet.page)
    with tablet.offline():
        taps.begin(bay)
        taps.prepare()
        tablet.page.reload()
        taps.at("Zero both instruments")
        taps.ready()
        taps.add("22", "0")
        taps.enter("stimulus", "2")
        taps = Taps(tablet.new_page())
        taps.at("The rise")
        expect(taps.box("stimulus")).to_have_value("2")
        expect(taps.page.locator(".readings tbody tr")).to_have_count(1)
        taps.box("stimulus").fill("")
        for psi, inch in (("24", "0.008"), ("26", "0.020"), ("28", "0.035"), ("30", "0.052")):
            taps.add(psi, inch)
        taps.pair("31", "0.0595")
        taps.act().click()
        taps.tap("Next")
        taps.leave_it_and_look_it_over()
        taps.page.get_by_role("button", name="Sign the check", exact=True).dblclick()
        tablet.expect_waiting("1 check waits to be sent")
        expect(taps.page.locator("#content")).to_contain_text("on this tablet")
        expect(taps.page.locator("#provisional")).to_contain_text("inside provisional")
        assert Check.objects.count() == 0
    tablet.expect_waiting("Nothing waits")
    expect(taps.page.locator("#verdict")).to_contain_text("conformance probability", timeout=PATIENCE_MS)
    check = Check.objects.get()
    assert (check.source, check.technician, check.made_at_typed) == ("tablet", bay.technician, "")
    assert list(Reading.objects.filter(phase="rise").values_list("stimulus_typed", flat=True)) == [
        "22", "24", "26", "28", "30",
    ]  # fmt: skip


def test_fifty_checks_wait_and_arrive_once_each_with_the_same_values(tablet: Tablet, bay: Bay) -> None:
    with tablet.offline():
        keys = [tablet.sign(bay, travel=f"{50 + i / 2}", note=f"number {i}") for i in range(50)]
        tablet.expect_waiting("50 checks wait to be sent")
    tablet.send()
    expect(tablet.page.locator(".waiting")).to_have_text("Nothing waits", timeout=5 * PATIENCE_MS)
    assert set(tablet.states().values()) == {"received"}
    assert dict(Check.objects.values_list("note", "key")) == {f"number {i}": uuid_of(key) for i, key in enumerate(keys)}
    settings = Reading.objects.filter(phase="setting").values_list("stroke__check_made__note", "travel_typed")
    assert dict(settings) == {f"number {i}": f"{50 + i / 2}" for i in range(50)}


def uuid_of(key: str) -> Any:
    return Check._meta.get_field("key").to_python(key)


def test_a_server_that_fails_in_the_middle_gets_each_check_again_under_its_key(
    tablet: Tablet, bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It fails before, or after it recorded the check: the tablet cannot tell, and the key makes both the same."""
    record, asked = sync.record_check, []

    def failing(**words: Any) -> Check:
        asked.append(words["submission"]["key"])
        if len(asked) == 2:
            raise RuntimeError("before")
        check = record(**words)
        if len(asked) == 3:
            raise RuntimeError("after")
        return check

    monkeypatch.setattr(sync, "record_check", failing)
    with tablet.offline():
        keys = [tablet.sign(bay, note=str(i)) for i in range(4)]
    tablet.expect_waiting("2 checks wait to be sent")
    states = tablet.states()
    assert [states[key] for key in keys] == ["received", "on this tablet", "on this tablet", "received"]
    assert Check.objects.count() == 3
    tablet.send()
    tablet.expect_waiting("Nothing waits")
    assert sorted(Check.objects.values_list("note", flat=True)) == ["0", "1", "2", "3"]
    assert sorted(asked) == sorted([*keys, keys[1], keys[2]])


def test_a_session_that_ended_keeps_the_outbox_and_asks_to_sign_in(tablet: Tablet, bay: Bay) -> None:
    with tablet.offline():
        key = tablet.sign(bay)
        tablet.sign_out()
    tablet.send()
    notice = tablet.page.locator(".notices")
    expect(notice).to_contain_text("You are signed out.", timeout=PATIENCE_MS)
    expect(notice).to_contain_text("Checks stay on this tablet until then and lose nothing.")
    assert tablet.states() == {key: "on this tablet"}
    tablet.page.get_by_role("link", name="Sign in").click()
    expect(tablet.page).to_have_url(f"{tablet.origin}/accounts/login/?next=%2Ftablet%2F")
    tablet.open(bay.technician)
    tablet.expect_waiting("Nothing waits")
    assert Check.objects.get().key == uuid_of(key)


def test_another_persons_checks_stay_theirs(tablet: Tablet, bay: Bay) -> None:
    with tablet.offline():
        key = tablet.sign(bay)
        tablet.sign_out()
    tablet.open(bay.manager)
    expect(tablet.page.locator(".notices")).to_contain_text(
        "1 check of Una Teal waits on this tablet, to be sent when Una Teal signs in here again."
    )
    tablet.send()
    expect(tablet.page.locator("#waiting")).to_contain_text("by Una Teal")
    assert tablet.states() == {key: "on this tablet"}
    assert not Check.objects.exists()
    tablet.open(bay.technician)
    tablet.expect_waiting("Nothing waits")
    assert Check.objects.get().technician == bay.technician


def test_what_the_server_refuses_comes_back_with_everything_typed(tablet: Tablet, bay: Bay) -> None:
    taps = Taps(tablet.page)
    taps.begin(bay)
    with tablet.offline():
        taps.prepare()
        taps.ready()
        # Meanwhile somebody reads the truck's odometer, and reads more than was typed here.
        MeterReading.objects.create(truck=bay.truck, read_at=timezone.now() - timedelta(days=1), odometer_km=250_000)
        taps.to_the_verdict("0.0595")
        taps.page.get_by_text("Leave the setting alone and sign", exact=True).click()
        taps.tap("Next")
        taps.page.locator("textarea").fill("left bay two")
        taps.tap("Sign the check")
        tablet.expect_waiting("1 check waits to be sent")
    tablet.expect_waiting("Nothing waits, 1 needs you")
    expect(tablet.page.locator("#refusal")).to_contain_text("250,000")
    tablet.page.locator("#mend").click()
    taps.at("Look it over, then sign")
    expect(tablet.page.locator("textarea")).to_have_value("left bay two")
    taps.tap("Go to ‘Reason and meter’")
    taps.at("Reason and meter")
    expect(taps.box("odometer")).to_have_value("212000")
    taps.box("odometer").click()
    taps.page.get_by_role("group", name="Keys for numbers").get_by_role("button", name="Clear").click()
    taps.enter("odometer", "252000")
    taps.tap("Next")
    taps.at("Instruments")
    tablet.go(f"#/check/{tablet.outbox()[0]['key']}/sign")
    taps.at("Look it over, then sign")
    taps.tap("Sign the check")
    tablet.expect_waiting("Nothing waits")
    check = Check.objects.get()
    assert (check.odometer_typed, check.note) == ("252000 km", "left bay two")


def test_two_tablets_with_the_same_unit_both_count_and_the_later_is_told(
    tablet: Tablet, another_tablet: Callable[[], Tablet], bay: Bay
) -> None:
    second = another_tablet()
    second.open(bay.manager)
    with tablet.offline(), second.offline():
        tablet.sign(bay, note="first")
        later = second.sign(bay, note="second")
    tablet.send()
    tablet.expect_waiting("Nothing waits")
    second.send()
    second.expect_waiting("Nothing waits")
    second.go(f"#/outbox/{later}")
    if Check.objects.latest("pk").note == "second":
        expect(second.page.locator("#told")).to_contain_text("Una Teal also checked this unit")
        expect(second.page.locator("#told")).to_contain_text("Both are kept")
    assert Check.objects.count() == 2


def test_two_tabs_send_each_check_once_and_share_no_draft(tablet: Tablet, bay: Bay) -> None:
    other = tablet.context.new_page()
    other.goto(f"{tablet.origin}/tablet/")
    Taps(tablet.page).begin(bay)
    address = tablet.page.url
    other.goto(address)
    expect(other.get_by_role("heading", level=1)).to_have_text("This check is open in another tab")
    other.get_by_role("button", name="Work on it here").click()
    expect(other.get_by_role("heading", level=1)).to_have_text("Reason and meter")
    expect(tablet.page.get_by_role("heading", level=1)).to_have_text("This check went on in another tab")
    with tablet.offline():
        for i in range(6):
            tablet.sign(bay, note=str(i))
    expect(other.locator(".waiting")).to_have_text("Nothing waits", timeout=2 * PATIENCE_MS)
    assert Check.objects.count() == 6


def test_a_clock_a_day_ahead_is_set_right_and_what_it_said_is_kept(tablet: Tablet, bay: Bay) -> None:
    said = "2025-03-05T09:30:00+00:00"
    tablet.page.clock.set_system_time(timezone.now() + timedelta(days=1))
    tablet.page.reload()
    expect(tablet.page.locator(".notices")).to_contain_text("The clock of this tablet is 24 hours ahead.")
    key = tablet.sign(bay, made_at=said, cautions_read_at=said)
    tablet.send()
    tablet.expect_waiting("Nothing waits")
    check = Check.objects.get()
    assert check.made_at_typed == said
    assert abs((check.made_at - datetime.fromisoformat("2025-03-04T09:30:00+00:00")).total_seconds()) < 60
    tablet.go(f"#/outbox/{key}")
    expect(tablet.page.locator("#told")).to_contain_text("This tablet's clock is wrong")


FILL = """async () => {
  const { openStore } = await import("/static/checks/tablet/store.js");
  const store = await openStore();
  const found = [];
  for (const size of [400000, 100000, 20000, 2000, 200]) {
    for (let i = 0; i < 40; i += 1) {
      const bytes = crypto.getRandomValues(new Uint8Array(Math.min(size, 65536)));
      const blob = new Blob(Array(Math.ceil(size / 65536)).fill(bytes));
      try {
        const { key } = await store.addPhoto({ check: "gone", what: "dial", blob });
        await store.changePhoto(key, { state: "received" });
      } catch (error) {
        found.push(error.name);
        break;
      }
    }
  }
  return [...new Set(found)];
}"""


def test_a_full_storage_is_told_and_room_is_made_with_nothing_lost(
    another_tablet: Callable[[], Tablet], bay: Bay
) -> None:
    tablet = another_tablet()
    tablet.page.goto(f"{tablet.origin}/healthz")
    cdp = tablet.context.new_cdp_session(tablet.page)
    cdp.send("Storage.overrideQuotaForOrigin", {"origin": tablet.origin, "quotaSize": 4_000_000})
    tablet.open(bay.technician)
    taps = Taps(tablet.page)
    taps.begin(bay)
    taps.page.get_by_text("Scheduled", exact=True).click()
    assert tablet.page.evaluate(FILL) == ["QuotaExceededError"]
    taps.enter("odometer", "212000")
    notice = tablet.page.locator(".notices")
    expect(notice).to_contain_text("The storage of this tablet is full.", timeout=PATIENCE_MS)
    notice.get_by_role("button", name="Free what the server has").click()
    expect(notice).not_to_contain_text("storage", timeout=PATIENCE_MS)
    tablet.page.reload()
    expect(taps.box("odometer")).to_have_value("212000")


def test_what_finds_no_room_at_all_stays_on_the_screen_until_there_is_some(tablet: Tablet, bay: Bay) -> None:
    taps = Taps(tablet.page)
    taps.begin(bay)
    tablet.page.evaluate("""() => {
      window.put = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = () => { throw new DOMException("", "QuotaExceededError"); };
    }""")
    taps.enter("odometer", "212000")
    notice = tablet.page.locator(".notices")
    expect(notice).to_contain_text("is on the screen and not kept", timeout=PATIENCE_MS)
    tablet.page.evaluate("() => { IDBObjectStore.prototype.put = window.put; }")
    notice.get_by_role("button", name="Try again").click()
    expect(notice).not_to_contain_text("storage", timeout=PATIENCE_MS)
    tablet.page.reload()
    expect(taps.box("odometer")).to_have_value("212000")


def test_a_new_version_waits_until_no_check_is_under_way(
    tablet: Tablet, bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    version = "() => document.documentElement.dataset.release"
    old = tablet.page.evaluate(version)
    Taps(tablet.page).begin(bay)
    monkeypatch.setattr(shell, "release", lambda: "newer")
    tablet.page.evaluate("async () => (await navigator.serviceWorker.getRegistration()).update()")
    tablet.go("#/")
    expect(tablet.page.locator(".notices")).to_contain_text(
        "It is used once no check is under way", timeout=PATIENCE_MS
    )
    tablet.page.locator("#begun a").click()
    Taps(tablet.page).at("Reason and meter")
    expect(tablet.page.locator(".notices")).to_be_empty()  # the keys need the room
    tablet.page.reload()
    Taps(tablet.page).at("Reason and meter")
    assert tablet.page.evaluate(version) == old
    # Even when every page was closed, which lets the new worker in, the check goes on where it began.
    address = tablet.page.url
    tablet.page.close()
    tablet.page = tablet.context.new_page()
    tablet.page.goto(address)
    Taps(tablet.page).at("Reason and meter")
    assert tablet.page.evaluate(version) == old
    tablet.page.get_by_text("Discard this check").click()
    tablet.page.get_by_role("button", name="Discard it").click()
    expect(tablet.page.locator('html[data-release="newer"]')).to_be_attached(timeout=PATIENCE_MS)


def test_without_a_network_a_label_opens_its_unit(tablet: Tablet, bay: Bay) -> None:
    with tablet.offline():
        tablet.page.goto(f"{tablet.origin}/tablet/t/{label_code(bay.turbocharger)}/")
        expect(tablet.page.get_by_role("heading", level=1)).to_have_text(bay.truck.unit_number)
        expect(tablet.page.get_by_role("button", name="Begin the check")).to_be_visible()


def test_the_caches_hold_the_app_alone(tablet: Tablet) -> None:
    tablet.page.goto(f"{tablet.origin}/")
    tablet.page.goto(f"{tablet.origin}/tablet/")
    tablet.page.evaluate("async () => { await navigator.serviceWorker.ready; }")
    kept = tablet.page.evaluate("""async () => {
      const names = await caches.keys();
      const all = await Promise.all(names.map(async (name) => (await (await caches.open(name)).keys())));
      return all.flat().map((request) => new URL(request.url).pathname);
    }""")
    beside = [path for path in kept if not path.startswith("/static/")]
    assert sorted(beside) == ["/tablet/", "/tablet/app.webmanifest"]
    # The page itself bears nobody's name.
    assert "Teal" not in tablet.page.evaluate("async () => (await (await caches.match('/tablet/')).text())")
