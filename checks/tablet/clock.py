"""The clocks of tablets: what they tell, how far they are off, and what is said of it."""

from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from django.utils.dateparse import parse_datetime

from checks.models import Check
from checks.services.submission import CLOCK_TOLERANCE


def moment_of(said: Any) -> datetime | None:
    """The moment that a device tells, with its offset; None where it tells none."""
    try:
        moment = parse_datetime(str(said or ""))
    except ValueError:
        return None
    return moment if moment is not None and timezone.is_aware(moment) else None


def clock_ahead(said: Any) -> timedelta:
    """How far the tablet's clock is ahead of ours; nothing within what clocks may differ by."""
    told = moment_of(said)
    ahead = told - timezone.now() if told else timedelta()
    return ahead if abs(ahead) > CLOCK_TOLERANCE else timedelta()


def clock_told(check: Check) -> list[str]:
    """What to do about a clock that was wrong; empty where it was right."""
    if not check.made_at_typed:
        return []
    made_at = timezone.localtime(check.made_at)
    return [
        f"This tablet's clock is wrong: it said {check.made_at_typed[:16].replace('T', ' ')}. The check is recorded at "
        f"{made_at:%Y-%m-%d %H:%M} UTC by the server's clock, and what the tablet said is kept beside it. "
        "Set the tablet's clock right."
    ]
