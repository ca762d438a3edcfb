"""Every page that has a name, opened by whoever may do most there: fits every width, clean for assistive technology
in both themes, nothing in the console. A new address is covered as soon as it stands in the table of addresses.
"""

from types import SimpleNamespace
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page

from tests.house.url_table import FOR_SCRIPTS, MANAGER, OPERATOR, RULES, TECHNICIAN
from tests.world import make_world

pytestmark = pytest.mark.django_db(transaction=True)
WIDTHS = (390, 820, 1440)
# How often a page is looked at again before what it shows counts.
SETTLE = 20
NO_PAGES = {
    "api-schema",
    "checks:photo",
    "docs",
    "fleet:import_refused",
    "fleet:trip_progress",
    "fleet:trip_refused",
    "jobs:progress",
    "reports:complaint_study_file",
    "reports:fuel_file",
    "reports:life_file",
    "reports:lives_file",
    "reports:restored_file",
    "reports:review_file",
    "reports:review_progress",
    "reports:study_file",
} | FOR_SCRIPTS
STANDARD = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
CONTRAST = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
# A program's answer is read by programs; a step of a check that is open leads to its own step.
PAGES = sorted(
    name for name, rule in RULES.items() if rule.reads and not name.startswith("api-") and name not in NO_PAGES
)


@pytest.fixture
def world(transactional_db: None) -> SimpleNamespace:
    return make_world()


def too_wide(page: Page) -> list[str]:
    """Widths at which the page has to be scrolled sideways."""
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        wide = page.evaluate("document.documentElement.scrollWidth")
        for _ in range(SETTLE):  # charts take their new size a moment later, more so on a busy machine
            if wide <= width:
                break
            page.wait_for_timeout(200)
            wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            found.append(f"{wide} wide at {width}")
    return found


def barriers(page: Page) -> list[str]:
    """What the axe rules find; in the dark only colours differ."""
    found = []
    for scheme, rules in (("light", STANDARD), ("dark", CONTRAST)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        page.evaluate("() => new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
        seen = Axe().run(page, options=rules).response["violations"]
        for _ in range(SETTLE // 4):  # the same for colours that follow the scheme
            if not seen:
                break
            page.wait_for_timeout(400)
            seen = Axe().run(page, options=rules).response["violations"]
        for one in seen:
            found.append(f"{scheme} {one['id']}: {one['nodes'][0]['html'][:120]}")
    return found


@pytest.mark.parametrize("space", sorted({name.partition(":")[0] for name in PAGES}))
def test_every_page_fits_reads_and_keeps_the_console_empty(
    space: str, world: SimpleNamespace, page: Page, enter: Any, console: list[str]
) -> None:
    faults: dict[str, list[str]] = {}
    names = [name for name in PAGES if name.partition(":")[0] == space]
    for who in (OPERATOR, MANAGER, TECHNICIAN):
        for name in names:
            mine = next((one for one in (OPERATOR, MANAGER) if one in RULES[name].reads), TECHNICIAN)
            if mine != who:
                continue
            enter(getattr(world, who), reverse(name, kwargs=RULES[name].words(world)))
            faults[name] = too_wide(page) + barriers(page) + console[:]
            console.clear()
    assert sorted(faults) == sorted(names)
    assert {name: found for name, found in faults.items() if found} == {}
