"""An instrument had no valid certificate on the day of the check."""

from collections.abc import Iterator
from datetime import date

from checks.measurement.calibration import Certificate, InstrumentSet, StimulusKind, in_calibration
from checks.measurement.evidence import Evidence
from checks.measurement.result import Void, void


def lapses(instruments: InstrumentSet, on: date) -> Iterator[str]:
    """One sentence per instrument that is out of calibration on the day.

    A tool that commands an electric actuator is not calibrated in every shop: it must be in date only if it
    has a certificate at all.
    """
    dial, stimulus = instruments.dial, instruments.stimulus
    asked: list[tuple[str, str, Certificate | None]] = [("Dial indicator", dial.identity, dial.certificate)]
    if stimulus.kind is not StimulusKind.COMMAND:
        asked.append(("Pressure instrument", stimulus.identity, stimulus.certificate))
    elif stimulus.certificate is not None:
        asked.append(("Command tool", stimulus.identity, stimulus.certificate))
    if stimulus.kind is StimulusKind.TRANSDUCER and stimulus.meter is not None:
        asked.append(("Multimeter", stimulus.meter.identity, stimulus.meter.certificate))
    for name, identity, certificate in asked:
        if in_calibration(certificate, on):
            continue
        if certificate is None:
            yield f"{name} {identity} has no calibration certificate."
        elif on < certificate.issued:
            yield f"{name} {identity} was first certified on {certificate.issued}, after {on}."
        else:
            yield f"{name} {identity} was due for calibration on {certificate.due}, before {on}."


def find(evidence: Evidence) -> Iterator[Void]:
    """Ask for a certificate that covers the day of the check, for every instrument."""
    for sentence in lapses(evidence.channels.instruments, evidence.stroke.made_on):
        yield void(
            "out_of_calibration",
            sentence,
            repeat="Make the whole stroke again with an instrument that is in calibration.",
        )
