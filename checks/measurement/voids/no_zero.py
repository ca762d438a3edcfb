"""Nobody recorded the zeros, so no reading has a datum."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void


def find(evidence: Evidence) -> Iterator[Void]:
    """Ask for one vented reading of both instruments before exercise."""
    if evidence.parts.zero is None:
        yield void(
            "no_zero",
            "No zero was recorded with the actuator vented, before exercise.",
            repeat="Vent to atmosphere, zero both instruments, record them, and make the whole stroke again.",
        )
