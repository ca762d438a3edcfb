"""What changed lately: units found outside their window."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.db.models import QuerySet

from checks.models import Assessment


@dataclass(frozen=True, slots=True)
class Change:
    """A unit found outside; ``mended`` when it stands inside by now."""

    turbocharger: int
    serial: str
    state: str
    mended: bool


def week_before(today: date) -> date:
    """The same weekday one week earlier."""
    return today - timedelta(days=7)


def found_outside() -> QuerySet[Assessment]:
    """Current assessments of as-found strokes that lie outside their window."""
    return Assessment.objects.filter(
        is_current=True, state__in=["outside_low", "outside_high"], stroke__moment="as_found"
    )


def changes_since(day: date, *, depots: Sequence[int], model: int | None = None) -> list[Change]:
    """Units whose as-found reading since `day` lay outside, latest first, each once. One query."""
    found = found_outside().filter(
        stroke__check_made__depot__in=depots,
        stroke__check_made__made_at__gte=datetime.combine(day, time(), UTC),
    )
    if model:
        found = found.filter(stroke__check_made__turbocharger__model=model)
    unit = "stroke__check_made__turbocharger"
    rows = found.order_by("-stroke__check_made__made_at").values_list(
        unit, f"{unit}__serial", "state", f"{unit}__standing__state"
    )
    latest: dict[int, Change] = {}
    for turbocharger, serial, state, now in rows:
        latest.setdefault(turbocharger, Change(turbocharger, serial, state, now == "inside"))
    return list(latest.values())
