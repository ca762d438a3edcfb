"""The stimulus passed the setting before the reading: friction then holds the rod out."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence, capture_band
from checks.measurement.result import Void, void
from checks.measurement.telling import Value


def find(evidence: Evidence) -> Iterator[Void]:
    """Look for any stimulus of the final approach, the reading included, above setting plus capture tolerance."""
    _, high = capture_band(evidence.specification)
    peak = max(evidence.path, default=0.0)
    if peak > high:
        unit = evidence.specification.stimulus.unit
        yield void(
            "overshoot",
            "The approach went to {}, above the setting's limit of {}.",
            Value(peak, unit),
            Value(high, unit),
            repeat="Vent to zero and make the rise again; stop at the setting.",
        )
