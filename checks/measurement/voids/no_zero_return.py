"""An instrument did not come back to zero after exercise, or between approaches."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void
from checks.measurement.telling import Value

ROUNDING = 1.0 + 1e-9


def find(evidence: Evidence) -> Iterator[Void]:
    """Compare the largest residual of either instrument with its zero tolerance."""
    spec, parts = evidence.specification, evidence.parts
    if parts.zero is None:
        return
    if parts.zero_return is None and (spec.exercise_cycles > 0 or parts.exercise):
        yield _void("No return to zero was recorded after exercise.")
    if abs(evidence.return_mm) > spec.zero_tolerance_mm * ROUNDING:
        came_back, asked = Value(evidence.return_mm, "mm", signed=True), Value(spec.zero_tolerance_mm, "mm")
        yield _void("The dial came back to {}; within {} is asked.", came_back, asked)
    if abs(evidence.return_stimulus) > spec.zero_tolerance_stimulus * ROUNDING:
        unit = spec.stimulus.unit
        came_back = Value(evidence.return_stimulus, unit, signed=True)
        asked = Value(spec.zero_tolerance_stimulus, unit)
        yield _void("The vented stimulus came back to {}; within {} of zero is asked.", came_back, asked)


def _void(pattern: str, *values: Value) -> Void:
    return void(
        "no_zero_return",
        pattern,
        *values,
        repeat="Look for trapped pressure, a loose dial or a sticking rod; zero again and make the whole stroke again.",
    )
