"""SQLite: the online backup interface copies a database in use, as it was at one moment."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

from django.db import connection

from fleet.management.keeping.manifest import Contents, Manifest, Unfit

FILE = "database.sqlite3"


def server() -> str:
    """Return the version of the library."""
    return f"SQLite {sqlite3.sqlite_version}"


def dump(folder: Path) -> dict[str, Contents]:
    """Write the database into `folder` and return what the copy holds."""
    path = folder / FILE
    with closing(sqlite3.connect(_database())) as source, closing(sqlite3.connect(path)) as copy:
        source.backup(copy)
        # One file, without a log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")
        return _contents(copy)


def load(folder: Path, manifest: Manifest) -> dict[str, Contents]:
    """Replace the database's contents by the copy's, in one transaction, and return what it holds now."""
    connection.close()
    with closing(sqlite3.connect(folder / FILE)) as copy, closing(sqlite3.connect(_database())) as target:
        try:
            copy.backup(target)
        except sqlite3.OperationalError as error:
            raise Unfit(f"The database is in use ({error}). Stop the server and the worker, then try again.") from error
        return _contents(target)


def _database() -> Path:
    return Path(connection.settings_dict["NAME"])


def _contents(database: sqlite3.Connection) -> dict[str, Contents]:
    names = database.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    )
    return {name: _digest(database, name) for (name,) in names.fetchall()}


def _digest(database: sqlite3.Connection, table: str) -> Contents:
    columns = database.execute("SELECT name, pk FROM pragma_table_info(?)", [table]).fetchall()
    keys = [name for name, _ in sorted((row for row in columns if row[1]), key=lambda row: row[1])]
    order = ", ".join(f'"{name}"' for name in keys or [name for name, _ in columns])
    digest, rows = hashlib.sha256(), 0
    for row in database.execute(f'SELECT * FROM "{table}" ORDER BY {order}'):  # noqa: S608
        digest.update(f"{row!r}\n".encode())
        rows += 1
    return Contents(rows, digest.hexdigest())
