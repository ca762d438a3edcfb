"""Strokes by their readings, and the codes of what voids them."""

from checks.measurement.assess import assess
from checks.measurement.stroke import Phase, Reading
from tests.measurement.making import instruments, specification, straight

CURVE = straight()


def reading(phase: Phase, stimulus: float, travel: float | None = 0.0, **more: float) -> Reading:
    return Reading(phase=phase, stimulus=stimulus, travel_mm=travel, **more)


def codes(made, spec=None, tools=None) -> list[str]:
    return [void.code for void in assess(made, spec or specification(), tools or instruments()).voids]
