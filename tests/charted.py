"""A page with a chart, looked at in a real browser: drawn, without barriers, and no wider than any screen."""

from collections.abc import Callable
from typing import Any

from axe_playwright_python.sync_playwright import Axe

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
SIZES = {"desk": (1440, 900), "wide tablet": (1180, 820), "upright tablet": (820, 1180), "phone": (390, 844)}


def drawn(page: Any, figure: str) -> None:
    """Wait until the chart is there."""
    page.locator(f"[data-figure={figure}]").scroll_into_view_if_needed()
    page.locator(f"[data-figure={figure}][data-drawn]").wait_for()


def look_on_every_screen(page: Any, shoot: Callable[[str], Any], name: str) -> None:
    """Assert that the page is clean in both themes with all folds open, and fits every screen; keep its pictures."""
    for details in page.locator("details").all():
        details.evaluate("(element) => { element.open = true; }")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        page.wait_for_timeout(400)
        found = Axe().run(page, options=RULES).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found] == []
    for size, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        for _ in range(20):  # a chart takes its new size a moment later
            wide = page.evaluate("document.documentElement.scrollWidth")
            if wide <= width:
                break
            page.wait_for_timeout(200)
        assert wide <= width
        shoot(f"{name}-{size}")
