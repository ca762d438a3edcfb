"""The payload of one more check of a unit of the bench fleet."""

import uuid
from datetime import datetime
from typing import Any

from checks.models import Check


def payload_like(check: Check, *, at: datetime) -> dict[str, Any]:
    """A check made at ``at``, 900 km after the truck's last meter reading, that found what ``check`` found."""
    readings = [
        {
            "phase": row.phase,
            "stimulus": {"text": row.stimulus_typed, "unit": row.stimulus_unit or "kPa"},
            "travel": {"text": row.travel_typed, "unit": row.travel_unit} if row.travel_typed else None,
            "seconds": None,
        }
        for row in check.strokes.get(moment="as_found").readings.all()
    ]
    meter = check.fitment.engine.installations.get().truck.meter_readings.latest("read_at").odometer_km
    return {
        "key": str(uuid.uuid4()), "turbocharger": check.turbocharger_id,
        "specification": check.specification_id, "reason": "scheduled", "complaint": None, "made_at": at.isoformat(),
        "odometer": {"text": f"{meter + 900:.0f}", "unit": "km"}, "engine_hours": None,
        "instruments": {
            "dial": check.dial_id, "stimulus": check.stimulus_instrument_id, "meter": None, "regulator": None,
        },
        "alignment": {"geometry": "flat_face", "angle_deg": None, "angle_max_deg": "5"},
        "cautions_read_at": at.isoformat(), "as_found": {"readings": readings}, "half_turns": None, "as_left": None,
        "note": "", "source": "browser",
    }  # fmt: skip
