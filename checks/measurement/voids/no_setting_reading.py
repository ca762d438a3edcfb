"""The final approach ended without a reading at the setting."""

from collections.abc import Iterator

from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void


def find(evidence: Evidence) -> Iterator[Void]:
    """Ask for a reading at the setting since the last vent."""
    final = evidence.final
    if final is None or final.reading is None:
        yield void(
            "no_setting_reading",
            "No reading was made at the setting since the last vent.",
            repeat="Vent, rise slowly in one motion, stop at the setting and record both instruments.",
        )
