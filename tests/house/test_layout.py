"""The house keeps its shape."""

import gzip
import re
import subprocess

from tests.house.source import PACKAGES, ROOT

TOP = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "manage.py", "pyproject.toml", "uv.lock", "Makefile",
    "Dockerfile", "docker-compose.yml", "fleet", "checks", "reports", "tests", "fixtures",
}  # fmt: skip
NAMELESS = {"utils.py", "helpers.py", "misc.py", "common.py", "signals.py", "managers.py"}


def test_the_top_level_holds_only_what_was_agreed() -> None:
    tracked = subprocess.run(["git", "ls-tree", "--name-only", "HEAD"], cwd=ROOT, capture_output=True, text=True)
    names = tracked.stdout.split() if tracked.returncode == 0 else [path.name for path in ROOT.iterdir()]
    assert {name for name in names if not name.startswith(".") and name != "var"} <= TOP


def test_no_module_is_named_after_nothing() -> None:
    assert [path for package in PACKAGES for path in (ROOT / package).rglob("*.py") if path.name in NAMELESS] == []


def test_the_tests_are_no_package() -> None:
    """But for the folder whose shared fixture must end with it."""
    assert list((ROOT / "tests").rglob("__init__.py")) == [ROOT / "tests/demo/whole/__init__.py"]


def test_a_released_migration_is_still_there() -> None:
    """A database of a release could not come up to date without it."""
    for release in (ROOT / "tests/upgrade/released").glob("*.sql.gz"):
        dump = gzip.decompress(release.read_bytes()).decode()
        applied = re.findall(r'INSERT INTO "django_migrations" VALUES\(\d+,\'(\w+)\',\'(\w+)\'', dump)
        ours = [(app, name) for app, name in applied if app in PACKAGES]
        assert ours, release.name
        assert [f"{app} {name}" for app, name in ours if not (ROOT / app / f"migrations/{name}.py").exists()] == []
