"""Every computed number leads to its method, every word to its meaning, and none of these ways ends nowhere."""

import importlib
import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from django.template.loader import get_template
from django.urls import reverse

from checks.components import STATE_WORDS
from checks.vocabulary.methods import METHODS, Method
from checks.vocabulary.terms import GROUPS, TERMS
from tests.house.numbers_table import PLAIN, PLAIN_SPACES, SHOWN
from tests.house.source import ROOT, templates
from tests.house.url_table import RULES
from tests.world import make_world

HOW = re.compile(r"{% how ([^%]*)%}")
# Parts that draw something computed.
DRAWN = re.compile(r'{% (window_strip|budget_table|state_word)\b|"reports/chart\.html"')
# The same where they were drawn, and any number with its uncertainty.
SEEN = re.compile(r'class="(?:strip|state) |class="(?:budget|chart)"| ± \d')


@cache
def closure(name: str) -> str:
    """The text of a template with all that it extends and includes by name."""
    text = Path(get_template(name).origin.name).read_text()  # type: ignore[attr-defined]
    parts = re.findall(r'{% (?:extends|include) "([^"]+)"', text)
    return text + "".join(closure(part) for part in parts if part != name)


def linked(text: str) -> set[str]:
    """The methods to which a template leads."""
    return {key for keys in HOW.findall(text) for key in re.findall(r'"([^"]+)"', keys)}


def every_template() -> str:
    """All templates in one."""
    return "".join(text for _, text in templates())


@pytest.mark.parametrize("name", sorted(SHOWN))
def test_a_page_leads_to_the_methods_of_its_numbers(name: str) -> None:
    template, keys = SHOWN[name]
    assert set(keys.split()) <= linked(closure(template))


def test_every_way_leads_to_a_method_and_every_method_is_led_to() -> None:
    assert linked(every_template()) == set(METHODS)


def test_every_word_that_a_page_explains_is_in_the_glossary() -> None:
    explained = re.findall(r'"([^"]+)"\|term', every_template())
    assert explained
    assert [word for word in explained if word.lower() not in {name.lower() for name in TERMS}] == []


def test_a_tablet_leads_to_methods_that_exist() -> None:
    scripts = "".join(path.read_text() for path in (ROOT / "checks/static/checks/tablet").rglob("*.js"))
    keys = re.findall(r"/methods/#([\w-]+)", scripts)
    assert keys
    assert set(keys) <= set(METHODS)


def test_the_table_of_numbers_names_pages_alone_and_each_once() -> None:
    """That no page is missing is for the next test to tell: it opens them all."""
    assert set(SHOWN) & PLAIN == set()
    assert set(SHOWN) | PLAIN <= set(RULES)


@pytest.mark.django_db
def test_no_page_beside_the_table_shows_a_computed_number(client) -> None:
    """Each page of one row of everything, as the people see it who run the depot and the installation."""
    world = make_world()
    client.force_login(world.manager)
    wrong = []
    for name, rule in RULES.items():
        if name in SHOWN or name.startswith("api-") or not rule.reads:
            continue
        answer = client.get(reverse(name, kwargs=rule.words(world)))
        if answer.status_code != 200 or "text/html" not in answer["Content-Type"]:
            continue
        main = answer.content.decode().partition("<main")[2]
        plain = name in PLAIN or name.startswith(PLAIN_SPACES) or "<form" in main
        if not plain or (SEEN.search(main) and name != "checks:words"):
            wrong.append(name)
    assert wrong == []


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["reports:check", "reports:unit", "checks:policy", "reports:study", "checks:recall"])
def test_a_page_as_it_is_sent_leads_to_the_anchor(name: str, client) -> None:
    world = make_world()
    client.force_login(world.manager)
    page = client.get(reverse(name, kwargs=RULES[name].words(world))).content.decode()
    assert "How this is computed: " in page
    assert set(re.findall(r'href="/methods/#([\w-]+)"', page)) <= set(METHODS)


@pytest.mark.parametrize("method", METHODS.values(), ids=list(METHODS))
def test_a_method_says_what_goes_in_what_it_assumes_and_what_it_cannot_say(method: Method) -> None:
    body = closure(method.template)
    assert re.findall(r"<dt>(.*?)</dt>", body) == ["What goes in", "What it assumes", "What it cannot say"]
    assert method.sources
    assert [text[-1] for text in (method.behind, method.in_short)] == [".", "."]
    limits = f'"{method.limits_template}"'
    assert (limits in body) is method.limits
    if method.limits:
        pages = [path for path, text in templates() if limits in text and "/methods/" not in path]
        assert pages, "what it cannot say stands on no page of its numbers"


@pytest.mark.parametrize("method", METHODS.values(), ids=list(METHODS))
def test_a_methods_formulas_are_whole_and_said_in_words_too(method: Method) -> None:
    formulas = re.findall(r"<math\b.*?</math>", closure(method.template), re.DOTALL)
    for formula in formulas:
        root = ElementTree.fromstring(formula)
        assert root.get("display") != "block" or len(root.get("alttext", "").split()) > 2
    assert formulas


@pytest.mark.parametrize("method", METHODS.values(), ids=list(METHODS))
def test_a_method_names_the_code_that_computes_it(method: Method) -> None:
    assert all(importlib.import_module(module).__doc__ for module in method.modules)


@pytest.mark.django_db
def test_the_readings_behind_a_number_are_reached_from_a_page_of_the_name_that_is_told(client) -> None:
    client.force_login(make_world().manager)
    for place in {method.begin for method in METHODS.values()}:
        page = client.get(reverse(place.view), follow=True).content.decode()
        named = re.findall("<title>(.*?)</title>|<h1>(.*?)</h1>", page, re.DOTALL)
        assert any(place.title in text for pair in named for text in pair), place


def test_terms_are_told_once_and_lead_to_methods_that_exist() -> None:
    terms = [term for group in GROUPS for term in group.terms]
    keys = [term.key for term in terms] + [group.key for group in GROUPS]
    assert len(set(keys)) == len(keys)
    assert len(terms) == len(TERMS)
    assert {term.method for term in terms if term.method} <= set(METHODS)
    assert [term.name for term in terms if not re.search(r"[.]$", term.meaning)] == []


def test_every_state_is_explained_with_its_own_word() -> None:
    assert {term.state: term.name for term in TERMS.values() if term.state} == STATE_WORDS


@pytest.mark.parametrize(
    "word",
    [
        "setting pressure", "rod travel", "nominal", "lower limit", "upper limit", "window", "as found", "as left",
        "start-of-travel pressure", "hysteresis", "leak-down", "half turn", "setting", "canister",
        "calibration certificate", "expanded uncertainty", "coverage factor", "conformance probability", "guard band",
        "repeatability", "reproducibility", "drift",
    ],
)  # fmt: skip
def test_the_words_of_the_trade_and_of_the_standards_are_explained(word: str) -> None:
    assert word in TERMS


def test_what_draws_a_number_stands_on_pages_of_the_table_alone() -> None:
    shown = "".join(closure(template) for template, _ in SHOWN.values())
    beside = [path for path, text in templates() if DRAWN.search(text) and text not in shown]
    assert sorted(beside) == sorted(ELSEWHERE)


# What is signed after the verdict was shown, the marks that the glossary explains, and a row that its own tag draws.
ELSEWHERE = [
    "checks/templates/checks/guided/sign.html",
    "checks/templates/checks/parts/word.html",
    "reports/templates/reports/board_row.html",
]
