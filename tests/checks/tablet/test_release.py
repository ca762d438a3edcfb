"""The app as it is installed: its page, its files, its manifest, and its size."""

import gzip
import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from PIL import Image

from checks.tablet import release
from fleet.web.storage import OURS
from tests.house.draw_icons import FOLDER, SIZES, draw

MODULES = sorted(FOLDER.rglob("*.js"))
# Drawn with the readings, or fetched when a label is scanned: no part of what every screen needs.
CHARTS_AND_SCAN = {"plot.js", "strip.js", "scan.js"}
LIMIT = 100 * 1024
IMPORT = re.compile(r"""(?:from|import)\s*\(?\s*["'](\.[^"']+)["']""")


@pytest.fixture
def installed() -> str:
    return Client().get(reverse("checks:tablet")).content.decode()


def test_the_page_is_the_same_for_everybody_and_runs_no_inline_script(installed: str) -> None:
    assert 'src="/static/checks/tablet/app.js"' in installed
    assert re.findall(r"<script(?![^>]*\bsrc=)", installed) == []
    assert "csrf" not in installed


def test_the_worker_keeps_every_file_of_the_app() -> None:
    answer = Client().get(reverse("checks:tablet_worker"))
    about = json.loads(re.search(r"self\.release = (\{.*\});", answer.content.decode())[1])  # type: ignore[index]
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert about["version"] == release.release()
    kept = {path.removeprefix("/static/") for path in about["files"]}
    assert {f"checks/tablet/{path.relative_to(FOLDER).as_posix()}" for path in MODULES} - kept == {
        "checks/tablet/worker.js"
    }
    assert all(finders.find(name) for name in kept)


def test_another_file_makes_another_version(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    settings.DEBUG = True
    before = release.release()
    assert release.release() == before
    monkeypatch.setattr(release, "SHARED", (*release.SHARED, "fleet/img/mark.svg"))
    assert release.release() != before


def test_the_manifest_asks_for_what_the_standard_names() -> None:
    """W3C Web Application Manifest: name, start_url within scope, display, icons with sizes and type."""
    about = json.loads(Client().get(reverse("checks:tablet_manifest")).content)
    assert about["start_url"].startswith(about["scope"])
    assert about["display"] == "standalone"
    assert {icon["sizes"] for icon in about["icons"]} >= {"192x192", "512x512"}
    assert {icon["purpose"] for icon in about["icons"]} == {"any", "maskable"}


@pytest.mark.parametrize("size", SIZES)
def test_the_icons_are_the_ones_that_are_drawn(size: int) -> None:
    with Image.open(FOLDER / f"icon-{size}.png") as kept:
        assert kept.size == (size, size)
        assert list(kept.convert("RGB").getdata()) == list(draw(size).getdata())


def imports_of(path: Path) -> list[Path]:
    return [(path.parent / name).resolve() for name in IMPORT.findall(path.read_text())]


def test_every_import_leads_to_a_file_of_ours_and_none_in_a_circle() -> None:
    """The storage that renames files by their content needs both."""
    graph = {path.resolve(): imports_of(path) for path in MODULES}
    assert [target for targets in graph.values() for target in targets if not target.exists()] == []
    left = dict(graph)
    while left:
        leaves = [path for path, targets in left.items() if not set(targets) & set(left)]
        assert leaves, f"In a circle: {sorted(path.name for path in left)}"
        for path in leaves:
            del left[path]
    assert OURS == "checks/tablet/*.js"


def test_the_script_is_within_its_budget() -> None:
    """100 KB at most as it travels, charts apart; what draws the first screen also unpacked."""
    counted = [path for path in MODULES if path.name not in CHARTS_AND_SCAN and "code" not in path.parts]
    travels = sum(len(gzip.compress(path.read_bytes())) for path in counted)
    first: set[Path] = set()
    waiting = [(FOLDER / "app.js").resolve()]
    while waiting:
        path = waiting.pop()
        if path not in first:
            first.add(path)
            waiting += static_imports(path)
    unpacked = sum(path.stat().st_size for path in first)
    print(f"script: {travels} bytes as it travels; the first screen {unpacked} bytes unpacked, {len(first)} files")
    assert travels <= LIMIT
    assert unpacked <= LIMIT


def static_imports(path: Path) -> list[Path]:
    found = re.findall(r"""from\s*["'](\.[^"']+)["']""", path.read_text())
    return [(path.parent / name).resolve() for name in found]
