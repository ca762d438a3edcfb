"""The sheet: what travels to a tablet, so that a check can be made without a network. Numbers and words, no pages."""

import hashlib
import json
from typing import Any

from django.utils import timezone

from checks.display import in_own_units, plan_text
from checks.models.instrument_parts import PARTS, POSITION, kinds_for
from checks.selectors.days import day_at
from checks.selectors.grounds import grounds_for
from checks.selectors.label import label_code
from checks.selectors.offline import (
    OfflineUnit,
    depots_to_work_at,
    offline_instruments,
    offline_sets,
    offline_units,
)
from checks.tablet.sheet_instruments import instrument_on_sheet
from checks.tablet.sheet_specifications import set_on_sheet, specification_on_sheet
from checks.tablet.sheet_words import sheet_words
from fleet.models import TurbochargerModel, User

# Rises when a tablet that holds an older sheet could not read a newer one.
FORMAT = 1


def sheet_of(user: User, depot: str = "") -> dict[str, Any]:
    """Everything that `user` may check, at one depot or at all of theirs.

    Some twenty queries, and five more for each specification in force.
    """
    depots = depots_to_work_at(user, depot)
    now = timezone.now()
    on = max((day_at(one, now) for one in depots), default=timezone.localdate())
    units, more = offline_units(user, depots, on=on)
    instruments = offline_instruments(user, depots)
    specifications = {unit.specification.pk: unit.specification for unit in units if unit.specification}
    grounds = {pk: grounds_for(row) for pk, row in specifications.items()}
    return {
        "format": FORMAT,
        "on": on.isoformat(),
        "person": _person(user),
        "depots": [{"pk": row.pk, "code": row.code, "name": row.name} for row in depots],
        "units": [_unit(unit, user) for unit in units],
        "units_left_out": more,
        "specifications": {str(pk): specification_on_sheet(row) for pk, row in specifications.items()},
        "instruments": [instrument_on_sheet(row, on) for row in instruments],
        "sets": [
            one
            for pk, row in specifications.items()
            for tools in offline_sets(row, instruments)
            if (one := set_on_sheet(row, grounds[pk], tools, on, user))
        ],
        "kinds": {part: kinds_for(part, electric=False) for part in PARTS} | {"command": POSITION},
        "words": sheet_words(),
    }


def mark_of(sheet: dict[str, Any]) -> str:
    """What tells a sheet from one with other content."""
    return hashlib.sha256(json.dumps(sheet, sort_keys=True).encode()).hexdigest()[:32]


def _person(user: User) -> dict[str, Any]:
    return {
        "pk": user.pk,
        "name": user.display_name,
        "pressure_unit": user.pressure_unit,
        "length_unit": user.length_unit,
        "distance_unit": user.distance_unit,
        "theme": user.theme,
    }


def _unit(unit: OfflineUnit, user: User) -> dict[str, Any]:
    row, standing, meter = unit.turbocharger, unit.standing, unit.meter
    return {
        "turbocharger": row.pk,
        "serial": row.serial,
        "label": label_code(row),
        "number": unit.unit_number,
        "position": unit.position,
        "model": row.model.name,
        "electric": row.model.stimulus == TurbochargerModel.Stimulus.ELECTRIC,
        "depot": row.depot_id,
        "specification": unit.specification.pk if unit.specification else None,
        "state": standing.state if standing else "never_checked",
        "due_on": standing.due_on.isoformat() if standing and standing.due_on else None,
        "why": plan_text(standing.sentence, user.distance_unit) if standing else "",
        "safety_flag": in_own_units(row.safety_flag, user.pressure_unit, user.length_unit),
        "last": {"made_at": unit.last_made_at.isoformat()} if unit.last_made_at else None,
        "complaints": [
            {"pk": one.pk, "kind": one.get_kind_display(), "raised_on": one.raised_on.isoformat(), "text": one.text}
            for one in unit.complaints
        ],
        "meter": meter
        and {
            "odometer_km": meter.odometer_km,
            "engine_hours": meter.engine_hours,
            "read_at": meter.read_at.isoformat(),
        },
    }
