"""The guides name what is there: each page they lead to, and each word that they say is on a button or a page."""

import re
from html import unescape

import pytest
from django.urls import reverse

from reports.pages.guide import GUIDES
from tests.bay import make_bay
from tests.house.source import PACKAGES, ROOT

pytestmark = pytest.mark.django_db
FOLDER = ROOT / "reports/templates/reports/guide"
KEYS = [guide.key for guide in GUIDES]
# Links whose words are no title of a page but part of their sentence.
IN_A_SENTENCE = {"your name", "check on the tablet", "blank sheet", "fuel price", "Guides"}


def said(key: str) -> set[str]:
    """What a guide quotes: words of buttons in bold, titles of pages as links."""
    text = (FOLDER / f"{key}.html").read_text()
    quoted = re.findall(r"<b>(.*?)</b>|<a href=[^>]*>([^<{]*)</a>", text)
    return {unescape(bold or link) for bold, link in quoted} - IN_A_SENTENCE


def shown() -> str:
    """Everything that pages and tablets may show: templates without the guides, words in code and in the tablet's."""
    paths = [
        path
        for package in PACKAGES
        for pattern in ("templates/**/*.html", "**/*.py", "static/**/*.js")
        for path in (ROOT / package).glob(pattern)
        if FOLDER not in path.parents and "migrations" not in path.parts
    ]
    return unescape("\n".join(path.read_text() for path in paths))


@pytest.fixture(scope="module")
def everything() -> str:
    return shown()


@pytest.mark.parametrize("key", KEYS)
def test_a_guide_quotes_only_what_can_be_read_on_a_page(key, everything):
    """Whole labels: between tags, or a whole text in quotation marks."""

    def stands(words: str) -> bool:
        return bool(re.search(rf"""[>"'}}]\s*{re.escape(words)}[.:]?\s*["'<{{]""", everything))

    assert said(key)
    assert [words for words in sorted(said(key)) if not stands(words)] == []


@pytest.mark.parametrize("key", KEYS)
def test_a_guide_opens_and_what_it_leads_to_opens(key, signed_in):
    bay = make_bay()
    client = signed_in(bay.manager)
    page = client.get(reverse("reports:guide", args=[key])).content.decode()
    body = page[page.index("<main") : page.index("</main>")]
    addresses = sorted(set(re.findall(r'href="(/[^"#]*)"', body)))
    answers = {address: client.get(address).status_code for address in addresses}
    assert len(answers) > 2
    assert {address: code for address, code in answers.items() if code not in {200, 302}} == {}


@pytest.mark.parametrize("key", ["technician", "engineer"])
def test_cautions_stand_where_the_work_is_done(key, signed_in):
    page = signed_in(make_bay().viewer).get(reverse("reports:guide", args=[key])).content.decode()
    for caution in (
        "eye protection",
        "Engine off and cool",
        "qualified people",
        "Back the regulator off",
        "Vent the",
        "Never command",
    ):
        assert caution in page
    assert "{maximum}" not in page


def test_every_guide_is_found_from_any_page(signed_in):
    bay = make_bay()
    client = signed_in(bay.viewer)
    assert reverse("reports:guides") in client.get(reverse("reports:due")).content.decode()
    listed = client.get(reverse("reports:guides")).content.decode()
    assert [key for key in KEYS if reverse("reports:guide", args=[key]) not in listed] == []
    assert reverse("reports:guides") in signed_in(bay.manager).get(reverse("reports:first_steps")).content.decode()
    assert client.get("/guide/nobody/").status_code == 404
