"""The payload of a check, read into plain values; what needs the register's rows is looked up elsewhere."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.dateparse import parse_datetime

from checks.models import Check
from checks.services.faults import Faults
from checks.services.quantity import (
    ANGLE,
    ENGINE_HOURS,
    ODOMETER,
    Typed,
    read_number,
    read_plain,
    read_text,
    read_typed,
)

# Tablets and servers seldom agree to the second.
CLOCK_TOLERANCE = timedelta(minutes=5)
CAUTIONS_HOLD = timedelta(hours=24)
HALF_TURNS_MOST = 40


@dataclass(frozen=True, slots=True)
class Submission:
    """What a technician signs, without its strokes. Primary keys are as sent: nobody has looked them up yet."""

    key: UUID
    digest: str
    turbocharger: Any
    specification: Any
    reason: str
    complaint: Any
    made_at: datetime
    made_at_typed: str
    odometer: Typed | None
    engine_hours: Typed | None
    instruments: dict[str, Any]
    geometry: str
    angle_deg: float | None
    angle_max_deg: float
    cautions_read_at: datetime
    half_turns: int | None
    note: str
    source: str


def digest_of(raw: dict[str, Any]) -> str:
    """Return a fingerprint of a payload: the same for a repeat, another for other content."""
    canonical = json.dumps(raw, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(canonical.encode()).hexdigest()


def read_key(raw: dict[str, Any]) -> UUID:
    """Return the key of a payload. Raises FleetErrors when there is none."""
    faults = Faults()
    try:
        return UUID(str(raw.get("key")))
    except ValueError:
        faults.add("no_key", "key", "The check needs a key (a UUID), made once where it is begun.")
        faults.settle()
        raise


def read_submission(raw: dict[str, Any], faults: Faults, clock_ahead: timedelta = timedelta()) -> Submission | None:
    """Return the payload's plain values, or None when some are wrong; ``faults`` then says which."""
    made_at = _moment(raw.get("made_at"), "made_at", "The time of the check", clock_ahead, faults)
    cautions = _cautions(raw.get("cautions_read_at"), made_at, clock_ahead, faults)
    reason = _choice(raw.get("reason"), "reason", Check.Reason, "Choose why the check was made", faults)
    geometry, angle, angle_max = _alignment(raw.get("alignment"), faults)
    odometer = read_typed(raw["odometer"], "odometer", ODOMETER, faults) if raw.get("odometer") else None
    hours = read_typed(raw["engine_hours"], "engine_hours", ENGINE_HOURS, faults) if raw.get("engine_hours") else None
    half_turns = _half_turns(raw, faults)
    instruments = raw.get("instruments")
    if not isinstance(instruments, dict):
        faults.add("missing", "instruments", "Choose the instruments that the check was made with.")
    if made_at is None or cautions is None or faults.errors:
        return None
    return Submission(
        key=read_key(raw),
        digest=digest_of(raw),
        turbocharger=raw.get("turbocharger"),
        specification=raw.get("specification"),
        reason=reason,
        complaint=raw.get("complaint"),
        made_at=made_at,
        made_at_typed=str(raw["made_at"])[:40] if clock_ahead else "",
        odometer=odometer,
        engine_hours=hours,
        instruments=instruments or {},
        geometry=geometry,
        angle_deg=angle,
        angle_max_deg=angle_max,
        cautions_read_at=cautions,
        half_turns=half_turns,
        note=read_text(raw.get("note"), longest=4000),
        source=read_text(raw.get("source"), longest=20) or "browser",
    )


def _moment(raw: Any, field: str, name: str, clock_ahead: timedelta, faults: Faults) -> datetime | None:
    try:
        moment = parse_datetime(str(raw or ""))
    except ValueError:
        moment = None
    if moment is None or timezone.is_naive(moment):
        faults.add("not_a_time", field, f"{name} is missing or has no offset. Send it as in 2026-03-04T09:30:00+00:00.")
        return None
    moment -= clock_ahead
    if moment > timezone.now() + CLOCK_TOLERANCE:
        faults.add(
            "in_the_future",
            field,
            f"{name}, {moment:%-d %b %Y, %H:%M %Z}, lies in the future. Set the clock right and enter when it was.",
        )
        return None
    return moment


def _cautions(raw: Any, made_at: datetime | None, clock_ahead: timedelta, faults: Faults) -> datetime | None:
    if not raw:
        faults.add("cautions_unread", "cautions_read_at", "Read the cautions and confirm that you did, then sign.")
        return None
    moment = _moment(raw, "cautions_read_at", "The time at which the cautions were read", clock_ahead, faults)
    if moment is None or made_at is None:
        return moment
    if abs(made_at - moment) > CAUTIONS_HOLD:
        faults.add(
            "cautions_unread",
            "cautions_read_at",
            f"The cautions were read on {moment:%Y-%m-%d %H:%M}, not for this check. Read and confirm them again.",
        )
        return None
    return moment


def _choice(raw: Any, field: str, choices: Any, ask: str, faults: Faults) -> str:
    if raw not in choices.values:
        faults.add("not_a_choice", field, f"{ask}: {', '.join(str(label) for label in choices.labels)}.")
        return ""
    return str(raw)


def _alignment(raw: Any, faults: Faults) -> tuple[str, float | None, float]:
    if not isinstance(raw, dict):
        faults.add("missing", "alignment", "Say how the dial's plunger meets the moving part.")
        return "", None, 5.0
    ask = "Say how the dial's plunger meets the moving part"
    geometry = _choice(raw.get("geometry"), "alignment.geometry", Check.Geometry, ask, faults)
    angle = None
    if raw.get("angle_deg") not in (None, ""):
        angle = read_plain(raw["angle_deg"], "alignment.angle_deg", ANGLE, faults)
    angle_max = 5.0
    if raw.get("angle_max_deg") not in (None, ""):
        angle_max = read_plain(raw["angle_max_deg"], "alignment.angle_max_deg", ANGLE, faults) or 0.0
    return geometry, angle, angle_max


def _half_turns(raw: dict[str, Any], faults: Faults) -> int | None:
    """Whole half turns; and whether they go with an as-left stroke and a note as the procedure asks."""
    given, left = raw.get("half_turns"), raw.get("as_left")
    if given in (None, ""):
        if left:
            faults.add(
                "half_turns_missing",
                "half_turns",
                "An as-left stroke follows an adjustment. Enter the half turns, or 0 with a note on what was done.",
            )
        return None
    number = read_number(given, "half_turns", "The number of half turns", faults)
    if number is None:
        return None
    if number != int(number) or abs(number) > HALF_TURNS_MOST:
        faults.add(
            "half_turns_implausible",
            "half_turns",
            f"Half turns are whole, from -{HALF_TURNS_MOST} to {HALF_TURNS_MOST}; positive lengthens the rod.",
        )
        return None
    if not left and number:
        faults.add(
            "as_left_missing",
            "as_left",
            "The rod was turned, so the setting is no longer the one found. Make the whole stroke again as left.",
        )
    if left and not number and not read_text(raw.get("note"), longest=1):
        faults.add(
            "note_missing", "note", "There is an as-left stroke but the rod was not turned. Note what was done instead."
        )
    return int(number)
