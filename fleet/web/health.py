"""Whether this process lives, and whether it can do its work. Asked without a sign-in, so the answers name nothing."""

import os
import shutil
from collections.abc import Callable
from functools import cache

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse

from fleet.jobs import broker

# Below this an upload fails half-way and the database may stop; enough for one large file of trips.
LEAST_FREE_BYTES = 500 * 1024 * 1024
GOOD = "well"


def answer_live(request: HttpRequest) -> JsonResponse:
    """Answer 200 while the process answers at all: a supervisor restarts it when this fails, and nothing else."""
    return JsonResponse({"process": GOOD})


def answer_ready(request: HttpRequest) -> JsonResponse:
    """Answer 200 when requests can be served, else 503; each part says how it is.

    A silent broker is told but does not count: work then waits in the ledger for the next beat, and a web server
    that were taken away for it could not even record a check.
    """
    parts = {name: look() for name, look in LOOKS.items()}
    ready = all(parts[name] == GOOD for name in ("database", "schema", "disk"))
    return JsonResponse({"ready": ready, **parts}, status=200 if ready else 503)


def database() -> str:
    """Whether the database answers a query."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return "does not answer"
    return GOOD


def schema() -> str:
    """Whether the database has every migration of this code; one that it knows beyond them does no harm."""
    try:
        require_migrated()
    except NotMigrated:
        return "migrations wait: run 'manage.py migrate'"
    except DatabaseError:
        return "unknown"
    return GOOD


class NotMigrated(Exception):
    """The database lacks a migration of this code."""


@cache
def require_migrated() -> None:
    """Raise NotMigrated; the cache keeps only that nothing was raised, for as long as the process lives."""
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise NotMigrated


def disk() -> str:
    """Whether the folder of data can be written and has room."""
    if not os.access(settings.VAR_DIR, os.W_OK):
        return "cannot be written"
    return GOOD if shutil.disk_usage(settings.VAR_DIR).free >= LEAST_FREE_BYTES else "almost full"


def bell() -> str:
    """Whether the broker answers."""
    return GOOD if broker.answers() else "does not answer; jobs wait for the next beat"


LOOKS: dict[str, Callable[[], str]] = {"database": database, "schema": schema, "disk": disk, "broker": bell}
