"""The stimulus fell during the approach, so the rod may have been held out by friction."""

from collections.abc import Iterator

from checks.measurement.evidence import DIGIT, Evidence, largest_drop
from checks.measurement.result import Void, void
from checks.measurement.telling import Value


def find(evidence: Evidence) -> Iterator[Void]:
    """Compare the largest fall within the final approach with the instrument's resolution."""
    drop = largest_drop(evidence.path)
    if drop > evidence.channels.stimulus_resolution * DIGIT:
        unit = evidence.specification.stimulus.unit
        yield void(
            "pressure_fell",
            "The stimulus fell by {} during the approach.",
            Value(drop, unit),
            repeat="Vent to zero and make the rise again in one motion, without backing off.",
        )
