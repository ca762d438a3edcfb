"""PostgreSQL: pg_dump and psql, held to one snapshot and to one transaction."""

import hashlib
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
from django.db import connection
from psycopg import sql
from psycopg.conninfo import make_conninfo

from fleet.management.keeping.manifest import Contents, Manifest, Unfit

FILE = "database.pgdump"
# What programs of every version know; the library that we connect with may be newer than they are.
UNDERSTOOD = {"host", "port", "user", "dbname", "sslmode", "sslrootcert", "sslcert", "sslkey", "passfile"}
TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = current_schema() ORDER BY tablename"
KEYS = """
    SELECT a.attname FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = ANY(i.indkey)
    WHERE i.indrelid = %s::regclass AND i.indisprimary ORDER BY array_position(i.indkey::int2[], a.attnum)
"""


def server() -> str:
    """Return the server's name and version."""
    return f"PostgreSQL {_version()}"


def dump(folder: Path) -> dict[str, Contents]:
    """Write the database into `folder` and return what it held at the same moment."""
    tool = _tool("pg_dump")
    with _snapshot() as (session, snapshot):
        command = [tool, "--format=custom", "--no-owner", "--no-privileges", f"--snapshot={snapshot}"]
        _run([*command, f"--file={folder / FILE}", f"--dbname={_address()}"])
        return _contents(session)


def load(folder: Path, manifest: Manifest) -> dict[str, Contents]:
    """Replace the database's contents by the copy's, in one transaction, and return what it holds now."""
    if _major(manifest.server) > _version():
        raise Unfit(
            f"The backup comes from {manifest.server}, this server is older ({server()}). Restore on {manifest.server} "
            "or newer, or carry the data over with export_fleet and import_fleet."
        )
    script = folder.parent / f".{folder.name}.sql"
    tool, psql = _tool("pg_restore"), _tool("psql")
    try:
        script.touch(mode=0o600)
        with script.open("w") as file:
            file.writelines(f"DROP TABLE {name} CASCADE;\n" for name in _quoted_tables())
            file.flush()
            command = [tool, "--no-owner", "--no-privileges", "--file=-", str(folder / FILE)]
            _run(command, stdout=file)
        connection.close()
        strict = ["-X", "-q", "-v", "ON_ERROR_STOP=1", "--single-transaction", f"--file={script}"]
        _run([psql, *strict, _address()], stdout=subprocess.DEVNULL)
    finally:
        script.unlink(missing_ok=True)
    with _snapshot() as (session, _):
        return _contents(session)


def _version() -> int:
    connection.ensure_connection()
    return int(connection.connection.info.server_version) // 10_000


def _quoted_tables() -> list[str]:
    with _session() as session:
        return [sql.Identifier(name).as_string(session) for (name,) in session.execute(TABLES).fetchall()]


@contextmanager
def _session() -> Iterator[psycopg.Connection]:
    with psycopg.connect(_address(), password=_password(), autocommit=True) as session:
        # Digests are of texts, which must not depend on where the session comes from.
        session.execute("SET TIME ZONE 'UTC'")
        session.execute("SET DateStyle TO ISO")
        yield session


@contextmanager
def _snapshot() -> Iterator[tuple[psycopg.Connection, str]]:
    with _session() as session:
        session.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        row = session.execute("SELECT pg_export_snapshot()").fetchone()
        yield session, row[0] if row else ""
        session.execute("COMMIT")


def _contents(session: psycopg.Connection) -> dict[str, Contents]:
    return {name: _digest(session, name) for (name,) in session.execute(TABLES).fetchall()}


def _digest(session: psycopg.Connection, table: str) -> Contents:
    name = sql.Identifier(table)
    keys = [sql.Identifier(key) for (key,) in session.execute(KEYS, [name.as_string(session)]).fetchall()]
    order = sql.SQL(" ORDER BY {}").format(sql.SQL(", ").join(keys)) if keys else sql.SQL("")
    digest, rows = hashlib.sha256(), 0
    query = sql.SQL("COPY (SELECT * FROM {}{}) TO STDOUT").format(name, order)
    with session.cursor() as cursor, cursor.copy(query) as lines:
        for data in lines:
            digest.update(data)
            rows += bytes(data).count(b"\n")
    return Contents(rows, digest.hexdigest())


def _address() -> str:
    """Return where the database is, without the password, which would stand in the list of processes."""
    connection.ensure_connection()
    told = connection.connection.info.get_parameters()
    return make_conninfo(**{name: value for name, value in told.items() if name in UNDERSTOOD})


def _password() -> str | None:
    connection.ensure_connection()
    return connection.connection.info.password or None


def _tool(name: str) -> str:
    """Return the program, or say what to install; it must not be older than the server."""
    found = shutil.which(name) or max(map(str, Path("/usr/lib/postgresql").glob(f"*/bin/{name}")), default="")
    if not found:
        raise Unfit(f"{name} is not installed. Install PostgreSQL's client programs (Debian: postgresql-client).")
    told = subprocess.run([found, "--version"], capture_output=True, text=True, check=True).stdout  # noqa: S603
    if _major(told) < _version():
        raise Unfit(
            f"{told.strip()} is older than the server, {server()}. Install the client programs of version {_version()} "
            "or newer."
        )
    return found


def _major(text: str) -> int:
    found = re.search(r"(\d+)(?:\.\d+)?", text.partition(")")[2] or text)
    return int(found[1]) if found else 0


def _run(command: list[str], **options: Any) -> None:
    environment = os.environ | ({"PGPASSWORD": password} if (password := _password()) else {})
    done = subprocess.run(command, stderr=subprocess.PIPE, text=True, env=environment, **options)  # noqa: S603
    if done.returncode:
        raise Unfit(f"{Path(command[0]).name} failed: {done.stderr.strip()[-800:]}")
