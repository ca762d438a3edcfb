"""What a newcomer needs to know stands in DEVELOPERS.md, and what README says is so."""

import ast
import re

import pytest
import yaml
from django.core.management import get_commands
from django.urls import resolve
from PIL import Image

from fleet.jobs.registry import kinds
from tests.house.draw_map import block, committed
from tests.house.source import ROOT, modules

TEXT = (ROOT / "DEVELOPERS.md").read_text()
README = (ROOT / "README.md").read_text()
PICTURES = re.findall(r"!\[([^]]+)\]\(([^)]+)\)", README)


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


def services() -> list[str]:
    """Return the name of every service of the compose file."""
    return list(yaml.safe_load((ROOT / "docker-compose.yml").read_text())["services"])


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


def test_what_the_readme_asks_for_can_be_run() -> None:
    """Targets of make, commands of manage.py and services of compose."""
    assert set(re.findall(r"make ([a-z-]+)", README)) <= set(targets())
    commands = set(re.findall(r"manage\.py ([a-z_]+)", README))
    assert commands
    assert commands - set(get_commands()) == set()
    assert {"web"} <= set(re.findall(r"compose exec (\w+)", README)) <= set(services())


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_what_a_document_links_to_is_there(document: str) -> None:
    links = re.findall(r"\]\(([^)#]+)\)", (ROOT / document).read_text())
    assert [link for link in links if not link.startswith("http") and not (ROOT / link).exists()] == []


def test_every_path_and_address_that_the_readme_names_exists() -> None:
    paths = re.findall(r"`((?:fleet|checks|reports|tests|fixtures)(?:/[\w./]+)?)`", README)
    assert paths
    assert [path for path in paths if not (ROOT / path).exists()] == []
    addresses = re.findall(r"`(/[\w./-]+/)`", README)
    assert {"/tablet/", "/guide/", "/api/v1/docs/"} <= set(addresses)
    for address in addresses:
        if address != "/api/v1/":  # the root of many
            resolve(address)


def test_the_pictures_of_the_readme_are_small_and_say_what_they_show() -> None:
    assert 4 <= len(PICTURES) <= 6
    for told, path in PICTURES:
        assert len(told) > 20
        assert (ROOT / path).stat().st_size < 150_000
        with Image.open(ROOT / path) as picture:
            assert picture.format == "PNG"
            assert min(picture.size) >= 800
    kept = {f"fixtures/pictures/{path.name}" for path in (ROOT / "fixtures/pictures").iterdir()}
    assert kept == {path for _, path in PICTURES}
