"""Strokes as they are judged now, and the strips that draw them."""

from collections.abc import Sequence
from dataclasses import dataclass

from checks.components import ForecastToday, Reading, Window, WindowStrip, window_strip
from checks.models import Assessment


@dataclass(frozen=True, slots=True)
class Judged:
    """The current assessment of one stroke, as strips need it."""

    check: int
    reading: Reading
    window: Window


def judged_strokes(checks: Sequence[int]) -> dict[int, list[Judged]]:
    """Current assessments of the strokes of `checks`, as found before as left. One query."""
    rows = (
        Assessment.objects.filter(stroke__check_made__in=checks, is_current=True)
        .order_by("stroke__moment")
        .values_list(
            "stroke__check_made",
            "stroke__moment",
            "state",
            "travel_mm",
            "expanded_uncertainty_mm",
            "specification__lower_mm",
            "specification__nominal_mm",
            "specification__upper_mm",
        )
    )
    by_check: dict[int, list[Judged]] = {}
    for check, moment, state, travel, expanded, lower, nominal, upper in rows:
        reading = Reading(state=state, travel_mm=travel, expanded_mm=expanded, moment=moment)
        window = Window(lower_mm=lower, nominal_mm=nominal, upper_mm=upper)
        by_check.setdefault(check, []).append(Judged(check, reading, window))
    return by_check


def strip_of(
    judged: Sequence[Judged],
    window: Window | None,
    length_unit: str,
    size: str = "row",
    forecast_today: ForecastToday | None = None,
) -> WindowStrip | None:
    """The strip of one check in the window it was last judged by, or of no check in `window`."""
    held = judged[-1].window if judged else window
    if held is None:
        return None
    readings = [stroke.reading for stroke in judged]
    return window_strip(held, readings, unit=length_unit, size=size, forecast_today=forecast_today)
