"""What the form of a specification begins with, and a revision as it was typed."""

from typing import Any

from checks.models import SpecificationRevision
from checks.pages.fields import (
    as_typed,
    own_unit,
)
from checks.services.specification_fields import OF_SETTING, stimulus_units
from fleet.models import TurbochargerModel, User

QUANTITIES = (
    "setting",
    "stimulus_max",
    "capture_tolerance",
    "zero_tolerance_stimulus",
    "lower_mm",
    "nominal_mm",
    "upper_mm",
    "zero_tolerance_mm",
    "thread_pitch_mm",
)
COPIED = ("revision", "source_document", "source_revision", "note", "exercise_cycles", "adjustment_range_half_turns")


def first_values(turbocharger_model: TurbochargerModel, user: User) -> dict[str, Any]:
    """What an empty form begins with: the person's units, and the tolerances that are usual."""
    stimulus = own_unit(user, stimulus_units(turbocharger_model)[0])
    length = own_unit(user, "mm")
    begun: dict[str, Any] = dict.fromkeys(("lower_mm", "nominal_mm", "upper_mm", "zero_tolerance_mm"), length)
    begun |= dict.fromkeys(("setting", "stimulus_max", "zero_tolerance_stimulus"), stimulus)
    return begun | {
        "capture_tolerance": {"text": "1", "unit": OF_SETTING},
        "exercise_cycles": "3",
        "adjustment_range_half_turns": "6",
        "thread_pitch_mm": "mm",
    }


def values_of(row: SpecificationRevision) -> dict[str, Any]:
    """A revision as it was typed."""
    kept = dict.fromkeys(("lower_mm", "nominal_mm", "upper_mm", "zero_tolerance_mm", "thread_pitch_mm"), "mm")
    stored = {
        name: {"text": repr(getattr(row, name)), "unit": kept.get(name) or stimulus_units(row.turbocharger_model)[0]}
        for name in QUANTITIES
        if getattr(row, name) is not None
    }
    return {
        **stored,
        **as_typed(row.typed, QUANTITIES),
        **{name: getattr(row, name) for name in COPIED},
        "adjustment_sign": str(row.adjustment_sign),
        "effective_from": row.effective_from,
    }
