"""Templates obey the content security policy and the house's size."""

import re

import pytest

from tests.house.source import templates

FORBIDDEN = {
    "a style attribute": re.compile(r"<[a-z][^>]*\sstyle\s*=", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "an inline handler": re.compile(r"<[a-z][^>]*\son[a-z]+\s*=", re.IGNORECASE),
    "an inline script": re.compile(r"<script\b(?![^>]*\bsrc\s*=)", re.IGNORECASE),
    "a script address": re.compile(r"(href|src)\s*=\s*[\"']javascript:", re.IGNORECASE),
    "something from elsewhere": re.compile(r"<(script|link|img)\b[^>]*(src|href)\s*=\s*[\"']https?:", re.IGNORECASE),
}
TEMPLATES = [pytest.param(text, id=path) for path, text in templates()]


@pytest.mark.parametrize(
    "text",
    [
        "<p style='x'>",
        "<style>p{}</style>",
        '<a onclick="go()">',
        "<script>go()</script>",
        '<script src="https://a/b">',
    ],
)
def test_the_search_finds_what_the_policy_would_block(text: str) -> None:
    assert any(pattern.search(text) for pattern in FORBIDDEN.values())


@pytest.mark.parametrize("text", TEMPLATES)
def test_a_template_holds_nothing_that_the_policy_blocks(text: str) -> None:
    assert [name for name, pattern in FORBIDDEN.items() if pattern.search(text)] == []


@pytest.mark.parametrize("text", TEMPLATES)
def test_a_template_is_short(text: str) -> None:
    assert len(text.splitlines()) <= 120


TABLE = re.compile(r"<table(?P<attributes>[^>]*)>(?P<within>.*?)</table>", re.DOTALL)
# A region or a section around it may name it; it begins no further away than this.
NEAR = 260
NAMED = re.compile(r"<(div|section)[^>]*aria-label(ledby)?=[^>]*>(?!.*</section>)", re.DOTALL)


def nameless(text: str) -> list[str]:
    """Tables that a screen reader would announce without a name."""
    return [
        " ".join(found["within"].split())[:80]
        for found in TABLE.finditer(text)
        if "<caption" not in found["within"]
        and "aria-label" not in found["attributes"]
        and not NAMED.search(text[max(0, found.start() - NEAR) : found.start()])
    ]


def test_the_search_finds_a_table_without_a_name() -> None:
    assert nameless("<div class='scroll-x'><table><tr><td>1</td></tr></table></div>") == ["<tr><td>1</td></tr>"]
    assert nameless("<table aria-label='Trucks'></table><div aria-label='Trips'><table></table></div>") == []


@pytest.mark.parametrize("text", TEMPLATES)
def test_every_table_has_a_name(text: str) -> None:
    assert nameless(text) == []
