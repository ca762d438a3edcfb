"""The reading that counts lies where an instrument is not calibrated, or cannot read at all."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void


def find(evidence: Evidence) -> Iterator[Void]:
    """Pass on what was found while correcting the zero and the reading at the setting."""
    for fault in evidence.faults:
        yield void(
            "outside_calibrated_range",
            fault.pattern,
            *fault.values,
            repeat="Make the whole stroke again with an instrument calibrated over the range.",
        )
