"""What every test may use."""

import gc
import os
import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from playwright.sync_api import expect
from xdist.scheduler import LoadFileScheduling

from tests.chromium import CHROMIUM

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_serialized_rollback", "live_server", "admin_client"}
SHARED = "tests/demo/whole/"
PURE = ("tests/measurement/", "tests/rules/")
# A busy machine is late, not wrong.
expect.set_options(timeout=20_000)
WRITES = re.compile(r"^\s*(INSERT|UPDATE|DELETE|REPLACE|CREATE|ALTER|DROP)\b", re.IGNORECASE)


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Run tests in the order of their files, so that a run can be had again; SHUFFLE=7 draws another order from 7."""
    order = os.environ.get("SHUFFLE")
    config.option.randomly_reorganize = bool(order)
    if order or getattr(config.option, "randomly_seed", "") == "default":
        config.option.randomly_seed = int(order or 1)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep the core's tests free of the database; tests that open a page drive a browser."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        uses_database = item.get_closest_marker("django_db") or fixtures & DATABASE_FIXTURES
        if uses_database and str(item.path.relative_to(settings.BASE_DIR)).startswith(PURE):
            raise pytest.UsageError(f"{item.nodeid} tests the pure core and must not use the database.")
        if "page" in fixtures:
            # On a busy machine a browser may be late once; the summary names what was run again, and twice is a fault.
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.flaky(reruns=1))


class ByFile(LoadFileScheduling):
    """Give a worker one file after the other, and all that shares the whole demonstration together."""

    def _split_scope(self, nodeid: str) -> str:
        return SHARED if nodeid.startswith(SHARED) else super()._split_scope(nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByFile | None:
    return ByFile(config, log) if config.getvalue("dist") == "loadfile" else None


def pytest_collection_finish() -> None:
    """What is loaded by now stays: the collector need not look it through again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> None:
    """Note every migration as made, as it is where the program runs."""
    with django_db_blocker.unblock():
        recorder = MigrationRecorder(connection)
        recorder.ensure_schema()
        for app, name in sorted(MigrationLoader(None).disk_migrations):
            recorder.record_applied(app, name)


@pytest.fixture(scope="module")
def kept(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """What a module's fixtures make once for all its tests; each test takes back what it wrote itself."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def no_writes() -> Callable[[], AbstractContextManager[None]]:
    """Return a context in which the database refuses every write, for what must only read."""

    def refuse(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        assert not WRITES.match(sql), f"A read wrote to the database: {sql[:200]}"
        return execute(sql, params, many, context)

    @contextmanager
    def context() -> Iterator[None]:
        with connection.execute_wrapper(refuse):
            yield

    return context


@pytest.fixture
def signed_in() -> Callable[[Any], Client]:
    """Return a function that gives a client signed in as a person, or anonymous for None."""

    def sign_in(user: Any) -> Client:
        client = Client()
        if user is not None:
            client.force_login(user)
        return client

    return sign_in


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """Debian's chromium, as pytest-playwright asks for it."""
    quiet = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
    return {"executable_path": CHROMIUM, "args": quiet}


def without_departures(complaints: list[str]) -> list[str]:
    """Leave out what htmx says, in two lines, of a fragment on its way when its page was left."""
    kept: list[str] = []
    for told in complaints:
        if told.startswith("htmx:sendAbort") and kept and kept[-1].startswith("htmx:afterRequest"):
            kept.pop()
        else:
            kept.append(told)
    return kept


@pytest.fixture
def console(page: Any) -> Iterator[list[str]]:
    """Collect what the page complains about; a test that uses it fails when anything was."""
    complaints: list[str] = []
    page.on("console", lambda line: complaints.append(line.text) if line.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield complaints
    assert without_departures(complaints) == [], "The browser's console is not empty."


@pytest.fixture
def enter(page: Any, live_server: Any) -> Callable[[Any, str], Any]:
    """Return a function that opens an address of the live server, signed in as a person."""

    def open_as(user: Any, address: str = "/") -> Any:
        client = Client()
        client.force_login(user)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        page.goto(live_server.url + address)
        return page

    return open_as


def pictures(page: Any, *, whole: bool) -> Callable[[str], None]:
    """Return what keeps a picture of the page under SHOTS_DIR; without that, nothing is taken, which is slow."""
    folder = os.environ.get("SHOTS_DIR")

    def keep(name: str) -> None:
        if folder:
            page.screenshot(path=str(Path(folder) / f"{name}.png"), full_page=whole, caret="initial")

    return keep


@pytest.fixture
def shoot(page: Any) -> Callable[[str], None]:
    """Return a function that keeps a picture of the whole page under SHOTS_DIR."""
    return pictures(page, whole=True)


@pytest.fixture
def snap(page: Any) -> Callable[[str], None]:
    """Return a function that keeps a picture of what is on the screen, without what would have to be scrolled to."""
    return pictures(page, whole=False)
