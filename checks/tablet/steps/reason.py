"""Why the check is made, and what the truck's meters read."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.utils import timezone

from checks.models import Check
from checks.selectors.place import open_complaints
from checks.services.faults import Faults
from checks.services.meter import refuse_below_fitting
from checks.services.quantity import ENGINE_HOURS, ODOMETER, read_typed
from checks.tablet.desk import Desk
from checks.tablet.entry import Sheet, typed_in
from checks.tablet.sequence import Step
from checks.tablet.taken import Taken
from checks.tablet.words import LEADS
from fleet.problems import FleetError
from fleet.services.meter import check_meter, meter_of

COMPLAINT = Check.Reason.COMPLAINT.value


def show(desk: Desk, step: Step, sheet: Sheet) -> dict[str, Any]:
    """Reasons, open complaints of the truck, odometer and hour meter."""
    kept, unit = desk.answers, desk.user.distance_unit
    miles_or_km = ("km", "mi")
    return {
        "lead": LEADS["reason"],
        "reasons": Check.Reason.choices,
        "reason": sheet.text("reason", kept.get("reason")),
        "reason_wrong": sheet.wrong_with("reason"),
        "complaints": open_complaints(desk.place.truck),
        "complaint": sheet.text("complaint", kept.get("complaint")),
        "complaint_wrong": sheet.wrong_with("complaint"),
        "fields": [
            sheet.quantity("odometer", "Odometer", units=miles_or_km, unit=unit, kept=kept.get("odometer")),
            sheet.quantity("engine_hours", "Engine hours", units=("h",), unit="h", kept=kept.get("engine_hours")),
        ],
    }


def take(desk: Desk, step: Step, post: Mapping[str, str]) -> Taken:
    """Keep the reason, the complaint answered and the meters; a fitted unit needs at least one meter."""
    faults = Faults()
    reason = post.get("reason", "")
    if reason not in Check.Reason.values:
        faults.add("not_a_choice", "reason", "Say why the check is made. Choose one of the reasons.")
    odometer, hours = typed_in(post, "odometer"), typed_in(post, "engine_hours")
    if odometer:
        read_typed(odometer, "odometer", ODOMETER, faults)
    if hours:
        read_typed(hours, "engine_hours", ENGINE_HOURS, faults)
    if desk.place.truck and not odometer and not hours:
        faults.add("missing", "odometer", "No meter reading. Enter the odometer, the engine hours, or both.")
    if not faults.errors:
        _require_forward(desk, {"odometer": odometer, "engine_hours": hours}, faults)
    complaint = _complaint(desk, post, reason, faults)
    faults.settle()
    return Taken({"reason": reason, "complaint": complaint, "odometer": odometer, "engine_hours": hours})


def _require_forward(desk: Desk, typed: dict[str, Any], faults: Faults) -> None:
    """A meter that runs backwards is told here, not only at the signature."""
    if desk.place.truck is None:
        return
    made_at = desk.answers.get("made_at")
    at = datetime.fromisoformat(made_at) if made_at else timezone.now()
    try:
        meter = meter_of(typed)
        check_meter(truck=desk.place.truck, at=at, meter=meter)
        refuse_below_fitting(desk.place.fitment, desk.place.truck, meter, faults)
    except FleetError as error:
        faults.add(error.code, error.field, error.sentence)


def _complaint(desk: Desk, post: Mapping[str, str], reason: str, faults: Faults) -> int | None:
    if reason != COMPLAINT:
        return None
    offered = {str(row.pk): row.pk for row in open_complaints(desk.place.truck)}
    chosen = post.get("complaint", "")
    if chosen in offered:
        return offered[chosen]
    if offered or chosen:
        faults.add("not_a_choice", "complaint", "Say which complaint this check answers. Choose one of the open ones.")
    return None
