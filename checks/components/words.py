"""Ways from a page into the vocabulary: how its numbers are computed, and what a word means."""

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from checks.vocabulary.methods import METHODS, Method
from checks.vocabulary.terms import term_named


def methods_named(*keys: str) -> list[Method]:
    """The methods of these keys, in this order; a KeyError where there is none, so that no page leads nowhere."""
    return [METHODS[key] for key in keys]


def linked_term(text: str) -> SafeString | str:
    """The text as a link to its place in the glossary, which a pointer shows at once; as it is where it is no term."""
    term = term_named(text)
    if term is None:
        return text
    return format_html(
        '<a class="term" href="{}#{}" title="{}">{}</a>', reverse("checks:words"), term.key, term.meaning, text
    )
