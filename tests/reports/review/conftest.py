"""March 2025, written by hand: bays with one unit each.

Limits are 38 and 80 thousandths of an inch; a travel of 59.5 is inside, 20 outside low, 95 outside high (common
practice, no source).
"""

from collections.abc import Callable
from typing import Any

import pytest

from checks.models import Check
from checks.services.check import record_check
from tests.bay import Bay, make_bay, readings


@pytest.fixture
def looked() -> Callable[..., Check]:
    """Return a function that records a check of a bay's unit on a day of 2025, such as ``03-12``."""

    def record(bay: Bay, day: str, travel: str = "59.5", *, left: str = "", cycles: int = 3, **changes: Any) -> Check:
        at = f"2025-{day}T{changes.pop('hour', 9):02d}:30:00+00:00"
        payload = bay.submission(made_at=at, cautions_read_at=at, engine_hours=None)
        payload["as_found"] = {"readings": readings(travel, cycles=cycles)}
        if left:
            payload |= {"half_turns": -2, "as_left": {"readings": readings(left)}}
        return record_check(user=bay.technician, submission=payload | changes)

    return record


@pytest.fixture
def march(looked: Callable[..., Check]) -> dict[str, Bay]:
    """Five units: one that stays, one found low, one brought back, one never seen, one whose only stroke is void."""
    bays = {name: make_bay() for name in ("stays", "low", "back", "never", "void")}
    looked(bays["stays"], "02-10")
    looked(bays["low"], "02-10")
    looked(bays["low"], "03-12", "20")
    looked(bays["back"], "02-27", "95")
    looked(bays["back"], "03-02", "95", left="59.5")
    looked(bays["void"], "03-20", cycles=0)
    # After the month: none of the month's business.
    looked(bays["low"], "04-01", "20", left="59.5")
    looked(bays["stays"], "04-02", "95")
    return bays
