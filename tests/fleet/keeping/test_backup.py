"""A backup is restored and compared with what was there, read by the framework and not by the backup's own digests."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from checks.models import CheckPhoto
from fleet.management.keeping import postgres, sqlite
from fleet.management.keeping.whole import fleet_here
from fleet.models import Truck
from tests.factories import TruckFactory
from tests.world import make_world

pytestmark = pytest.mark.django_db(transaction=True)

FILE = postgres.FILE if connection.vendor == "postgresql" else sqlite.FILE


def everything() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, as the framework reads it."""
    return {
        model._meta.label: [
            tuple(bytes(value) if isinstance(value, memoryview) else value for value in row)
            for row in model._base_manager.order_by("pk").values_list()
        ]
        for model in apps.get_models(include_auto_created=True)
    }


def files() -> dict[str, bytes]:
    root = Path(settings.VAR_DIR)
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for folder in ("photos", "media")
        for path in (root / folder).rglob("*")
        if path.is_file()
    }


@pytest.fixture
def kept_world(tmp_path: Path) -> Path:
    """A backup of one row of everything."""
    make_world()
    call_command("backup", tmp_path / "kept", verbosity=0)
    return tmp_path / "kept"


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A backup of a truck and a picture."""
    TruckFactory()
    picture = settings.VAR_DIR / "photos" / "dial.jpg"
    picture.parent.mkdir(exist_ok=True)
    picture.write_bytes(b"a picture of a dial")
    call_command("backup", tmp_path / "kept", verbosity=0)
    return tmp_path / "kept"


def test_what_was_changed_after_the_backup_is_undone_by_its_restore(kept_world: Path) -> None:
    rows, held = everything(), files()
    assert sum(map(len, rows.values())) > 100
    assert any(name.startswith("photos/") for name in held)
    Truck.objects.update(description="changed since")
    photo = Path(CheckPhoto.objects.get().image.path)
    photo.write_bytes(b"another picture")
    (settings.VAR_DIR / "photos" / "later.jpg").write_bytes(b"later")
    call_command("restore", kept_world, replace=True, verbosity=0)
    assert everything() == rows
    assert files() == held


def test_a_backup_fills_an_empty_installation(kept_world: Path) -> None:
    rows, held = everything(), files()
    call_command("flush", interactive=False, verbosity=0)
    for name in held:
        (settings.VAR_DIR / name).unlink()
    assert fleet_here() == ""
    call_command("restore", kept_world, verbosity=0)
    assert everything() == rows
    assert files() == held
    assert TruckFactory().pk not in {row[0] for row in rows["fleet.Truck"]}


def test_a_restore_refuses_to_overwrite_a_fleet(kept: Path) -> None:
    rows = everything()
    with pytest.raises(CommandError, match=r"holds data already .* add --replace"):
        call_command("restore", kept)
    assert everything() == rows


@pytest.mark.parametrize("name", [FILE, "photos"])
def test_a_backup_with_a_byte_changed_restores_nothing(kept: Path, name: str) -> None:
    rows = everything()
    path = kept / name if name == FILE else next(path for path in (kept / name).rglob("*") if path.is_file())
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    with pytest.raises(CommandError, match=r"is not as it was written\. Nothing was restored"):
        call_command("restore", kept, replace=True)
    assert everything() == rows


def told(kept: Path, **changes: Any) -> None:
    """Change what a backup says of itself."""
    manifest = json.loads((kept / "manifest.json").read_text())
    (kept / "manifest.json").write_text(json.dumps(manifest | changes))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"vendor": "oracle"}, "Carry the data over with export_fleet"),
        ({"migrations": ["fleet.9999_later"]}, "made by another version .it knows fleet.9999_later"),
        ({"form": 2}, "Restore it with its own version"),
        ({"files": {"../outside": "0"}}, "lies outside the backup"),
        ({"files": {"photos/none.jpg": "0"}}, "none.jpg is missing from the backup"),
        ({"tables": 3}, "cannot be read"),
    ],
)
def test_what_is_no_backup_of_this_installation_is_refused(kept: Path, changes: dict[str, Any], sentence: str) -> None:
    told(kept, **changes)
    with pytest.raises(CommandError, match=sentence):
        call_command("restore", kept, replace=True)


def test_a_folder_without_a_manifest_is_no_backup(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="it is no backup"):
        call_command("restore", tmp_path)


def test_a_backup_never_overwrites_an_older_one(kept: Path) -> None:
    with pytest.raises(CommandError, match="A backup goes into a new folder"):
        call_command("backup", kept)


def test_a_backup_is_for_its_owner_alone(kept: Path) -> None:
    assert [path for path in (kept, *kept.rglob("*")) if path.stat().st_mode & 0o077] == []


def test_a_table_that_came_back_different_is_named(kept: Path) -> None:
    tables = json.loads((kept / "manifest.json").read_text())["tables"]
    told(kept, tables=tables | {"fleet_truck": {"rows": 99, "sha256": "0"}})
    with pytest.raises(CommandError, match="these tables are not as they were: fleet_truck"):
        call_command("restore", kept, replace=True)


@pytest.mark.skipif(connection.vendor != "postgresql", reason="the versions of two programs meet on PostgreSQL alone")
def test_an_older_server_is_named(kept: Path) -> None:
    told(kept, server="PostgreSQL 99")
    with pytest.raises(CommandError, match="comes from PostgreSQL 99, this server is older"):
        call_command("restore", kept, replace=True)


@pytest.mark.parametrize(("told", "major"), [("pg_dump (PostgreSQL) 15.8 (Debian 15.8-0)", 15), ("PostgreSQL 17", 17)])
def test_a_version_is_read(told: str, major: int) -> None:
    assert postgres._major(told) == major
