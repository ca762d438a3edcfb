"""The actuator was not exercised as often as the specification asks, or not through its stroke."""

from collections.abc import Iterator

from checks.measurement.evidence import EXERCISE_SHARE, Evidence
from checks.measurement.result import Void, void
from checks.measurement.telling import Value


def find(evidence: Evidence) -> Iterator[Void]:
    """Count the exercise cycles that moved the rod through its stroke."""
    spec = evidence.specification
    wanted, done = spec.exercise_cycles, evidence.exercised
    if done >= wanted:
        return
    pattern = f"The actuator was exercised {done} of {wanted} times."
    values: tuple[Value, ...] = ()
    if len(evidence.parts.exercise) > done:
        pattern = f"The actuator was exercised {done} of {wanted} times; a cycle counts from {{}}."
        values = (Value(EXERCISE_SHARE * spec.setting, spec.stimulus.unit),)
    yield void(
        "exercise_short",
        pattern,
        *values,
        repeat=f"Exercise it {wanted} times through its stroke, check both zeros, and make the rise again.",
    )
