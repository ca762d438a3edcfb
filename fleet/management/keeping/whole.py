"""A backup and a restore from beginning to end."""

import os
import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connection, models
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from fleet.management.keeping import manifest as papers
from fleet.management.keeping import postgres, sqlite
from fleet.management.keeping.manifest import Manifest, Unfit

# What a fresh installation holds after its migrations, and what comes and goes.
NOT_A_FLEET = {"contenttypes.ContentType", "auth.Permission", "sessions.Session"}


def back_up(folder: Path) -> Manifest:
    """Write a backup into a new folder; until it is whole it has another name."""
    if folder.exists():
        raise Unfit(f"{folder} exists. A backup goes into a new folder, so that no older one is lost.")
    partial = folder.with_name(f"{folder.name}.partial")
    shutil.rmtree(partial, ignore_errors=True)
    mask = os.umask(0o077)  # the copy holds the digests of passwords
    try:
        partial.mkdir(parents=True)
        tables = _way().dump(partial)
        # After the database: whatever a row names was there when the row was written.
        papers.copy_files(partial)
        made = Manifest(timezone.now().isoformat(), connection.vendor, _way().server(), applied(), tables)
        made.files = {path.relative_to(partial).as_posix(): papers.digest_of(path) for path in papers.files_in(partial)}
        made.write(partial)
        partial.rename(folder)
    except OSError as error:
        raise Unfit(f"The backup could not be written: {error}. Nothing was changed.") from error
    finally:
        os.umask(mask)
        shutil.rmtree(partial, ignore_errors=True)
    return made


def restore(folder: Path, *, replace: bool) -> Manifest:
    """Put a backup in the place of this installation's data, and hold every table to its digest."""
    manifest = papers.read(folder)
    _refuse_foreign(manifest)
    if not replace and (held := fleet_here()):
        raise Unfit(
            f"This installation holds data already ({held}). Restore into an empty one, or add --replace to give up "
            "what is here."
        )
    papers.verify(folder, manifest)
    settings.VAR_DIR.mkdir(parents=True, exist_ok=True)
    stage = Path(tempfile.mkdtemp(prefix="restoring-", dir=settings.VAR_DIR))
    try:
        papers.stage_files(folder, stage)
        found = _way().load(folder, manifest)
        papers.change_over(stage)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    wrong = sorted(name for name in manifest.tables.keys() | found if manifest.tables.get(name) != found.get(name))
    if wrong:
        raise Unfit(f"Restored, but these tables are not as they were: {', '.join(wrong)}. Do not work with it.")
    return manifest


def applied() -> list[str]:
    """Return the migrations that the database has been through."""
    return sorted(".".join(key) for key in MigrationLoader(connection).applied_migrations)


def waiting(manifest: Manifest) -> list[str]:
    """Return the migrations of this version that a restored database has yet to go through."""
    known = {".".join(key) for key in MigrationLoader(None).disk_migrations}
    return sorted(known - set(manifest.migrations))


def fleet_here(leave_out: Sequence[str] = ()) -> str:
    """Say which data this installation holds, or nothing when it is as the migrations leave it."""
    tables = set(connection.introspection.table_names())
    told = []
    for model in apps.get_models(include_auto_created=True):
        if model._meta.label in NOT_A_FLEET | set(leave_out) or model._meta.db_table not in tables:
            continue
        rows: models.Manager[Any] = model._base_manager
        if rows.exists():
            told.append(f"{rows.count()} of {model._meta.db_table}")
    told += [f"files in {folder}" for folder in papers.folders().values() if any(papers.files_in(folder))]
    return ", ".join(told[:3]) + (" and more" if len(told) > 3 else "")


def _way() -> ModuleType:
    return postgres if connection.vendor == "postgresql" else sqlite


def _refuse_foreign(manifest: Manifest) -> None:
    if manifest.vendor != connection.vendor:
        raise Unfit(
            f"The backup is of {manifest.server}, this installation uses {_way().server()}. Carry the data over with "
            "export_fleet there and import_fleet here."
        )
    known = {".".join(key) for key in MigrationLoader(None).disk_migrations}
    ours = {app.label for app in apps.get_app_configs()}
    if newer := [name for name in manifest.migrations if name not in known and name.partition(".")[0] in ours]:
        raise Unfit(f"The backup was made by another version (it knows {newer[0]}). Install that version first.")
