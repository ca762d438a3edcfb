"""Every table into its file, as it was at one moment."""

import csv
import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.utils import timezone

from fleet.management.keeping.manifest import Unfit, digest_of, files_in
from fleet.management.keeping.whole import applied
from fleet.management.openfiles.cells import writer
from fleet.management.openfiles.schema import PROFILE, resource
from fleet.management.openfiles.tables import Table, left_out, tables

PACKAGE = "datapackage.json"
PHOTOS = "photos"
CHUNK = 2_000


def export(folder: Path) -> dict[str, Any]:
    """Write a new folder of files and return its description."""
    if folder.exists():
        raise Unfit(f"{folder} exists. The files go into a new folder, so that none is overwritten.")
    partial = folder.with_name(f"{folder.name}.partial")
    shutil.rmtree(partial, ignore_errors=True)
    try:
        partial.mkdir(parents=True)
        with _one_moment():
            resources = [_write(table, partial) for table in tables()]
            migrations = applied()
        package = {**_package(migrations), "resources": resources, "photographs": _photographs(partial)}
        (partial / PACKAGE).write_text(json.dumps(package, indent=1, ensure_ascii=False) + "\n")
        partial.rename(folder)
    except OSError as error:
        raise Unfit(f"The files could not be written: {error}.") from error
    finally:
        shutil.rmtree(partial, ignore_errors=True)
    return package


def _package(migrations: list[str]) -> dict[str, Any]:
    return {
        "$schema": PROFILE,
        "name": "wastegate-register",
        "title": "All that the Wastegate Register holds of a fleet",
        "description": (
            "One CSV file a table, with its history; import_fleet reads them back into an empty installation. Cells "
            "are exactly what is on record: a spreadsheet program may take one that begins with = + - or @ for a "
            "formula, so open these files there as text."
        ),
        "created": timezone.now().isoformat(),
        "left_out": left_out(),
        "migrations": migrations,
    }


def _write(table: Table, folder: Path) -> dict[str, Any]:
    path = folder / f"{table.name}.csv"
    writers = [writer(field) for field in table.fields]
    names = [field.attname for field in table.fields]
    rows = table.model._base_manager.order_by(*[field.attname for field in table.model._meta.pk_fields])
    count = 0
    with path.open("w", newline="", encoding="utf-8") as file:
        lines = csv.writer(file, lineterminator="\n")
        lines.writerow(table.columns)
        for row in rows.values_list(*names).iterator(CHUNK):
            lines.writerow([write(value) for write, value in zip(writers, row, strict=True)])
            count += 1
    return resource(table, digest_of(path), path.stat().st_size, count)


def _photographs(folder: Path) -> dict[str, str]:
    """Copy the photographs and return the digest of each, by its place in its own folder."""
    photos = settings.VAR_DIR / PHOTOS
    for path in files_in(photos):
        target = folder / PHOTOS / path.relative_to(photos)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    kept = folder / PHOTOS
    return {path.relative_to(kept).as_posix(): digest_of(path) for path in files_in(kept)}


@contextmanager
def _one_moment() -> Iterator[None]:
    """See one state of the whole database without keeping anybody from writing."""
    if connection.in_atomic_block:  # the caller's own moment
        yield
        return
    begin = "BEGIN" if connection.vendor == "sqlite" else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
    with connection.cursor() as cursor:
        cursor.execute(begin)
        try:
            yield
        finally:
            cursor.execute("COMMIT")
