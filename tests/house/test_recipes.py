"""The recipes of DEVELOPERS.md do what they say: each is followed in a copy of the house, and its new thing works."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.house.recipes import RECIPES, Recipe
from tests.house.source import PACKAGES, ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text()
NEEDED = (*PACKAGES, "tests", "fixtures")
LOOSE = ("manage.py", "pyproject.toml", "DEVELOPERS.md", "Makefile", "README.md")
DOCUMENTED = ("test_a_void_condition_is_explained", "test_every_named_folder_exists")
RECIPE = pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe.title)


def steps(title: str) -> str:
    """The numbered steps of a recipe as printed."""
    found = re.search(rf"^\*\*{re.escape(title)}\.\*\*.*\n\n((?:\d\. .*\n(?:   .*\n)*)+)", TEXT, re.MULTILINE)
    assert found, f"DEVELOPERS.md has no numbered recipe '{title}'."
    return found[1]


def content(root: Path) -> dict[str, bytes]:
    """Every file of a house by its path."""
    kept = (path for path in root.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in kept if path.suffix != ".sqlite3"}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, set[str]]]:
    """A copy of the house in which every recipe was followed, and which files each of them touched."""
    copy = tmp_path_factory.mktemp("house")
    for name in NEEDED:
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("*.pyc.*", "var"))
    for name in LOOSE:
        shutil.copy(ROOT / name, copy / name)
    touched, before = {}, content(copy)
    for recipe in RECIPES:
        recipe.follow(copy)
        after = content(copy)
        touched[recipe.title] = {path for path in after if before.get(path) != after[path]}
        before = after
    return copy, touched


@pytest.fixture(scope="module")
def outcome(house: tuple[Path, dict[str, set[str]]], tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """Complaints of each recipe's own test, run in the copy; the house's tests of what is documented run beside."""
    copy, _ = house
    report = tmp_path_factory.mktemp("report") / "report.xml"
    tests = [recipe.test for recipe in RECIPES]
    tests += [f"tests/house/test_documented.py::{name}" for name in DOCUMENTED]
    options = ["-q", "--nomigrations", f"--junitxml={report}"]
    # On a database of its own, whatever these tests themselves run on.
    env = {name: value for name, value in os.environ.items() if name not in {"DATABASE_URL", "REDIS_URL"}}
    command = [sys.executable, "-m", "pytest", *options, *tests]
    done = subprocess.run(command, cwd=copy, env=env, capture_output=True, text=True, check=False, timeout=500)
    assert report.exists(), done.stdout[-3000:] + done.stderr[-3000:]
    told: dict[str, list[str]] = {}
    for case in ElementTree.parse(report).iter("testcase"):
        wrong = [child.text or "" for child in case if child.tag in {"failure", "error"}]
        told.setdefault(case.get("classname", "").rpartition(".")[2], []).extend(wrong)
    return told


@RECIPE
def test_following_a_recipe_touches_what_it_names_and_nothing_else(recipe: Recipe, house) -> None:
    """Each file touched is named or lies in a folder that is, and each name was needed."""
    named = set(re.findall(r"`([\w./]+/[\w./]+|DEVELOPERS\.md)`", steps(recipe.title)))
    covers = {path: max((n for n in named if path == n or path.startswith(f"{n}/")), key=len, default=None)
              for path in house[1][recipe.title]}  # fmt: skip
    assert [path for path, name in covers.items() if name is None] == []
    assert named == set(covers.values())


@RECIPE
def test_what_a_recipe_makes_works(recipe: Recipe, outcome: dict[str, list[str]]) -> None:
    assert outcome[Path(recipe.test).stem] == []


def test_what_recipes_make_is_documented_and_keeps_to_the_style_and_the_layers(house, outcome) -> None:
    assert outcome["test_documented"] == []
    copy, _ = house
    made = [path for recipe in RECIPES for path in recipe.files if path.endswith(".py")]
    beside = Path(sys.executable).parent
    for command in (
        [beside / "ruff", "check", "--no-cache", *made],
        [beside / "ruff", "format", "--no-cache", "--check", *made],
        [beside / "lint-imports", "--no-cache"],
    ):
        done = subprocess.run(command, cwd=copy, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-1000:]
