"""Every page that a person opens, by whoever may do most there: fits every width, nothing cut off or too small, clean
for assistive technology in both themes, nothing in the console. A new address counts as soon as it stands in the table.
"""

from types import SimpleNamespace
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Page

from tests.browser.looking import barriers, layout_faults
from tests.house.opened_pages import FOR_STRANGERS, NO_PAGES, NOT_FOR_STRANGERS, PAGES, address_of, opener
from tests.house.url_table import OPEN
from tests.world import make_world

pytestmark = pytest.mark.django_db(transaction=True)
WIDTHS = (390, 820, 1440)
STRANGER = "stranger"
# Three parts, so that two workers share them and a fault names few pages.
PARTS = 3


@pytest.fixture
def world(transactional_db: None) -> SimpleNamespace:
    return make_world()


def faults_of(page: Page) -> list[str]:
    """What is wrong with the page that is open, at every width and in both themes."""
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        found += [f"{width}: {fault}" for fault in layout_faults(page)]
    for theme in ("light", "dark"):
        found += barriers(page, theme)
    return found


@pytest.mark.parametrize("part", range(PARTS))
def test_every_page_fits_reads_and_keeps_the_console_empty(
    part: int, world: SimpleNamespace, page: Page, live_server: Any, console: list[str]
) -> None:
    faults: dict[str, list[str]] = {}
    names = [*FOR_STRANGERS, *PAGES][part::PARTS]
    who_opens = {name: STRANGER if name in FOR_STRANGERS else opener(name) for name in names}
    for who in sorted(set(who_opens.values())):
        page.context.clear_cookies()
        if who != STRANGER:
            client = Client()
            client.force_login(getattr(world, who))
            kept = client.cookies[settings.SESSION_COOKIE_NAME]
            page.context.add_cookies([{"name": kept.key, "value": kept.value, "url": live_server.url}])
        for name in (one for one in names if who_opens[one] == who):
            answer = page.goto(live_server.url + address_of(name, world))
            opened = [] if answer and answer.status == 200 else [f"answers {answer and answer.status}"]
            faults[name] = opened + faults_of(page) + console[:]
            console.clear()
    assert sorted(faults) == sorted(names)
    assert {name: found for name, found in faults.items() if found} == {}


def test_a_page_without_a_name_is_known_to_be_one() -> None:
    assert sorted(OPEN) == sorted({*FOR_STRANGERS, *NOT_FOR_STRANGERS})


@pytest.mark.parametrize("name", sorted(NO_PAGES))
def test_what_is_left_out_is_no_page(name: str, world: SimpleNamespace) -> None:
    client = Client()
    client.force_login(getattr(world, opener(name)))
    answer = client.get(address_of(name, world))
    assert answer.status_code in {200, 204, 404, 405}
    assert b"<html" not in answer.getvalue()
