"""Sign checks on tablets whose network comes and goes, and count what arrived.

    python tests/load/tablet_sessions.py [--sessions 200] [--seed 1] [--tapped 10]

Each session signs one to three checks on one of a few devices while, drawn from the seed, the network is cut and comes
back, the page is loaded again or its process killed, 'sign' is tapped twice, a second tab looks on, and the server
fails before or after it recorded a check. One session in `--tapped` goes through every screen by taps. At the end every
signed check must stand in the register exactly once with the values that were signed.
"""

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
import urllib.request
from contextlib import suppress
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.ports import free_port

DEVICES = 8
PATIENCE_S = 120
TWICE = """async ({ payload, provisional }) => {
  const { openStore } = await import("/static/checks/tablet/store.js");
  const { newDraft } = await import("/static/checks/tablet/app-begin.js");
  const store = await openStore();
  const sheet = await store.sheet();
  const unit = sheet.units.find((one) => one.turbocharger === payload.turbocharger);
  const draft = { ...newDraft(unit, sheet, "load"), ...payload };
  await store.saveDraft(draft).catch(() => undefined); // signed already, if asked again
  const taps = [store.sign(draft, { payload, provisional }), store.sign(draft, { payload, provisional })];
  return (await Promise.all(taps)).map((item) => item.key);
}"""


def prepare(folder: str, seed: int) -> None:
    """Set the environment that this process and the server share, and make the register."""
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/register.sqlite3")
    os.environ |= {
        "DEBUG": "1", "LOCAL": "1", "VAR_DIR": folder, "LOG_LEVEL": "CRITICAL", "CUT_SEED": str(seed),
        "DJANGO_SETTINGS_MODULE": "tests.load.cutting.settings", "PYTHONPATH": str(ROOT),
        "DJANGO_ALLOW_ASYNC_UNSAFE": "1",
    }  # fmt: skip
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)


def serve() -> tuple[subprocess.Popen[bytes], str]:
    """Start the server on a free port; returns it with its address."""
    port = free_port()
    command = [sys.executable, str(ROOT / "manage.py"), "runserver", "--noreload", f"127.0.0.1:{port}"]
    server = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    origin = f"http://localhost:{port}"
    for _ in range(240):
        try:
            urllib.request.urlopen(f"{origin}/healthz", timeout=5)
            return server, origin
        except OSError:
            time.sleep(0.25)
    raise SystemExit("FAILED: the server did not start.")


class Session:
    """One technician's while at one device."""

    def __init__(self, tablet: Any, bay: Any, chance: random.Random) -> None:
        self.tablet, self.bay, self.chance = tablet, bay, chance
        self.signed: dict[str, str] = {}

    def run(self, number: int, tapped: bool) -> dict[str, str]:
        """Sign, disturb, send; returns the travel signed by key."""
        self.tablet.open(self.bay.technician)
        for _ in range(1 if tapped else self.chance.randint(1, 3)):
            self.disturb()
            if tapped:
                self.tap(number)
            else:
                self.sign(number)
        self.disturb()
        self.send()
        return self.signed

    def sign(self, number: int) -> None:
        travel = f"{self.chance.uniform(30, 90):.1f}"
        payload = self.bay.submission(travel=travel, source="tablet", note=f"session {number}")
        keys = self.tablet.ask(TWICE, {"payload": payload, "provisional": {}})
        assert set(keys) == {payload["key"]}
        self.signed[payload["key"]] = travel

    def tap(self, number: int) -> None:
        from tests.tapping import Taps

        thou = self.chance.randint(530, 700)
        taps = Taps(self.tablet.page)
        taps.begin(self.bay)
        taps.prepare()
        taps.ready()
        if self.chance.random() < 0.5:
            self.tablet.page.reload()
            taps.at("The rise")
        taps.to_the_verdict(f"0.0{thou}")
        taps.page.get_by_text("Leave the setting alone and sign", exact=True).click()
        taps.tap("Next")
        taps.at("Look it over, then sign")
        taps.page.get_by_role("button", name="Sign the check", exact=True).dblclick()
        self.tablet.page.wait_for_url("**/tablet/#/outbox/*")
        self.signed[self.tablet.page.url.rsplit("/", 1)[1]] = f"0.0{thou}"

    def disturb(self) -> None:
        """Up to three things that happen in a yard."""
        for _ in range(self.chance.randint(0, 3)):
            getattr(self, self.chance.choice(["cut", "join", "reload", "kill", "look_on", "wait"]))()

    def cut(self) -> None:
        self.tablet.context.set_offline(True)

    def join(self) -> None:
        self.tablet.context.set_offline(False)

    def reload(self) -> None:
        from playwright.sync_api import Error

        with suppress(Error):  # the app may be loading itself again, over to a new version
            self.tablet.page.reload()
        self.tablet.page.wait_for_load_state()

    def kill(self) -> None:
        self.tablet.new_page()
        self.tablet.page.locator(".waiting:not(:empty)").wait_for()

    def look_on(self) -> None:
        other = self.tablet.context.new_page()
        other.goto(f"{self.tablet.origin}/tablet/#/outbox")
        other.wait_for_timeout(self.chance.randint(0, 600))
        other.close()

    def wait(self) -> None:
        self.tablet.page.wait_for_timeout(self.chance.randint(0, 800))

    def send(self) -> None:
        """With the network back, until the tablet says that nothing waits."""
        self.join()
        end = time.monotonic() + PATIENCE_S
        while any(state != "received" for state in self.tablet.states().values()):
            if time.monotonic() > end:
                return
            self.tablet.send()
            self.tablet.page.wait_for_timeout(300)


def count(signed: dict[str, str]) -> tuple[int, int, int, int]:
    """Received as signed, doubled, lost, and received with other values."""
    from checks.models import Check, Reading

    kept = [str(key) for key in Check.objects.values_list("key", flat=True)]
    settings = Reading.objects.filter(phase="setting", stroke__moment="as_found")
    travels = {str(key): text for key, text in settings.values_list("stroke__check_made__key", "travel_typed")}
    received = sum(travels.get(key) == travel for key, travel in signed.items())
    lost = sum(key not in travels for key in signed)
    return received, len(kept) - len(set(kept) & set(signed)), lost, len(signed) - received - lost


def run(sessions: int, seed: int, tapped: int, origin: str) -> int:
    """Hold the sessions; return 0 when nothing was lost, doubled or changed."""
    from playwright.sync_api import sync_playwright

    from tests.browser.guided import bay_in_inches
    from tests.chromium import CHROMIUM
    from tests.tablet import Tablet

    chance, signed, began = random.Random(seed), dict[str, str](), time.monotonic()
    bays = [bay_in_inches() for _ in range(DEVICES)]
    with sync_playwright() as player:
        arguments = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
        browser = player.chromium.launch(executable_path=CHROMIUM, args=arguments)
        devices = [Tablet(browser.new_context(viewport={"width": 1180, "height": 820}), origin) for _ in bays]
        for number in range(sessions):
            at = chance.randrange(DEVICES)
            session = Session(devices[at], bays[at], chance)
            signed |= session.run(number, bool(tapped) and number % tapped == tapped - 1)
            if (number + 1) % 10 == 0:
                print(
                    f"{number + 1} sessions, {len(signed)} checks signed, {time.monotonic() - began:.0f} s", flush=True
                )
        browser.close()
    received, doubled, lost, changed = count(signed)
    print(f"seed {seed}: {sessions} sessions, sent = {len(signed)}, received = {received}, doubled = {doubled}, "
          f"lost = {lost}, changed = {changed}")  # fmt: skip
    return 0 if received == len(signed) and not doubled else 1


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--sessions", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--tapped", type=int, default=10, help="one session in so many is tapped through; 0 for none")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="register-tablets-") as folder:
        prepare(folder, options.seed)
        server, origin = serve()
        try:
            return run(options.sessions, options.seed, options.tapped, origin)
        finally:
            server.terminate()
            server.wait()


if __name__ == "__main__":
    sys.exit(main())
