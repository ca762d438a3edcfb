"""A release is told once, and is kept with its schema."""

import re
import tomllib

from django.conf import settings

from reports.pages.upkeep import versions
from tests.house.source import ROOT

NEWEST_FIRST = re.findall(r"^## (\d+\.\d+\.\d+)\b", (ROOT / "CHANGELOG.md").read_text(), re.MULTILINE)
NEWEST = NEWEST_FIRST[0]


def test_the_version_is_the_newest_release_of_the_changelog() -> None:
    assert tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"] == NEWEST
    assert NEWEST == settings.RELEASE
    assert settings.SPECTACULAR_SETTINGS["VERSION"] == NEWEST


def test_the_lock_names_the_same_version() -> None:
    locked = tomllib.loads((ROOT / "uv.lock").read_text())["package"]
    assert [row["version"] for row in locked if row["name"] == "wastegate-register"] == [NEWEST]


def test_releases_stand_in_their_order_the_newest_first() -> None:
    numbers = [tuple(map(int, release.split("."))) for release in NEWEST_FIRST]
    assert numbers == sorted(set(numbers), reverse=True)


def test_the_schema_of_every_release_is_kept() -> None:
    kept = {path.name.removesuffix(".sql.gz") for path in (ROOT / "tests/upgrade/released").glob("*.sql.gz")}
    assert kept == set(NEWEST_FIRST)


def test_whoever_runs_it_can_read_which_release_runs(db: None) -> None:
    assert ("this register", NEWEST) in versions()
