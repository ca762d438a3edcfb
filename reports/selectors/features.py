"""What a stroke's curve tells beyond its one reading, in the viewer's units."""

from dataclasses import dataclass

from checks.display import decimals_for, length
from checks.measurement.result import CurveFeatures, Estimate
from checks.measurement.units import convert


@dataclass(frozen=True, slots=True)
class FeatureRow:
    """One feature as words."""

    name: str
    value: str


def feature_rows(features: CurveFeatures, length_unit: str, stimulus_unit: str) -> list[FeatureRow]:
    """Every feature by name, with its standard uncertainty, or that the readings do not suffice."""
    kept = "%" if stimulus_unit == "%" else "kPa"
    per = 1 / convert(1.0, kept, stimulus_unit)
    travel = length(1.0, length_unit)
    pressed = convert(1.0, kept, stimulus_unit)
    start = "start-of-travel command" if kept == "%" else "start-of-travel pressure"
    rows = [
        FeatureRow(start, _text(features.start, pressed, stimulus_unit)),
        FeatureRow("slope at the setting", _text(features.slope, travel * per, f"{length_unit} per {stimulus_unit}")),
        FeatureRow("hysteresis", _text(features.hysteresis, travel, length_unit)),
        FeatureRow("sticking", _text(features.sticking, travel, length_unit, "none found")),
    ]
    if kept != "%":
        rows.append(FeatureRow("leak-down", _text(features.leak_rate, pressed, f"{stimulus_unit} per minute")))
    return rows


def _text(estimate: Estimate | None, factor: float, unit: str, absent: str = "not enough readings") -> str:
    if estimate is None:
        return absent
    value, u = estimate.value * factor, estimate.standard_uncertainty * factor
    places = decimals_for(u)
    return f"{value:.{places}f} {unit} (standard uncertainty {u:.{places}f})".replace("-", "−")
