"""The files back into an empty installation, in one transaction: all of it or nothing."""

import csv
import json
import shutil
import sys
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction

from fleet.management.keeping.manifest import Unfit, digest_of, files_in
from fleet.management.keeping.whole import fleet_here
from fleet.management.openfiles.cells import reader
from fleet.management.openfiles.tables import Table, tables
from fleet.management.openfiles.writing import PACKAGE, PHOTOS
from fleet.models import User

CHUNK = 500
PASSWORD = User._meta.get_field("password")


def bring_back(folder: Path) -> dict[str, int]:
    """Read what `export` wrote and return how many rows each table got."""
    package = _package(folder)
    ours = tables()
    _verify(folder, package, ours)
    if held := fleet_here():
        raise Unfit(f"This installation holds data already ({held}). Bring a fleet into an empty one.")
    photos = settings.VAR_DIR / PHOTOS
    try:
        with transaction.atomic():
            counts = {table.name: _read(table, folder / f"{table.name}.csv") for table in ours}
            connection.check_constraints()
            _number_on(ours)
            if package["photographs"]:
                shutil.copytree(folder / PHOTOS, photos, dirs_exist_ok=True)
    except (DatabaseError, OSError) as error:
        for path in files_in(photos):  # there was none before
            path.unlink()
        raise Unfit(f"Nothing was brought in: {error}") from error
    return counts


def _package(folder: Path) -> dict[str, Any]:
    try:
        package: dict[str, Any] = json.loads((folder / PACKAGE).read_text())
        package["files"] = {row["path"]: row["hash"].removeprefix("sha256:") for row in package["resources"]}
        package["files"] |= {f"{PHOTOS}/{name}": digest for name, digest in package["photographs"].items()}
    except FileNotFoundError as error:
        raise Unfit(f"{folder} holds no {PACKAGE}. Give the folder that export_fleet wrote.") from error
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise Unfit(f"{folder / PACKAGE} cannot be read ({error}). Export the fleet again.") from error
    return package


def _verify(folder: Path, package: dict[str, Any], ours: list[Table]) -> None:
    told = {row["path"]: [field["name"] for field in row["schema"]["fields"]] for row in package["resources"]}
    known = {f"{table.name}.csv": table.columns for table in ours}
    if differing := sorted(name for name in told.keys() | known if told.get(name) != known.get(name)):
        raise Unfit(
            f"The files come from another version: {', '.join(differing[:5])} differ from this one's tables. "
            "Bring them into an installation of the version that wrote them, then update that."
        )
    for name, digest in package["files"].items():
        path = folder / name
        if not path.resolve().is_relative_to(folder.resolve()) or not path.is_file():
            raise Unfit(f"{name} is missing. Nothing was brought in; export the fleet again.")
        if digest_of(path) != digest:
            raise Unfit(
                f"{name} is not as it was written (a spreadsheet program may have saved it). Nothing was brought in; "
                "export the fleet again."
            )


def _read(table: Table, path: Path) -> int:
    """Insert a file's rows, past the framework's own notes of when a row was made."""
    fields = [*table.fields, *([PASSWORD] if table.model is User else [])]
    quote = connection.ops.quote_name
    names, holes = ", ".join(quote(str(field.column)) for field in fields), ", ".join(["%s"] * len(fields))
    statement = f"INSERT INTO {quote(table.name)} ({names}) VALUES ({holes})"  # noqa: S608
    count = 0
    values = _values(table, path)
    with connection.cursor() as cursor:
        while chunk := list(islice(values, CHUNK)):
            rows = [
                [field.get_db_prep_save(value, connection) for field, value in zip(fields, row, strict=True)]
                for row in chunk
            ]
            cursor.executemany(statement, rows)
            count += len(rows)
    return count


def _values(table: Table, path: Path) -> Iterator[list[Any]]:
    readers = [reader(field) for field in table.fields]
    # Nobody's password leaves the house: each person gets a new one from an administrator.
    rest = [make_password(None)] if table.model is User else []
    csv.field_size_limit(sys.maxsize)
    with path.open(newline="", encoding="utf-8") as file:
        lines = csv.reader(file)
        next(lines, None)
        for row in lines:
            try:
                yield [read(cell) for read, cell in zip(readers, row, strict=True)] + rest
            except (ValueError, KeyError, ValidationError) as error:
                raise Unfit(
                    f"{path.name}, line {lines.line_num} cannot be read: {error}. Nothing was brought in."
                ) from error


def _number_on(ours: list[Table]) -> None:
    """Let the numbers of new rows begin behind those brought in."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), [table.model for table in ours]):
            cursor.execute(statement)
