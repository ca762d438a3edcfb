"""Bays whose units were checked."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from checks.models import Check
from checks.services.check import record_check
from tests.bay import Bay, readings


@pytest.fixture
def checked() -> Callable[..., Check]:
    """Return a function that records a check of a bay's unit, some days ago."""

    def record(bay: Bay, *, travel: str = "59.5", days_ago: int = 30, left: str = "", **changes: Any) -> Check:
        at = timezone.now() - timedelta(days=days_ago)
        payload = bay.submission(
            travel=travel,
            made_at=at.isoformat(),
            cautions_read_at=(at - timedelta(minutes=20)).isoformat(),
            odometer={"text": str(212_000 - 300 * days_ago), "unit": "km"},
            engine_hours=None,
        )
        if left:
            payload |= {"half_turns": -2, "as_left": {"readings": readings(left)}}
        return record_check(user=bay.technician, submission=payload | changes)

    return record


@pytest.fixture
def today() -> Any:
    """The day as the pages see it."""
    return datetime.now(UTC).date()
