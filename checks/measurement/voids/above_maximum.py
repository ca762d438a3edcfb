"""The canister or the command limit was exceeded: the reading is void and the actuator may be damaged."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void
from checks.measurement.telling import Value


def find(evidence: Evidence) -> Iterator[Void]:
    """Compare the highest stimulus of any phase with the specification's maximum."""
    spec = evidence.specification
    if evidence.highest > spec.stimulus_max * (1.0 + 1e-9):
        unit, most = spec.stimulus.unit, spec.stimulus_max
        yield void(
            "above_maximum",
            "The actuator saw {}; {} is the most allowed.",
            Value(evidence.highest, unit),
            Value(most, unit),
            repeat="Take the unit out of service until its actuator was inspected, then make the whole stroke again.",
            unsafe=True,
        )
