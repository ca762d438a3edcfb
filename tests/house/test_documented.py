"""What a newcomer needs to know stands in DEVELOPERS.md."""

import ast
import re

import pytest

from fleet.jobs.registry import kinds
from tests.house.draw_map import block, committed
from tests.house.source import ROOT, modules

TEXT = (ROOT / "DEVELOPERS.md").read_text()


def variables() -> list[str]:
    """Return the name of every environment variable that the settings read."""
    tree = dict(modules("fleet"))["fleet/settings.py"]
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)]
    readers = [call for call in calls if call.func.id.startswith("env_")]  # type: ignore[attr-defined]
    return [call.args[0].value for call in readers if isinstance(call.args[0], ast.Constant)]


def void_conditions() -> list[str]:
    """Return the name of every file that judges one void condition."""
    return sorted(path.stem for path in (ROOT / "checks/measurement/voids").glob("[!_]*.py"))


def targets() -> list[str]:
    """Return the name of every target of the Makefile that explains itself."""
    return re.findall(r"^([a-z-]+):.*## ", (ROOT / "Makefile").read_text(), re.MULTILINE)


@pytest.mark.parametrize("name", sorted(set(variables())))
def test_a_setting_is_explained(name: str) -> None:
    assert f"`{name}`" in TEXT


@pytest.mark.parametrize("name", kinds())
def test_a_kind_of_job_is_explained(name: str) -> None:
    assert f"`{name}`" in TEXT


@pytest.mark.parametrize("name", void_conditions())
def test_a_void_condition_is_explained(name: str) -> None:
    assert f"`{name}`" in TEXT


@pytest.mark.parametrize("name", targets())
def test_a_target_of_make_is_named(name: str) -> None:
    assert f"make {name}" in TEXT


def test_every_named_folder_exists() -> None:
    named = re.findall(r"`((?:fleet|checks|reports|tests)/[\w/.]+)`", TEXT)
    assert [path for path in named if not (ROOT / path).exists()] == []


def test_the_map_says_what_the_imports_say() -> None:
    assert committed(TEXT) == block(), "The imports between packages changed: run 'make map' and read the difference."
