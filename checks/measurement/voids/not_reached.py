"""The reading was made below the setting."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence, capture_band
from checks.measurement.result import Void, void
from checks.measurement.telling import Value


def find(evidence: Evidence) -> Iterator[Void]:
    """Compare the stimulus of the reading with the lower end of the capture band."""
    if evidence.setting is None:
        return
    low, _ = capture_band(evidence.specification)
    stimulus = evidence.setting[0]
    if stimulus < low:
        unit = evidence.specification.stimulus.unit
        yield void(
            "not_reached",
            "The reading was made at {}; at least {} is asked.",
            Value(stimulus, unit),
            Value(low, unit),
            repeat="Vent to zero, rise to the setting and read there.",
        )
