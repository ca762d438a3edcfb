"""The stroke under way, as the plot draws it."""

from checks.components.stroke_plot import StrokeFrame, StrokePlot, StrokePoint, stroke_plot
from checks.convert import to_stroke
from checks.measurement.correction import Channels
from checks.measurement.errors import MeasurementError
from checks.measurement.stroke import Phase, Reading
from checks.services.faults import Faults
from checks.services.readings import read_stroke
from checks.tablet.desk import Desk
from checks.tablet.strokes import readings_of

DRAWN = (Phase.RISE, Phase.SETTING, Phase.FALL)


def plot_of(desk: Desk, moment: str) -> StrokePlot:
    """The plot of one stroke in the person's units."""
    spec = desk.specification
    frame = StrokeFrame(
        setting=spec.setting,
        stimulus_max=spec.stimulus_max,
        lower_mm=spec.lower_mm,
        nominal_mm=spec.nominal_mm,
        upper_mm=spec.upper_mm,
    )
    points = points_of(desk, moment)
    return stroke_plot(frame, points, stimulus_unit=desk.stimulus_unit, length_unit=desk.length_unit)


def points_of(desk: Desk, moment: str) -> list[StrokePoint]:
    """Readings of rise and fall with zero and certificate taken off; approaches that were vented are past."""
    rows = read_stroke({"readings": readings_of(desk.answers, moment)}, moment, desk.kit.scale, Faults())
    readings = to_stroke(rows, desk.made_on).readings
    zero = next((reading for reading in reversed(readings) if reading.phase is Phase.ZERO), None)
    last_vent = max((i for i, reading in enumerate(readings) if reading.phase is Phase.VENT), default=-1)
    points = []
    for i, reading in enumerate(readings):
        if reading.phase in DRAWN and reading.travel_mm is not None:
            stimulus, travel = _corrected(desk.kit.channels, reading, zero)
            points.append(StrokePoint(reading.phase.value, stimulus, travel, past=i < last_vent))
    return points


def _corrected(channels: Channels, reading: Reading, zero: Reading | None) -> tuple[float, float]:
    """Corrected where the certificates reach, else as indicated from zero: a plot may show what cannot be judged."""
    travel_zero = zero.travel_mm or 0.0 if zero else 0.0
    travel = reading.travel_mm or 0.0
    try:
        stimulus_zero = channels.stimulus_indication(zero.stimulus) if zero else 0.0
        indicated = channels.stimulus_indication(reading.stimulus)
    except MeasurementError:
        return 0.0, travel - travel_zero
    try:
        return channels.stimulus_value(indicated, stimulus_zero), channels.travel_value(travel, travel_zero)
    except MeasurementError:
        return indicated - stimulus_zero, travel - travel_zero
