"""The first hour, end to end: an empty installation, a fleet, a check on the tablet, a month of trips, a review."""

import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.serving import setting_up as manager
from tests.browser.serving.at_work import bring_in_trips, read_fuel, review, see_the_verdict
from tests.browser.serving.in_the_bay import check_on_the_tablet
from tests.browser.serving.installation import installation
from tests.conftest import without_departures
from tests.first_hour import ZONE

pytestmark = pytest.mark.django_db(transaction=True)


class Clock:
    """What each stage took."""

    def __init__(self) -> None:
        self.took: list[tuple[str, float]] = []

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        began = time.monotonic()
        yield
        self.took.append((name, time.monotonic() - began))

    @property
    def told(self) -> str:
        rows = [*self.took, ("in all", sum(seconds for _, seconds in self.took))]
        return "\n".join(["", "the first hour", *(f"  {seconds:6.1f} s  {name}" for name, seconds in rows)])


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: dict[str, Any]) -> dict[str, Any]:
    return browser_context_args | {"timezone_id": ZONE}


@pytest.fixture
def clock(capsys: pytest.CaptureFixture[str]) -> Iterator[Clock]:
    kept = Clock()
    yield kept
    with capsys.disabled():
        print(kept.told, file=sys.stderr)


@pytest.fixture
def register(tmp_path: Path, clock: Clock, transactional_db: None) -> Iterator[str]:
    """The address of an empty installation."""
    with ExitStack() as stack:
        with clock.stage("server and worker start"):
            address = stack.enter_context(installation(tmp_path))
        yield address


@pytest.fixture
def quiet(page: Page) -> Iterator[None]:
    """No complaint of the browser but that a refused form was answered with 422."""
    complaints: list[str] = []
    page.on("console", lambda line: complaints.append(line.text) if line.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield
    assert without_departures([told for told in complaints if "422" not in told]) == []


def test_from_an_empty_installation_to_a_review_in_one_sitting(
    register: str, page: Page, browser: Browser, quiet: None, clock: Clock
) -> None:
    with clock.stage("the first person and the first depot"):
        manager.begin(page, register)
    with clock.stage("a specification from paper, wrong first"):
        manager.specify(page)
    with clock.stage("two instruments with certificates"):
        manager.calibrate(page)
    with clock.stage("twenty trucks from a file, one line wrong first"):
        manager.bring_in_trucks(page)
    with clock.stage("two trucks by hand"):
        manager.type_in_truck(page, "H21")
        manager.type_in_truck(page, "H22")
    with clock.stage("a technician"):
        manager.add_technician(page)
    with clock.stage("a check on the tablet without a network"):
        check_on_the_tablet(browser, register)
    with clock.stage("the verdict on the board"):
        see_the_verdict(page, register)
    with clock.stage("a month of trips"):
        bring_in_trips(page, register)
    with clock.stage("the page of fuel"):
        read_fuel(page, register)
    with clock.stage("a review as PDF, workbook and CSV"):
        review(page, register)
