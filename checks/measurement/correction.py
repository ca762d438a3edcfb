"""From an indication to a corrected value: certificates, transducer and meter, alignment of the dial."""

import math
from dataclasses import dataclass
from itertools import pairwise

from checks.measurement.calibration import (
    Alignment,
    Certificate,
    DialIndicator,
    Geometry,
    InstrumentSet,
    StimulusInstrument,
    StimulusKind,
)
from checks.measurement.errors import MeasurementError
from checks.measurement.guard import require, require_between, require_finite, require_positive
from checks.measurement.interpolant import Interpolant, monotone, straight
from checks.measurement.telling import Value

ROOT_3 = math.sqrt(3.0)
# Offset of a vented instrument as a share of its range; common practice, no source.
OFFSET_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Correction:
    """A certificate made ready for use.

    ``datum`` is the indication of a vented line, ``near`` how far from it an instrument's own offset may lie.
    """

    name: str
    errors: Interpolant | None
    uncertainties: tuple[float, ...]  # U/k at the knots of ``errors``
    low: float  # the calibrated range, and what rounding may add at its ends
    high: float
    datum: float
    near: float
    unit: str

    def error(self, indication: float) -> float:
        """Error (indication minus reference) to be taken off ``indication``.

        No error is known for a certificate without points: 0. A certificate of one point holds within 10 % of
        it. A vented instrument shows its offset: near the datum the error of the end that lies there holds, and
        near zero, the datum from which errors are counted, no point is needed.

        Raises
        ------
        MeasurementError
            ``outside_calibrated_range``: there is no extrapolation.
        """
        errors = self.errors
        if errors is None:
            return 0.0
        if self.low <= indication <= self.high:
            return errors.at(indication)
        if abs(indication - self.datum) <= self.near and self.low <= self.datum <= self.high:
            return errors.at(indication)
        if abs(indication) <= self.near:
            return 0.0
        raise MeasurementError(
            "outside_calibrated_range",
            self.name,
            f"{{}} lies outside the calibrated range of the {self.name}, {{}} to {{}}. "
            "Use an instrument calibrated there.",
            [Value(number, self.unit) for number in (indication, errors.knots[0], errors.knots[-1])],
        )

    def standard_uncertainty(self, indication: float) -> float | None:
        """U/k of the certificate, interpolated linearly between its points; None where it has no points."""
        return None if self.errors is None else straight(self.errors.knots, self.uncertainties, indication)


def correction(
    name: str, certificate: Certificate | None, resolution: float, unit: str, datum: float = 0.0
) -> Correction:
    """Make a certificate ready: monotone piecewise cubic through its errors.

    Parameters
    ----------
    name : str
        The instrument, as it should be called in a sentence.
    certificate : Certificate or None
    resolution : float
        One division or digit, in ``unit``: the slack granted at the ends of the calibrated range.
    datum : float
        Indication of a vented line, in ``unit``.
    """
    if certificate is None or not certificate.points:
        return Correction(name, None, (), -math.inf, math.inf, datum, resolution, unit)
    points = certificate.points
    for before, after in pairwise(points):
        require(
            before.indication < after.indication,
            "points_not_rising",
            "points",
            f"Certificate {certificate.number}: indications must rise, {after.indication:g} follows "
            f"{before.indication:g}.",
        )
    for point in points:
        require_finite(point.indication, "indication")
        require_finite(point.error, "error")
        require_between(point.expanded_uncertainty, 0.0, 1e6, "expanded_uncertainty", unit)
        require_between(point.coverage_factor, 1.0, 20.0, "coverage_factor")
    slack = resolution if len(points) > 1 else max(resolution, 0.1 * abs(points[0].indication))
    errors = monotone([p.indication for p in points], [p.error for p in points])
    low, high = points[0].indication - slack, points[-1].indication + slack
    uncertainties = tuple(p.expanded_uncertainty / p.coverage_factor for p in points)
    near = max(resolution, OFFSET_SHARE * max(abs(point.indication - datum) for point in points))
    return Correction(name, errors, uncertainties, low, high, datum, near, unit)


def alignment_factor(alignment: Alignment) -> tuple[float, float]:
    """Factor from dial reading to true travel, and its standard uncertainty.

    A known angle gives cos (flat face) or 1/cos (point of the rod) with no spread. An angle known only to lie
    within ±``angle_max_deg``, all equally likely, gives the mean and standard deviation of that factor.

    Examples
    --------
    >>> round(alignment_factor(Alignment(angle_deg=10.0))[0], 6)
    0.984808
    """
    flat = alignment.geometry is Geometry.FLAT_FACE
    if alignment.angle_deg is not None:
        require_between(abs(alignment.angle_deg), 0.0, 45.0, "angle_deg", "degrees")
        cosine = math.cos(math.radians(alignment.angle_deg))
        return (cosine, 0.0) if flat else (1.0 / cosine, 0.0)
    require_between(alignment.angle_max_deg, 0.0, 45.0, "angle_max_deg", "degrees")
    a = math.radians(alignment.angle_max_deg)
    if a < 0.05:  # the closed forms below cancel to nothing here
        a2 = a * a
        series = (-1.0 / 6.0, 1.0 / 120.0, -1.0 / 5040.0) if flat else (1.0 / 6.0, 1.0 / 24.0, 61.0 / 5040.0)
        mean = 1.0 + a2 * (series[0] + a2 * (series[1] + a2 * series[2]))
        variance = a2 * a2 / 45.0 + (-1.0 / 315.0 if flat else 1.0 / 63.0) * a2**3
        return mean, math.sqrt(variance)
    if flat:
        mean = math.sin(a) / a
        square = 0.5 + math.sin(2.0 * a) / (4.0 * a)
    else:
        mean = math.asinh(math.tan(a)) / a
        square = math.tan(a) / a
    return mean, math.sqrt(max(0.0, square - mean * mean))


@dataclass(frozen=True, slots=True)
class Channels:
    """An instrument set made ready for many readings: both ways from indication to corrected value."""

    instruments: InstrumentSet
    dial: Correction
    stimulus: Correction
    meter: Correction | None
    factor: float  # alignment
    factor_uncertainty: float
    sensitivity: float  # electrical unit per kPa for a transducer, 1 for what is read in kPa or %
    offset: float
    stimulus_resolution: float  # kPa or %
    unit: str

    def stimulus_indication(self, reading: float) -> float:
        """Indicated stimulus (kPa or %) from a reading in the instrument's own unit, before zero and certificate."""
        if self.meter is None:
            return reading
        return (reading - self.meter.error(reading) - self.offset) / self.sensitivity

    def stimulus_value(self, indication: float, zero: float) -> float:
        """Corrected stimulus (kPa or %) from an indicated one and the indication when vented."""
        net = indication - zero
        return net - self.stimulus.error(net)

    def travel_value(self, indication: float, zero: float) -> float:
        """Corrected travel (mm) along the rod from a dial indication and the dial's zero."""
        dial = self.dial
        return ((indication - dial.error(indication)) - (zero - dial.error(zero))) * self.factor


def channels(instruments: InstrumentSet) -> Channels:
    """Make an instrument set ready, refusing what could not have been an instrument.

    Raises
    ------
    MeasurementError
        ``out_of_bounds``, ``not_a_number``, ``points_not_rising``, ``no_meter``, ``range_not_ordered``.
    """
    dial, stimulus = instruments.dial, instruments.stimulus
    _require_dial(dial)
    _require_stimulus(stimulus)
    unit = "%" if stimulus.kind is StimulusKind.COMMAND else "kPa"
    meter, sensitivity, offset = _transducer(stimulus)
    resolution = stimulus.resolution / abs(sensitivity)
    factor, factor_uncertainty = alignment_factor(instruments.alignment)
    name = "pressure instrument" if unit == "kPa" else "command tool"
    return Channels(
        instruments=instruments,
        dial=correction("dial indicator", dial.certificate, dial.division_mm, "mm"),
        stimulus=correction(name, stimulus.certificate, resolution, unit),
        meter=meter,
        factor=factor,
        factor_uncertainty=factor_uncertainty,
        sensitivity=sensitivity,
        offset=offset,
        stimulus_resolution=resolution,
        unit=unit,
    )


def _require_dial(dial: DialIndicator) -> None:
    require_positive(dial.division_mm, "division_mm", "mm", high=10.0)
    require_positive(dial.range_mm, "range_mm", "mm", high=1000.0)
    require_between(dial.permissible_error_mm, 0.0, 10.0, "permissible_error_mm", "mm")
    require_positive(dial.read_to, "read_to", high=1.0)


def _require_stimulus(stimulus: StimulusInstrument) -> None:
    require_positive(stimulus.resolution, "resolution", high=1e4)
    require_positive(stimulus.read_to, "read_to", high=1.0)
    require_between(stimulus.permissible_error, 0.0, 1e4, "permissible_error")
    require_finite(stimulus.offset, "offset")
    require(
        -1e4 <= stimulus.range_low < stimulus.range_high <= 1e5,
        "range_not_ordered",
        "range_high",
        f"{stimulus.range_low:g} to {stimulus.range_high:g} is no range. Enter its low end, then its high end.",
    )


def _transducer(stimulus: StimulusInstrument) -> tuple[Correction | None, float, float]:
    """Meter, sensitivity and offset of a transducer; for anything else no meter, 1 and 0."""
    if stimulus.kind is not StimulusKind.TRANSDUCER:
        return None, 1.0, 0.0
    meter, sensitivity = stimulus.meter, stimulus.sensitivity
    if meter is None or sensitivity is None or sensitivity == 0.0:
        raise MeasurementError(
            "no_meter",
            "meter",
            f"Transducer {stimulus.identity} needs a multimeter and a sensitivity to be read. Choose the meter, "
            "and enter its electrical unit per kPa.",
        )
    require_finite(sensitivity, "sensitivity")
    require_positive(meter.resolution, "resolution", meter.electrical_unit, high=1e6)
    require_between(meter.error_share, 0.0, 1.0, "error_share")
    require_between(meter.error_fixed, 0.0, 1e6, "error_fixed", meter.electrical_unit)
    ready = correction("multimeter", meter.certificate, meter.resolution, meter.electrical_unit, stimulus.offset)
    return ready, sensitivity, stimulus.offset
