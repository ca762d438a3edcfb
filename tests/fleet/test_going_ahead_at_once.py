"""A hand that taps twice on a slow machine: the second word to go ahead comes before the first has ended."""

import time
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection

from fleet.imports import staging
from fleet.imports.staging import Staged, go_ahead, stage
from fleet.models import Truck
from tests.fleet.brought_in import FILES

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_second_tap_waits_and_finds_the_file_brought_in(crew: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    waiting = stage(user=crew.manager, kind="register", name="r.csv", content=(FILES / "register.csv").read_bytes())
    marked = staging.mark_applied

    def slowly(**given: Any) -> Staged:
        time.sleep(0.5)
        return marked(**given)

    def tap() -> Staged:
        try:
            return go_ahead(user=crew.manager, key=waiting.key)
        finally:
            connection.close()

    monkeypatch.setattr(staging, "mark_applied", slowly)
    with ThreadPoolExecutor(2) as hands:
        one, other = (tapped.result() for tapped in [hands.submit(tap), hands.submit(tap)])
    assert one == other
    assert one.applied_at
    assert Truck.objects.count() == 3
