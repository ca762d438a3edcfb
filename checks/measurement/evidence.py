"""What a stroke shows once its indications are corrected: the ground on which voids and travel stand."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from checks.measurement.correction import OFFSET_SHARE, Channels
from checks.measurement.errors import MeasurementError
from checks.measurement.specification import Specification
from checks.measurement.stroke import Approach, Parts, Reading, Stroke, take_apart
from checks.measurement.telling import Value

Point = tuple[float, float]  # corrected stimulus (kPa or %), corrected travel (mm)
# A drop of one digit is a flicker of the display, not a fall; correcting it may stretch it a little.
DIGIT = 1.05
# An exercise cycle that stays below this share of the setting leaves most of the stroke unmoved; no source.
EXERCISE_SHARE = 0.5


@dataclass(slots=True)
class Evidence:
    """A stroke with its corrected points. ``faults`` tell of readings outside an instrument's range.

    ``setting`` is the reading at the setting of the final approach, ``repeats`` those of earlier approaches
    that broke no rule. ``highest`` is the highest stimulus met in any phase, ``exercised`` the number of exercise
    cycles that moved the rod through its stroke.
    """

    stroke: Stroke
    specification: Specification
    channels: Channels
    parts: Parts
    rise: list[Point] = field(default_factory=list)
    path: list[float] = field(default_factory=list)  # every stimulus of the final approach, reading included
    fall: list[Point] = field(default_factory=list)
    setting: Point | None = None
    repeats: list[Point] = field(default_factory=list)
    highest: float = 0.0
    exercised: int = 0
    return_stimulus: float = 0.0
    return_mm: float = 0.0
    faults: list[MeasurementError] = field(default_factory=list)
    left_out: int = 0

    @property
    def final(self) -> Approach | None:
        """The approach that counts."""
        return self.parts.approaches[-1] if self.parts.approaches else None

    @property
    def zero(self) -> Point:
        """Indicated stimulus and travel with the line vented (0, 0 where nobody recorded them)."""
        zero = self.parts.zero
        if zero is None or zero.travel_mm is None:
            return 0.0, 0.0
        return self.channels.stimulus_indication(zero.stimulus), zero.travel_mm


def gather(stroke: Stroke, specification: Specification, channels: Channels) -> Evidence:
    """Correct every reading of a stroke. Readings outside a calibrated range are kept out, never extrapolated."""
    evidence = Evidence(stroke, specification, channels, take_apart(stroke))
    try:
        zero_stimulus, zero_mm = evidence.zero
        _look_at_vents(evidence, zero_stimulus, zero_mm)
    except MeasurementError as error:
        evidence.faults.append(error)
        _look_at_peaks(evidence, 0.0)  # an actuator may be harmed whether or not the zero can be trusted
        return evidence
    _look_at_peaks(evidence, zero_stimulus)
    final = evidence.final
    if final is None:
        return evidence
    evidence.rise = _points(evidence, final.rise, zero_stimulus, zero_mm)
    evidence.fall = _points(evidence, evidence.parts.fall, zero_stimulus, zero_mm)
    if final.reading is not None:
        try:
            evidence.setting = _point(channels, final.reading, zero_stimulus, zero_mm)
        except MeasurementError as error:
            evidence.faults.append(error)
    evidence.path = _path(evidence, final, zero_stimulus)
    for approach in evidence.parts.approaches[:-1]:
        if approach.reading is None:
            continue
        rise = _points(evidence, approach.rise, zero_stimulus, zero_mm)
        reading = _points(evidence, (approach.reading,), zero_stimulus, zero_mm)
        if reading and sound_approach(rise, reading[0], specification, channels.stimulus_resolution):
            evidence.repeats.append(reading[0])
    return evidence


def sound_approach(rise: list[Point], reading: Point, specification: Specification, resolution: float) -> bool:
    """Tell whether an approach rose steadily and stopped at the setting, within the capture tolerance."""
    low, high = capture_band(specification)
    if not low <= reading[0] <= high or any(p > high for p, _ in rise):
        return False
    return largest_drop([*(p for p, _ in rise), reading[0]]) <= resolution * DIGIT


def capture_band(specification: Specification) -> tuple[float, float]:
    """Stimulus values between which a reading counts as made at the setting (rounding of the last bit granted)."""
    reach = specification.capture_tolerance + 1e-9 * specification.setting
    return specification.setting - reach, specification.setting + reach


def largest_drop(stimuli: Sequence[float]) -> float:
    """Largest fall of the stimulus below its highest value so far."""
    highest, drop = float("-inf"), 0.0
    for stimulus in stimuli:
        if stimulus > highest:
            highest = stimulus
        elif highest - stimulus > drop:
            drop = highest - stimulus
    return drop


def _point(channels: Channels, reading: Reading, zero_stimulus: float, zero_mm: float) -> Point:
    """Corrected point of a reading of a phase whose readings all carry a travel."""
    stimulus, dial = channels.instruments.stimulus, channels.instruments.dial
    indication, travel = channels.stimulus_indication(reading.stimulus), reading.travel_mm or 0.0
    slack = channels.stimulus_resolution
    offset = max(slack, OFFSET_SHARE * stimulus.range_high)
    if not stimulus.range_low - offset <= indication <= stimulus.range_high + slack:
        raise _outside("stimulus", indication, stimulus.range_low, stimulus.range_high, channels.unit)
    if not -max(dial.division_mm, OFFSET_SHARE * dial.range_mm) <= travel <= dial.range_mm + dial.division_mm:
        raise _outside("travel_mm", travel, 0.0, dial.range_mm, "mm")
    return channels.stimulus_value(indication, zero_stimulus), channels.travel_value(travel, zero_mm)


def _outside(field: str, value: float, low: float, high: float, unit: str) -> MeasurementError:
    return MeasurementError(
        "outside_range",
        field,
        "{} lies outside the instrument's range of {} to {}. Check the entry, or use an instrument with the range.",
        [Value(number, unit) for number in (value, low, high)],
    )


def _path(evidence: Evidence, final: Approach, zero_stimulus: float) -> list[float]:
    """Stimuli of the final approach: a reading beyond the certificate cannot hide an overshoot."""
    if evidence.left_out == 0 and evidence.setting is not None:
        return [p for p, _ in evidence.rise] + [evidence.setting[0]]
    readings = final.rise if final.reading is None else (*final.rise, final.reading)
    return [net_stimulus(evidence.channels, reading.stimulus, zero_stimulus) for reading in readings]


def net_stimulus(channels: Channels, reading: float, zero_stimulus: float) -> float:
    """Stimulus corrected where the certificates reach, and as indicated above zero elsewhere."""
    try:
        return channels.stimulus_value(channels.stimulus_indication(reading), zero_stimulus)
    except MeasurementError:
        return (reading - channels.offset) / channels.sensitivity - zero_stimulus


def _points(evidence: Evidence, readings: tuple[Reading, ...], zero_stimulus: float, zero_mm: float) -> list[Point]:
    points = []
    for reading in readings:
        try:
            points.append(_point(evidence.channels, reading, zero_stimulus, zero_mm))
        except MeasurementError:
            evidence.left_out += 1
    return points


def _look_at_vents(evidence: Evidence, zero_stimulus: float, zero_mm: float) -> None:
    parts, channels = evidence.parts, evidence.channels
    for reading in (parts.zero_return, *parts.vents):
        if reading is None or reading.travel_mm is None:
            continue
        stimulus = channels.stimulus_indication(reading.stimulus) - zero_stimulus
        travel = reading.travel_mm - zero_mm
        if abs(stimulus) > abs(evidence.return_stimulus):
            evidence.return_stimulus = stimulus
        if abs(travel) > abs(evidence.return_mm):
            evidence.return_mm = travel


def _look_at_peaks(evidence: Evidence, zero_stimulus: float) -> None:
    """Find the highest stimulus of any phase, corrected where the certificate reaches and as indicated elsewhere."""
    if not evidence.stroke.readings:
        return
    channels = evidence.channels
    stimuli = [reading.stimulus for reading in evidence.stroke.readings]
    peak = max(stimuli) if channels.sensitivity > 0.0 else min(stimuli)
    evidence.highest = net_stimulus(channels, peak, zero_stimulus)
    least = EXERCISE_SHARE * evidence.specification.setting
    for reading in evidence.parts.exercise:
        evidence.exercised += net_stimulus(channels, reading.stimulus, zero_stimulus) >= least
