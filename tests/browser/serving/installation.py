"""An installation of one's own as ``make serve`` starts it: real processes, an empty database, a folder of its own."""

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection

from fleet.management.commands.serve import wait_until_up
from tests.ports import free_port

SETTINGS = "tests.browser.serving.settings"
PATIENCE_S = 120


@contextmanager
def installation(folder: Path) -> Iterator[str]:
    """The address of an empty register with its server and its worker; both end with the block."""
    environment = _environment(folder)
    _manage(environment, "collectstatic", "--noinput", "--verbosity", "0", "-i", "redoc")
    if not _copy_schema(folder / "register.sqlite3"):
        _manage(environment, "migrate", "--verbosity", "0")
    port = free_port()
    with (folder / "serve.log").open("wb") as log:
        started = subprocess.Popen(
            [sys.executable, "manage.py", "serve", str(port)],
            cwd=settings.BASE_DIR, env=environment, stdout=log, stderr=subprocess.STDOUT,
        )  # fmt: skip
        try:
            wait_until_up(f"http://127.0.0.1:{port}/", [started], seconds=PATIENCE_S)
            yield f"http://localhost:{port}"
        finally:
            started.send_signal(signal.SIGINT)
            started.wait(timeout=PATIENCE_S)


def _environment(folder: Path) -> dict[str, str]:
    ours = ("DATABASE_URL", "REDIS_URL", "SECRET_KEY", "DJANGO_ALLOW_ASYNC_UNSAFE")
    kept = {name: value for name, value in os.environ.items() if name not in ours}
    return kept | {"LOCAL": "1", "DEBUG": "0", "VAR_DIR": str(folder), "DJANGO_SETTINGS_MODULE": SETTINGS}


def _manage(environment: dict[str, str], *words: str) -> None:
    subprocess.run([sys.executable, "manage.py", *words], cwd=settings.BASE_DIR, env=environment, check=True)


def _copy_schema(target: Path) -> bool:
    """Take the tables that this run of the tests has migrated already: the same in a moment. False on PostgreSQL."""
    if connection.vendor != "sqlite":
        return False
    with closing(sqlite3.connect(connection.settings_dict["NAME"])) as made, closing(sqlite3.connect(target)) as own:
        made.backup(own)
    return True
