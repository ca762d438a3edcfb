"""What a page is looked at for: the axe rules in both themes, and faults of layout at one size."""

from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

STANDARD: dict[str, Any] = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
# In the dark only colours differ.
CONTRAST: dict[str, Any] = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
THEMES = {"light": STANDARD, "dark": CONTRAST}
FAULTS = (Path(__file__).parent / "faults.js").read_text()
# What a library draws within our page is not ours to mend.
BORROWED = {"exclude": [["#interface"]]}
RUN_AXE = "async ([part, options]) => (await axe.run(part, options)).violations"
TWO_FRAMES = "() => new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))"
# Charts are drawn when they come near; one within a closed fold is not.
DRAW = """async (patience) => {
  for (const chart of document.querySelectorAll('[data-figure]')) {
    for (let waited = 0; chart.checkVisibility() && !chart.dataset.drawn && waited < patience; waited += 50) {
      chart.scrollIntoView();
      await new Promise((soon) => setTimeout(soon, 50));
    }
  }
  scrollTo(0, 0);
}"""
# Smallest height of a target: in the rules for everybody, and in gloves.
TARGET, TARGET_HAND = 24, 56
# A chart takes its new size or colours a moment later, more so on a busy machine.
PATIENCE, PAUSE_MS = 12, 250
# What of it counts on paper, where nothing is tapped and letters may be small.
ON_PAPER = ("wide", "cut")


def layout_faults(page: Page, *, least: int = TARGET, sideways: bool = False) -> list[str]:
    """What is too wide, cut off, too small to read or to hit; with `sideways` also what scrolls within the page."""
    found: list[str] = []
    for _ in range(PATIENCE):
        found = page.evaluate(FAULTS, {"least": least, "sideways": sideways})
        if not found:
            break
        page.wait_for_timeout(PAUSE_MS)
    return found


def draw_charts(page: Page) -> None:
    """Let every chart of the page draw itself."""
    page.evaluate(DRAW, 2 * PATIENCE * PAUSE_MS)


def barriers(page: Page, theme: str) -> list[str]:
    """What the axe rules find in a theme, once the page has taken it on."""
    page.emulate_media(color_scheme="dark" if theme == "dark" else "light", reduced_motion="reduce")
    page.evaluate(TWO_FRAMES)
    seen: list[str] = []
    for _ in range(PATIENCE // 4):
        seen = broken_rules(page, THEMES[theme])
        if not seen:
            break
        page.wait_for_timeout(PAUSE_MS)
    return [f"{theme} {one}" for one in seen]


def broken_rules(page: Page, rules: dict[str, Any] = STANDARD) -> list[str]:
    """What the axe rules find in the page as it stands."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(Axe().axe_script)
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in page.evaluate(RUN_AXE, [BORROWED, rules])]
