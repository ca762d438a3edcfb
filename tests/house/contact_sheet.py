"""Every page of the demonstration on every screen: pictures to look through, and a table of what is wrong with them.

    VAR_DIR=... DATABASE_URL=... python tests/house/contact_sheet.py /tmp/sheet [--only board,unit] [--sizes phone]

Serves the database of the environment from the code as it stands, or opens --server, which must serve the same one.
Load the demonstration into it first. Where a page needs a draft, a token or the like, one is added to it.
Ends with 1 when anything is wrong.
"""

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
# Static files straight from the source.
os.environ |= {"DJANGO_SETTINGS_MODULE": "fleet.settings", "DEBUG": "1", "LOG_LEVEL": "ERROR"}
# Playwright runs an event loop in the thread that asks the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.core.wsgi import get_wsgi_application  # noqa: E402
from django.db import connections  # noqa: E402
from django.test import Client  # noqa: E402
from playwright.sync_api import Browser, BrowserContext, Error, Page, sync_playwright  # noqa: E402

from tests.browser.looking import ON_PAPER, TARGET, TARGET_HAND, barriers, draw_charts, layout_faults  # noqa: E402
from tests.chromium import CHROMIUM  # noqa: E402
from tests.house.demo_world import DemoWorld  # noqa: E402
from tests.house.opened_pages import FOR_STRANGERS, PAGES, address_of, opener  # noqa: E402
from tests.house.sheet_index import write_index  # noqa: E402

IN_HAND = "body.guided"
# A4 lying, within its margins.
BROAD = 1016


@dataclass(frozen=True)
class Size:
    """One screen, or a sheet of paper. `axe` names the theme that the rules are asked in."""

    name: str
    width: int
    height: int
    dark: bool = False
    paper: bool = False
    scale: int = 1
    tablet: bool = False
    axe: str = ""


SIZES = (
    Size("desktop", 1280, 900, axe="light"),
    Size("upright", 800, 1280, tablet=True),
    Size("wide", 1280, 800, tablet=True),
    Size("phone", 390, 844),
    Size("dark", 1280, 900, dark=True, axe="dark"),
    Size("dark-phone", 390, 844, dark=True),
    # A4 within the margins of the print rules.
    Size("print", 688, 1000, paper=True),
    Size("zoom", 640, 450, scale=2),
)


@contextmanager
def served() -> Iterator[str]:
    """The address of this very code on a free port, in a thread of this process."""
    from threading import Thread
    from wsgiref.simple_server import WSGIRequestHandler

    from django.core.servers.basehttp import ThreadedWSGIServer

    class Silent(WSGIRequestHandler):
        def log_message(self, *said: Any) -> None:
            """Requests are of no interest here."""

    server = ThreadedWSGIServer(("127.0.0.1", 0), Silent)
    server.set_app(get_wsgi_application())
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()


class Walker:
    """Opens each page as whoever may do most there, once for each size, and takes a picture."""

    def __init__(self, browser: Browser, origin: str, world: DemoWorld, folder: Path) -> None:
        self.browser, self.origin, self.world, self.folder = browser, origin, world, folder
        self.faults: list[tuple[str, str, str]] = []
        self.heard: list[str] = []

    def walk(self, names: list[str], sizes: list[Size]) -> None:
        """Go through all pages at one size after the other."""
        for size in sizes:
            for who in sorted({self._who(name) for name in names}):
                with self._screen(size, who) as page:
                    for name in (one for one in names if self._who(one) == who):
                        for fault in self._look(page, name, size):
                            self.faults.append((name, size.name, fault))
                            print(f"{name:<34} {size.name:<11} {fault}", flush=True)
            connections.close_all()

    def _who(self, name: str) -> str:
        return "" if name in FOR_STRANGERS else opener(name)

    @contextmanager
    def _screen(self, size: Size, who: str) -> Iterator[Page]:
        context: BrowserContext = self.browser.new_context(
            viewport={"width": size.width, "height": size.height},
            device_scale_factor=size.scale,
            color_scheme="dark" if size.dark else "light",
            reduced_motion="reduce",
        )
        if who:
            client = Client()
            client.force_login(getattr(self.world, who))
            kept = client.cookies[settings.SESSION_COOKIE_NAME]
            context.add_cookies([{"name": kept.key, "value": kept.value, "url": self.origin}])
        page = context.new_page()
        page.on(
            "console",
            lambda said: (
                self.heard.append(f"{said.text} {said.location['url']}") if said.type in {"error", "warning"} else None
            ),
        )
        page.on("pageerror", lambda error: self.heard.append(str(error)))
        if size.paper:
            page.emulate_media(media="print")
        yield page
        context.close()

    def _look(self, page: Page, name: str, size: Size) -> list[str]:
        self.heard.clear()
        try:
            answer = page.goto(self.origin + address_of(name, self.world))
        except (LookupError, Error) as problem:
            return [f"not opened: {problem}"]
        if answer is None or answer.status != 200:
            return [f"not opened: {answer and answer.status}"]
        draw_charts(page)
        if size.paper:  # the dialog, which tells the page, is not opened for a picture
            page.evaluate("dispatchEvent(new Event('beforeprint'))")
            broad = page.evaluate("getComputedStyle(document.body).page") == "broad"
            page.set_viewport_size({"width": BROAD if broad else size.width, "height": size.height})
        in_hand = size.tablet and page.locator(IN_HAND).count() > 0
        found = layout_faults(page, least=TARGET_HAND if in_hand else TARGET, sideways=size.axe != "")
        if size.paper:
            found = [fault for fault in found if fault.startswith(ON_PAPER)]
        if size.axe:
            found += barriers(page, size.axe)
        path = self.folder / name.replace(":", "-") / f"{size.name}.png"
        path.parent.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=str(path), full_page=True, caret="initial")
        return found + [f"console: {said}" for said in self.heard]


def asked() -> argparse.Namespace:
    """What was typed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, help="where the pictures go, outside the repository")
    parser.add_argument("--only", default="", help="parts of the names of pages, with commas")
    parser.add_argument("--sizes", default="", help=", ".join(size.name for size in SIZES))
    parser.add_argument("--server", default="", help="the address of a server with the same database")
    typed = parser.parse_args()
    if typed.folder.resolve().is_relative_to(ROOT):
        parser.error("Choose a folder outside the repository.")
    return typed


def main() -> int:
    """Walk, write the index, print the table."""
    typed = asked()
    parts, wanted = [one for one in typed.only.split(",") if one], [one for one in typed.sizes.split(",") if one]
    names = [name for name in (*FOR_STRANGERS, *PAGES) if not parts or any(part in name for part in parts)]
    sizes = [size for size in SIZES if not wanted or size.name in wanted]
    with sync_playwright() as playwright, served() as own:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        walker = Walker(browser, typed.server or own, DemoWorld(), typed.folder)
        walker.walk(names, sizes)
        browser.close()
    write_index(typed.folder, names, [size.name for size in SIZES], walker.faults)
    print(f"{len(names)} pages, {len(sizes)} sizes, {len(walker.faults)} faults: {typed.folder / 'index.html'}")
    return 1 if walker.faults else 0


if __name__ == "__main__":
    sys.exit(main())
