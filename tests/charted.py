"""A page with a chart, looked at in a real browser: drawn, without barriers, and no wider than any screen."""

from collections.abc import Callable
from typing import Any

from tests.browser.looking import barriers

SIZES = {"desk": (1440, 900), "wide tablet": (1180, 820), "upright tablet": (820, 1180), "phone": (390, 844)}
FITS = "width => document.documentElement.scrollWidth <= width"


def drawn(page: Any, figure: str) -> None:
    """Wait until the chart is there."""
    page.locator(f"[data-figure={figure}]").scroll_into_view_if_needed()
    page.locator(f"[data-figure={figure}][data-drawn]").wait_for()


def settled(page: Any) -> None:
    """Wait until every chart that can be seen is drawn."""
    for chart in page.locator("[data-figure]:visible").all():
        drawn(page, chart.get_attribute("data-figure"))


def fit(page: Any, shoot: Callable[[str], Any], sizes: dict[str, tuple[int, int]], name: str = "{}") -> None:
    """Assert that nothing is wider than any of the screens; keep a picture of each."""
    for size, (width, height) in sizes.items():
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function(FITS, arg=width)  # a chart takes its new size a moment later
        shoot(name.format(size))


def open_folds(page: Any) -> None:
    """Open whatever is folded away."""
    page.evaluate("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")


def look_on_every_screen(page: Any, shoot: Callable[[str], Any], name: str) -> None:
    """Assert that the page is clean in both themes with all folds open, and fits every screen; keep its pictures."""
    open_folds(page)
    found = [barrier for scheme in ("light", "dark") for barrier in barriers(page, scheme)]
    assert found == []
    fit(page, shoot, SIZES, name + "-{}")
