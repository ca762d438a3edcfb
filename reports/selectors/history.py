"""All checks of one turbocharger, with their verdicts and amendments."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from checks.components import WindowStrip, half_turns_text
from checks.display import distance_text, measured_text
from checks.models import Check
from checks.selectors.amended import overlay
from fleet.models import Turbocharger, User
from fleet.selectors.clock import clock_at
from reports.selectors.judged import Judged, judged_strokes, strip_of
from reports.selectors.usage import Stay, run_at


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One check in a unit's history; ``run_km`` is the distance run by then, None where not known."""

    pk: int
    made_at: datetime
    state: str
    revision: str
    technician: str
    reason: str
    odometer: str
    run_km: float | None
    half_turns: int
    turned: str
    reading: str
    judged: tuple[Judged, ...]
    strip: WindowStrip | None


def check_rows(unit: Turbocharger, *, user: User, stays: Sequence[Stay]) -> list[CheckRow]:
    """Checks of `unit`, latest first, as amended. Three queries."""
    checks = list(
        Check.objects.filter(turbocharger=unit)
        .select_related("technician", "depot", "specification")
        .prefetch_related("amendments")
    )
    for check in checks:
        overlay(check, {}, check.amendments.all())
    judged = judged_strokes([check.pk for check in checks])
    rows = [_row(check, judged.get(check.pk, []), user, stays) for check in checks]
    return sorted(rows, key=lambda row: (row.made_at, row.pk), reverse=True)


def _row(check: Check, judged: list[Judged], user: User, stays: Sequence[Stay]) -> CheckRow:
    km = check.odometer_km
    return CheckRow(
        pk=check.pk,
        made_at=clock_at(check.depot.time_zone, check.made_at),
        state=judged[-1].reading.state if judged else "void",
        revision=check.specification.revision,
        technician=check.technician.display_name,
        reason=check.get_reason_display(),
        odometer=distance_text(km, user.distance_unit) if km is not None else "",
        run_km=run_at(stays, check.fitment_id, km),
        half_turns=check.half_turns or 0,
        turned=half_turns_text(check.half_turns) if check.half_turns else "",
        reading=_last_reading(judged, user.length_unit),
        judged=tuple(judged),
        strip=strip_of(judged, None, user.length_unit),
    )


def _last_reading(judged: Sequence[Judged], unit: str) -> str:
    reading = judged[-1].reading if judged else None
    if reading is None or reading.travel_mm is None:
        return ""
    return measured_text(reading.travel_mm, reading.expanded_mm, unit)
