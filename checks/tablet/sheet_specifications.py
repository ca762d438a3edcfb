"""A specification as a tablet's sheet tells it, and the sets of instruments by which it may be checked."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from checks.convert import to_specification
from checks.display import in_own_units
from checks.measurement.errors import MeasurementError
from checks.models import SpecificationRevision
from checks.selectors.fitness import Tools
from checks.selectors.grounds import Grounds
from checks.services.readings import scale_of
from checks.tablet.marks import set_marks
from checks.tablet.words import SLOW_FROM
from fleet.models import User

NUMBERS = (
    "setting", "lower_mm", "nominal_mm", "upper_mm", "stimulus_max", "exercise_cycles", "capture_tolerance",
    "zero_tolerance_stimulus", "zero_tolerance_mm", "thread_pitch_mm", "adjustment_sign", "adjustment_range_half_turns",
)  # fmt: skip


def specification_on_sheet(row: SpecificationRevision) -> dict[str, Any]:
    """A revision as numbers in kept units."""
    return {
        "pk": row.pk,
        "model": row.turbocharger_model.name,
        "stimulus": row.turbocharger_model.stimulus,
        "revision": row.revision,
        "source_document": " ".join(part for part in (row.source_document, row.source_revision) if part),
        **{name: getattr(row, name) for name in NUMBERS},
        "slow_from": SLOW_FROM * row.setting,
    }


def set_on_sheet(
    specification: SpecificationRevision, grounds: Grounds, tools: Tools, on: date, user: User
) -> dict[str, Any] | None:
    """One set with its marks; None where it could not be one. Such a check is judged by the server alone."""
    dial, stimulus, meter = tools
    try:
        marks = set_marks(core=to_specification(specification), grounds=grounds, tools=tools, on=on)
    except MeasurementError:
        return None
    for limits in marks["limits"].values():
        limits["problems"] = _told(limits["problems"], user)
    scale = scale_of(specification, stimulus, meter)
    return {
        "specification": specification.pk,
        "dial": dial.pk,
        "stimulus": stimulus.pk,
        "meter": meter.pk if meter else None,
        "unit": scale.unit,
        "units": list(scale.accepted),
        "marks": marks,
    }


def _told(sentences: Iterable[str], user: User) -> list[str]:
    return [in_own_units(sentence, user.pressure_unit, user.length_unit) for sentence in sentences]
