"""Void conditions: one file each, a function from evidence to voids. A new one is a file and a line in CONDITIONS."""

from collections.abc import Callable, Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void
from checks.measurement.voids import (
    above_maximum,
    exercise_short,
    no_setting_reading,
    no_zero,
    no_zero_return,
    not_reached,
    out_of_calibration,
    outside_calibrated_range,
    overshoot,
    pressure_fell,
)

Condition = Callable[[Evidence], Iterator[Void]]

# In the order of the procedure, which is the order in which they are shown.
CONDITIONS: tuple[Condition, ...] = (
    above_maximum.find,
    out_of_calibration.find,
    no_zero.find,
    exercise_short.find,
    no_zero_return.find,
    no_setting_reading.find,
    overshoot.find,
    pressure_fell.find,
    not_reached.find,
    outside_calibrated_range.find,
)


def find_voids(evidence: Evidence) -> tuple[Void, ...]:
    """All reasons why the stroke gives no verdict, in the order of the procedure."""
    return tuple(void for condition in CONDITIONS for void in condition(evidence))
