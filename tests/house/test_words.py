"""One word stands for one thing: what was once said in two ways is said in one, on pages, in files, in the interface.

The words themselves are told in `checks/vocabulary/terms`.
"""

import ast
import re
from collections.abc import Iterator

import pytest
from drf_spectacular.generators import SchemaGenerator

from tests.house.source import ROOT, modules, templates

# What not to say, and what is said instead.
INSTEAD = {
    r"\breckon": "compute",
    r"\bout[- ]of[- ](?:its |the |their )?window\b": "outside, outside its window",
    r"\bout of tolerance\b": "outside, of a unit; beyond its permissible error, of an instrument",
    r"\bput right\b": "restored",
    r"\bforetold\b|\bforetells?\b|\bforeseen\b": "forecast; predicted, of an adjustment",
    r"\bturbos?\b": "turbocharger",
    r"\bvehicles?\b|\blorr(?:y|ies)\b": "truck",
    r"\bmileage\b": "use, odometer",
    r"\b(?:fuel )?consumption\b": "fuel use",
    r"\bmechanics?\b": "technician",
    r"\bclimb\b": "ascent",
    r"\b(?:rod stroke|stroke length)\b": "rod travel",
    r"\b(?:maximum|max\.?) pressure\b": "canister maximum",
    r"\bsee by\b": "see again",
    r"\bconfidence (?:interval|limit)s?\b": "limits",
    r"\berror bars?\b": "whiskers",
    r"\bas[- ]received\b": "as found",
    r"\bspecs?\b": "specification",
}
WRONG = re.compile("|".join(f"(?:{pattern})" for pattern in INSTEAD), re.IGNORECASE)
# Names of fields as programs read them: their words stand between underscores.
WRONG_NAME = re.compile(r"(?:^|_)(?:turbo|vehicle|mileage|consumption|climb|spec|put_right)(?:_|$)")
# The glossary tells what others call a thing; the demonstration's people speak as people do.
SPEAK_FREELY = ("checks/vocabulary/terms/", "fleet/management/demo/")


def shown(template: str) -> str:
    """What a template shows: its text, and what its attributes say."""
    text = re.sub(r"{%\s*(?:comment).*?endcomment\s*%}|{#.*?#}|{{.*?}}", " ", template, flags=re.DOTALL)
    said = re.findall(r'(?:aria-label|label|title|alt|text|caption|placeholder)="([^"]*)"', text)
    return " ".join([re.sub(r"{%.*?%}|<[^>]*>", " ", text, flags=re.DOTALL), *said])


def sentences(tree: ast.Module) -> Iterator[str]:
    """Every text of more than one word in a module, docstrings left out."""
    documents = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        text = node.value if isinstance(node, ast.Constant) and id(node) not in documents else None
        if isinstance(text, str) and " " in text.strip():
            yield text


@pytest.mark.parametrize("said", ["as reckoned when", "Turbo 114", "travel out of its window", "the Spec in force"])
def test_the_search_finds_what_is_not_to_be_said(said: str) -> None:
    assert WRONG.search(said)


def test_pages_say_each_thing_in_one_way() -> None:
    wrong = [(path, found.group()) for path, text in templates() for found in WRONG.finditer(shown(text))]
    assert wrong == []


def test_sentences_columns_and_names_of_fields_say_each_thing_in_one_way() -> None:
    wrong = [
        (path, text)
        for path, tree in modules()
        if not path.startswith(SPEAK_FREELY)
        for text in sentences(tree)
        if WRONG.search(text)
    ]
    assert wrong == []


def test_the_tablet_says_each_thing_in_one_way() -> None:
    wrong = []
    for path in sorted((ROOT / "checks/static/checks").rglob("*.js")):
        said = re.findall(r'"([^"\n]* [^"\n]*)"', path.read_text())
        wrong += [(path.name, text) for text in said if WRONG.search(text)]
    assert wrong == []


def test_the_interface_for_programs_says_each_thing_in_one_way() -> None:
    """Names of fields and parameters, and what is said of them."""
    wrong: list[str] = []

    def look(node: object) -> None:
        if isinstance(node, dict):
            names = [*node.get("properties", {}), *([node["name"]] if "in" in node and "name" in node else [])]
            wrong.extend(name for name in names if WRONG_NAME.search(name))
            said = [node[key] for key in ("description", "summary", "title") if isinstance(node.get(key), str)]
            wrong.extend(text for text in said if WRONG.search(text))
        for inner in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
            look(inner)

    look(SchemaGenerator().get_schema(request=None, public=True))
    assert wrong == []
