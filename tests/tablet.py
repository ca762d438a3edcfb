"""A tablet in a test: a real Chromium that opens the app, loses its network, and signs through the app's own store."""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from django.conf import settings
from django.test import Client
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.bay import Bay

# Puts a check straight into the outbox, as the last screen does when it is signed.
SIGN = """async ({ payload, provisional }) => {
  const { openStore } = await import("/static/checks/tablet/store.js");
  const { newDraft } = await import("/static/checks/tablet/app-begin.js");
  const store = await openStore();
  const sheet = await store.sheet();
  const unit = sheet.units.find((one) => one.turbocharger === payload.turbocharger);
  const draft = { ...newDraft(unit, sheet, "test"), ...payload };
  await store.saveDraft(draft).catch(() => undefined); // signed already, if asked again
  return (await store.sign(draft, { payload, provisional })).key;
}"""
OUTBOX = """async () => {
  const { openStore } = await import("/static/checks/tablet/store.js");
  return (await openStore()).outbox();
}"""
# Nothing that is asked of a page may wait for ever.
IN_TIME = """(asked) => Promise.race([(%s)(asked), new Promise((_, refuse) => {
  setTimeout(() => refuse(new Error("The page did not answer.")), 30000);
})])"""
READY = """async () => {
  const workers = navigator.serviceWorker;
  const inCharge = new Promise((done) => workers.addEventListener("controllerchange", done, { once: true }));
  await workers.ready;
  if (!workers.controller) await inCharge;
}"""
PATIENCE_MS = 30_000


class Tablet:
    """One device: a browser context of its own with one page of the app."""

    def __init__(self, context: BrowserContext, origin: str) -> None:
        self.context = context
        self.origin = origin
        self.page: Page = context.new_page()

    def sign_in(self, user: Any) -> None:
        """Give the device a session of `user`, as the sign-in page does."""
        client = Client()
        client.force_login(user)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        self.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": self.origin}])

    def sign_out(self) -> None:
        """The session ends, the device does not notice."""
        self.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)

    def open(self, user: Any = None, address: str = "") -> Page:
        """Open the app, and wait until it could do without a network."""
        if user is not None:
            self.sign_in(user)
        self.page.goto(f"{self.origin}/tablet/{address}")
        expect(self.page.locator(".fresh").first).to_contain_text("Units as of", timeout=PATIENCE_MS)
        self.ask(READY)
        return self.page

    def ask(self, script: str, said: Any = None) -> Any:
        """What a script in the page answers, in time; again where the page went over to a new version in between."""
        for _ in range(5):
            with suppress(Error):
                return self.page.evaluate(IN_TIME % script, said)
            self.page.wait_for_load_state()
        return self.page.evaluate(IN_TIME % script, said)

    def go(self, address: str) -> None:
        """To another screen of the app."""
        self.page.evaluate("(to) => { location.hash = to; }", address)

    def new_page(self) -> Page:
        """Throw the page away as a crash does, and open another."""
        address = self.page.url
        self.crash()
        self.page = self.context.new_page()
        self.page.goto(address)
        return self.page

    def crash(self) -> None:
        """End the page's process without a word to the page."""
        with suppress(Error):
            self.page.goto("chrome://crash", timeout=5000)
        self.page.close()

    @contextmanager
    def offline(self) -> Iterator[None]:
        """Without a network for a while."""
        self.context.set_offline(True)
        try:
            yield
        finally:
            self.context.set_offline(False)

    def sign(self, bay: Bay, *, provisional: str = "inside", **changes: Any) -> str:
        """Sign a check of the bay's unit; returns its key."""
        payload = bay.submission(key=str(uuid.uuid4()), source="tablet", **changes)
        said = {"payload": payload, "provisional": {"as_found": {"state": provisional}}}
        key: str = self.ask(SIGN, said)
        return key

    def outbox(self) -> list[dict[str, Any]]:
        """Every signed check that the device holds."""
        items: list[dict[str, Any]] = self.ask(OUTBOX)
        return items

    def states(self) -> dict[str, str]:
        """Where each signed check is, by its key."""
        return {item["key"]: item["state"] for item in self.outbox()}

    def send(self) -> None:
        """Press the button on the list of what was signed."""
        self.go("#/outbox")
        self.page.locator("#send").click()

    def expect_waiting(self, words: str) -> None:
        """What the line on top of every screen says."""
        expect(self.page.locator(".waiting")).to_have_text(words, timeout=PATIENCE_MS)
