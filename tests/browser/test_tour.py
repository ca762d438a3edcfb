"""Each question of the demonstration is answered by pressing what its steps name, beginning at its link; and the answer
that the page reached gives is the one behind the fold, or the truth of ``fixtures/demo/truth.json``. What was planted
is found from the board alone, too."""

import json
import re
from typing import Any

import pytest
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from fleet.management.demo.load import load_scenario
from reports.pages.tour_questions import QUESTIONS
from tests.browser.finding import find_what_was_planted
from tests.browser.looking import barriers, layout_faults

pytestmark = pytest.mark.django_db(transaction=True)
TRUTH = json.loads((settings.BASE_DIR / "fixtures/demo/truth.json").read_text(encoding="utf-8"))
PLANTED, FUEL = TRUTH["planted"], TRUTH["fuel"]


def test_what_was_planted_is_found_and_each_question_answered_by_pressing_what_its_steps_name(
    page: Page, live_server: Any, console: list[str], shoot: Any
) -> None:
    """Two walks in one, since a load of the demonstration takes longer than either."""
    load_scenario(today=timezone.localdate())
    sign_in_as_the_first(page, live_server.url)
    page.get_by_role("link", name="Ten questions to try on it").click()
    expect(page.locator("h1")).to_have_text("Questions to try")
    assert layout_faults(page) == []
    assert [fault for theme in ("light", "dark") for fault in barriers(page, theme)] == []
    shoot("tour")
    for question in QUESTIONS:
        page.get_by_role("banner").get_by_role("link", name="Questions to try").click()
        told = behind_the_fold(page, question.key)
        begin(page, question.key)
        ANSWERS[question.key](page, told)
        shoot(f"tour-{question.key}")
    assert ANSWERS.keys() == {question.key for question in QUESTIONS}
    find_what_was_planted(page, shoot)


def sign_in_as_the_first(page: Page, url: str) -> None:
    """As the sign-in page tells a stranger."""
    page.goto(url)
    first = page.get_by_role("region", name="A demonstration").get_by_role("listitem").first
    name, password = first.locator("b").all_inner_texts()
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in").click()


def behind_the_fold(page: Page, key: str) -> dict[str, list[str]]:
    """What was planted and what is found, by fact; every row must say that the two agree."""
    one = page.locator(f"#{key}")
    one.get_by_text("What was planted", exact=True).click()
    expect(one.locator("tbody tr").first).to_be_visible()
    assert one.locator(".misses").count() == 0
    rows = {}
    for row in one.locator("tbody tr").all():
        rows[row.locator("th").inner_text()] = row.locator("td").all_inner_texts()
    return rows


def begin(page: Page, key: str) -> None:
    """Follow the first link, then whatever the steps name in bold, in their order."""
    one = page.locator(f"#{key}")
    named = one.locator(".way b").all_inner_texts()
    one.locator(".way a").click()
    for words in named if key not in {"waiting"} else []:
        page.get_by_role("main").get_by_role("link", name=words, exact=True).click()


def serials(page: Page) -> set[str]:
    """Serial numbers of the units that the list shows, from their pages' own words."""
    found = set()
    for address in [link.get_attribute("href") for link in page.locator("tbody .unit-link").all()]:
        answer = page.request.get(page.url.split("/", 3)[0] + "//" + page.url.split("/", 3)[2] + str(address))
        found |= set(re.findall(r"/register/turbochargers/\d+/\">([A-Z0-9-]+)<", answer.text()))
    return found


def waiting(page: Page, told: dict[str, list[str]]) -> None:
    outside: set[str] = set()
    for state in ("outside high", "outside low"):
        outside |= in_state(page, state)
    assert outside == set(PLANTED["left_outside"]) | set(FUEL["silent_outside"])
    assert in_state(page, "never checked") <= set(PLANTED["never_checked"])
    assert told["Never checked"][0] == ", ".join(sorted(PLANTED["never_checked"]))


def in_state(page: Page, state: str) -> set[str]:
    """Press a count above the list, and take the units that it leaves."""
    count = page.get_by_role("navigation", name="Units by state").get_by_role("link").filter(has_text=state)
    count.click()
    expect(page.locator("#board caption")).to_contain_text(state)
    return serials(page)


def jump(page: Page, told: dict[str, list[str]]) -> None:
    page.get_by_text("Jumped since the reading before").get_by_role("link").first.click()
    expect(page.get_by_role("main")).to_contain_text(PLANTED["jump"]["serial"])
    expect(page.get_by_role("main")).to_contain_text("Bracket found bent")
    assert page.locator("tr", has=page.locator(".flag", has_text="jumped")).count() == 1


def leak(page: Page, told: dict[str, list[str]]) -> None:
    page.locator("tbody .unit-link").first.click()
    expect(page.get_by_role("main")).to_contain_text("Hiss at the canister")
    rows = page.get_by_role("row").filter(has_text="Tolly Vennick")
    rows.first.get_by_role("link").first.click()
    (_, found, _) = told["Lost in the minute after the supply is closed"]
    named = page.locator("dt").filter(has_text="leak-down")
    expect(named.locator("xpath=following-sibling::dd[1]")).to_contain_text(found.split(" ")[0])


def drift(page: Page, told: dict[str, list[str]]) -> None:
    for name in TRUTH["models"]:
        row = page.get_by_role("row").filter(has=page.get_by_role("link", name=name, exact=True))
        shown = told[f"{name}, per 100,000 km"][1]
        expect(row).to_contain_text(shown)
    expect(page.locator("tr", has=page.locator(".flag"))).to_contain_text([PLANTED["drifting_model"]])


def batch(page: Page, told: dict[str, list[str]]) -> None:
    page.get_by_role("link", name=re.compile("reconditioned, received")).first.click()
    expect(page.get_by_role("heading", name="Were they set alike?")).to_be_in_viewport()
    named = page.locator(".notice a").all_inner_texts()
    assert set(named) <= set(PLANTED["mis_set_batch"]["serials"])
    for _, found, _ in told.values():
        expect(page.locator("#content")).to_contain_text(found)


def gauge(page: Page, told: dict[str, list[str]]) -> None:
    page.get_by_role("region", name="Recalls").get_by_role("link").first.click()
    expect(page.locator("h1")).to_contain_text(PLANTED["gauge_out_of_calibration"]["label"])
    shown = page.locator("#content").inner_text()
    assert {one["serial"] for one in PLANTED["gauge_out_of_calibration"]["verdicts_that_fall"]} <= set(
        re.findall(r"[A-Z]{2}\d-\d{4}R?", shown)
    )


def depot(page: Page, told: dict[str, list[str]]) -> None:
    odd = page.get_by_role("row").filter(has_text="stands out")
    expect(odd).to_have_count(1)
    expect(odd).to_contain_text(PLANTED["depot_that_measures_differently"]["depot"])


def cost(page: Page, told: dict[str, list[str]]) -> None:
    expect(page.locator(".lead")).to_contain_text("gave back")
    page.go_back()
    for _, found, _ in told.values():
        expect(page.locator(".lead")).to_contain_text(found.split(" (")[0])


def thirsty(page: Page, told: dict[str, list[str]]) -> None:
    expect(page.get_by_role("heading", name="Thirsty trucks")).to_be_in_viewport()
    assert trucks(page, "Thirsty and outside") == {one["truck"] for one in FUEL["stood_outside"] if one["left"]}
    inside = {one["truck"] for one in FUEL["thirsty_but_inside"] if one["to_day"] == 0}
    assert trucks(page, "Thirsty and inside") == inside
    page.get_by_role("region", name="Thirsty and inside").get_by_role("link").first.click()
    expect(page.get_by_role("region", name="Fuel", exact=True)).to_contain_text("more than its own level since")


def trucks(page: Page, title: str) -> set[str]:
    return set(page.get_by_role("region", name=title, exact=True).locator("tbody th").all_inner_texts())


def silent(page: Page, told: dict[str, list[str]]) -> None:
    rows: Locator = page.get_by_role("region", name="Silent trucks").locator("tbody td:nth-of-type(1)")
    assert set(rows.all_inner_texts()) == set(FUEL["silent_outside"])


ANSWERS = {
    "waiting": waiting, "jump": jump, "leak": leak, "drift": drift, "batch": batch,
    "gauge": gauge, "depot": depot, "cost": cost, "thirsty": thirsty, "silent": silent,
}  # fmt: skip
