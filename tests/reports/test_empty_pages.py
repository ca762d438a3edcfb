"""What a list says while the register is empty: what will be here, and the action that fills it or whom to ask."""

import re
from html.parser import HTMLParser
from types import SimpleNamespace
from typing import Any

import pytest
from django.urls import reverse

from tests.bay import person
from tests.factories import DepotFactory, UserFactory

pytestmark = pytest.mark.django_db
LISTS = (
    "reports:board", "reports:due", "reports:models", "reports:intervals", "reports:life", "reports:fuel",
    "reports:restored", "reports:complaints", "reports:complaint_study", "checks:specifications",
    "checks:instruments", "fleet:trucks", "fleet:engines", "fleet:turbochargers", "fleet:models", "fleet:trip_list",
)  # fmt: skip
# Lists whose action stands at the top, or is open to all who see them.
OTHERS = (
    "reports:reviews", "reports:weeks", "reports:blank_sheets", "checks:recalls", "checks:studies",
    "checks:fuel_prices", "checks:fitness", "fleet:trips", "fleet:depots", "fleet:people", "fleet:tokens", "jobs:list",
)  # fmt: skip


class Links(HTMLParser):
    """Addresses that a page leads to."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        address = dict(attrs).get("href") or ""
        if tag == "a" and address.startswith(("/", "?")):
            self.found.add(address)


@pytest.fixture
def people() -> SimpleNamespace:
    depot = DepotFactory()
    roles = {role: person(depot, role) for role in ("manager", "technician", "viewer")}
    return SimpleNamespace(stranger=UserFactory(), **roles)


def opened(client: Any, name: str) -> tuple[str, str]:
    """Return where the page ended up and what stands in its main part."""
    answer = client.get(reverse(name), follow=True)
    assert answer.status_code == 200, name
    where = answer.redirect_chain[-1][0] if answer.redirect_chain else reverse(name)
    return where, answer.content.decode().partition("<main")[2].partition("</main>")[0]


def empty_part(main: str) -> str:
    return main.partition('class="empty"')[2].partition("</div>")[0]


@pytest.mark.parametrize("name", LISTS)
def test_a_manager_is_given_the_action_that_fills_an_empty_list(name: str, people: Any, signed_in: Any) -> None:
    part = empty_part(opened(signed_in(people.manager), name)[1])
    assert "will stand here" in part or name in {"reports:life", "reports:restored"}
    assert part.count("button primary") == 1


@pytest.mark.parametrize("name", LISTS)
def test_who_may_not_fill_an_empty_list_is_told_who_does(name: str, people: Any, signed_in: Any) -> None:
    part = empty_part(opened(signed_in(people.viewer), name)[1])
    assert "button" not in part
    assert re.search(r"(A manager|Technicians) of your depot", part)


@pytest.mark.parametrize("role", ["manager", "technician", "viewer"])
def test_no_link_of_an_empty_page_leads_to_a_refusal(role: str, people: Any, signed_in: Any) -> None:
    client = signed_in(getattr(people, role))
    dead = set()
    for name in LISTS + OTHERS:
        where, main = opened(client, name)
        for address in Links(main).found:
            target = f"{where.partition('?')[0]}{address}" if address.startswith("?") else address
            if client.get(target, follow=True).status_code != 200:
                dead.add((name, target))
    assert dead == set()


def test_somebody_of_no_depot_is_told_so_and_not_sent_in_a_circle(people: Any, signed_in: Any) -> None:
    answer = signed_in(people.stranger).get("/")
    assert answer.status_code == 403
    main = answer.content.decode().partition("<main")[2].partition("</main>")[0]
    assert "You belong to no depot yet." in main
    assert Links(main).found == set()
