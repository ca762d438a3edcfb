"""A stroke's corrected points in the viewer's units."""

from collections.abc import Sequence

from checks.display import length
from checks.measurement.units import convert
from checks.models import SpecificationRevision
from reports.charts.stroke import StrokeCurve


def curve_of(
    points: Sequence[tuple[str, float, float]], held: SpecificationRevision, length_unit: str, stimulus_unit: str
) -> StrokeCurve | None:
    """What the chart of a stroke draws; None where too few points make no curve.

    `points` are (phase, corrected stimulus in kPa or %, corrected travel in mm).
    """
    if len(points) < 2:
        return None
    kept = "%" if stimulus_unit == "%" else "kPa"
    return StrokeCurve(
        points=[(phase, convert(p, kept, stimulus_unit), length(x, length_unit)) for phase, p, x in points],
        setting=convert(held.setting, kept, stimulus_unit),
        lower=length(held.lower_mm, length_unit),
        nominal=length(held.nominal_mm, length_unit),
        upper=length(held.upper_mm, length_unit),
        stimulus_name="command" if kept == "%" else "pressure",
        stimulus_unit=stimulus_unit,
        length_unit=length_unit,
    )
