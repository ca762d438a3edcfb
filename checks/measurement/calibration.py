"""Instruments, their certificates and how they are set up; ``correction`` puts them to use."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificatePoint:
    """One calibrated point: ``error`` = indication - reference, in the unit of the quantity (mm, kPa or %)."""

    indication: float
    error: float
    expanded_uncertainty: float
    coverage_factor: float = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A calibration certificate; ``points`` are the as-left results, in rising order of indication."""

    number: str
    issued: date
    due: date
    points: tuple[CertificatePoint, ...]


class Geometry(StrEnum):
    """How the dial's plunger meets the moving part; decides the sign of the cosine error."""

    FLAT_FACE = "flat_face"  # plunger on a flat face square to the motion: over-reads, true = reading * cos
    ROD_POINT = "rod_point"  # follows a point of the rod: under-reads, true = reading / cos


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """Set-up of the dial. ``angle_deg`` is known; or only ``angle_max_deg`` bounds it; both may be zero."""

    geometry: Geometry = Geometry.FLAT_FACE
    angle_deg: float | None = None
    angle_max_deg: float = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DialIndicator:
    """Travel instrument. ``read_to`` is the share of a division to which it is read (0.5: half a division)."""

    identity: str
    division_mm: float
    range_mm: float
    permissible_error_mm: float
    read_to: float = 0.5
    certificate: Certificate | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """Multimeter that reads a transducer, in the transducer's electrical unit.

    Permissible error = ``error_share`` * reading + ``error_fixed``.
    """

    identity: str
    electrical_unit: str  # 'mV', 'V' or 'mA'
    resolution: float
    error_share: float
    error_fixed: float
    certificate: Certificate | None = None


class StimulusKind(StrEnum):
    TRANSDUCER = "transducer"
    GAUGE = "gauge"
    COMMAND = "command"


@dataclass(frozen=True, slots=True, kw_only=True)
class StimulusInstrument:
    """Pressure instrument, or the tool that commands an electric actuator.

    For a gauge or a command, readings are entered in kPa or %. For a transducer they are entered in the
    electrical unit of ``meter``: value = (reading - ``offset``) / ``sensitivity`` (electrical unit per kPa),
    and ``resolution`` is that of the meter.
    ``read_to`` is the share of a ``resolution`` (scale division or last digit) to which it is read.
    """

    identity: str
    kind: StimulusKind
    resolution: float
    range_low: float
    range_high: float
    permissible_error: float
    read_to: float = 1.0
    certificate: Certificate | None = None
    sensitivity: float | None = None
    offset: float = 0.0
    meter: Meter | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentSet:
    """What one check is made with."""

    dial: DialIndicator
    stimulus: StimulusInstrument
    alignment: Alignment = Alignment()


def in_calibration(certificate: Certificate | None, on: date) -> bool:
    """Tell whether the certificate was issued by the day ``on`` and not yet past its due date (both included)."""
    return certificate is not None and certificate.issued <= on <= certificate.due
