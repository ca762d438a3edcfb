"""The empty database of the tests: migrations build it once, then every process of tests begins with a copy.

SQLite only. A migration that changes, or another Django, makes another template; ``--create-db`` builds it anew.
"""

import hashlib
import os
import shutil
import sqlite3
from pathlib import Path

import django
from django.apps import apps
from django.conf import settings


def template_in(folder: Path) -> Path | None:
    """Where the database that the migrations make is kept; none where it is no file."""
    if not settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        return None
    digest = hashlib.sha256(f"{django.VERSION} {sqlite3.sqlite_version}".encode())
    for app in apps.get_app_configs():
        digest.update(app.label.encode())
        for file in sorted((Path(app.path) / "migrations").glob("*.py")):
            digest.update(file.name.encode() + file.read_bytes())
    return folder / f"{digest.hexdigest()[:16]}.sqlite3"


def database_file() -> Path:
    """The file on which this process of tests works."""
    return Path(settings.DATABASES["default"]["TEST"]["NAME"])


def begin_with(template: Path) -> bool:
    """Lay a copy of the template where the tests look for their database; whether there was one."""
    try:
        shutil.copyfile(template, database_file())
    except FileNotFoundError:
        return False
    return True


def keep(template: Path) -> None:
    """Keep the database just built for the next process, and no older one."""
    if not database_file().exists():
        return  # nothing that was collected asks for a database
    mine = template.with_suffix(f".{os.getpid()}")
    with sqlite3.connect(database_file()) as built, sqlite3.connect(mine) as copy:
        built.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
    for old in template.parent.glob("*.sqlite3"):
        old.unlink(missing_ok=True)
    mine.replace(template)
