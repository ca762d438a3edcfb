"""A database of each release comes up to date with all that it holds."""

import gzip
import hashlib
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

RELEASED = sorted((Path(__file__).parent / "released").glob("*.sql.gz"))
# Django's own lists of what it knows grow with every release.
LISTS = {"django_migrations", "django_content_type", "auth_permission", "sqlite_sequence"}


def test_at_least_one_release_is_kept() -> None:
    assert RELEASED


def opened(path: Path) -> sqlite3.Connection:
    """The database, with the one function of Django's that the constraints call."""
    database = sqlite3.connect(path)
    database.create_function("REGEXP", 2, lambda pattern, text: bool(re.search(pattern, str(text))))
    return database


def tables(database: sqlite3.Connection) -> dict[str, list[str]]:
    """Tables with their columns."""
    names = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    return {name: [row[1] for row in database.execute(f'PRAGMA table_info("{name}")')] for name in names}


def digests(database: sqlite3.Connection, wanted: dict[str, list[str]]) -> dict[str, tuple[int, str]]:
    """For each table how many rows it has, and a digest of the wanted columns."""
    found = {}
    for table, columns in wanted.items():
        named = ", ".join(f'"{column}"' for column in columns)
        rows = sorted(map(repr, database.execute(f'SELECT {named} FROM "{table}"')))
        found[table] = (len(rows), hashlib.sha256("\n".join(rows).encode()).hexdigest())
    return found


@pytest.mark.parametrize("release", RELEASED, ids=lambda path: path.name.removesuffix(".sql.gz"))
def test_a_database_of_a_release_keeps_every_row_on_its_way_to_this_code(release, tmp_path) -> None:
    path = tmp_path / "old.sqlite3"
    old = opened(path)
    old.executescript(gzip.decompress(release.read_bytes()).decode())
    before = {name: columns for name, columns in tables(old).items() if name not in LISTS}
    held = digests(old, before)
    old.close()
    env = os.environ | {"LOCAL": "1", "VAR_DIR": str(tmp_path), "DATABASE_URL": f"sqlite:///{path}"}
    for arguments in (["migrate", "--verbosity", "0"], ["migrate", "--check"], ["check"]):
        command = [sys.executable, "manage.py", *arguments]
        done = subprocess.run(command, cwd=settings.BASE_DIR, env=env, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr[-2000:]
    new = opened(path)
    after = tables(new)
    # What a later release takes out of the schema is written down here, with where its facts went.
    gone = {name: sorted(set(columns) - set(after.get(name, []))) for name, columns in before.items()}
    assert {name: columns for name, columns in gone.items() if columns} == {}
    assert digests(new, before) == held
    assert sum(rows for rows, _ in held.values()) > 100
    assert new.execute("PRAGMA foreign_key_check").fetchall() == []
    new.close()
