"""Travel against stimulus of one stroke, with the setting and the window marked."""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.charts.layout import Figure, axis, band, layout, level, upright, words

PHASES = {
    "rise": ("rise", "circle", "var(--accent)", "lines+markers"),
    "setting": ("at the setting", "square", "var(--ink)", "markers"),
    "fall": ("fall", "circle-open", "var(--ink-soft)", "lines+markers"),
    "zero": ("zero", "cross-thin-open", "var(--ink-soft)", "markers"),
    "zero_return": ("return to zero", "x-thin-open", "var(--ink-soft)", "markers"),
    "vent": ("vented", "x-thin-open", "var(--ink-soft)", "markers"),
    "exercise": ("exercise, highest", "diamond-open", "var(--ink-soft)", "markers"),
    "hold": ("leak-down hold", "star-open", "var(--ink-soft)", "markers"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeCurve:
    """What the chart draws, all in the viewer's units."""

    points: Sequence[tuple[str, float, float]]  # phase, corrected stimulus, corrected travel
    setting: float
    lower: float
    nominal: float
    upper: float
    stimulus_name: str
    stimulus_unit: str
    length_unit: str


def stroke_figure(curve: StrokeCurve) -> Figure:
    """The figure of one stroke."""
    traces = [_trace(phase, curve) for phase in PHASES]
    marks = [
        band(curve.lower, curve.upper),
        level(curve.nominal),
        upright(curve.setting),
    ]
    high = max([curve.upper, *(travel for _, _, travel in curve.points)])
    return {
        "data": [trace for trace in traces if trace["x"]],
        "layout": layout(
            axis(f"{curve.stimulus_name}, {curve.stimulus_unit}", rangemode="tozero"),
            axis(f"rod travel, {curve.length_unit}", range=[-0.03 * high, 1.1 * high]),
            shapes=marks,
            annotations=[words(curve.setting, "setting", xanchor="right", yanchor="top", xshift=-4)],
        ),
    }


def _trace(phase: str, curve: StrokeCurve) -> Figure:
    name, symbol, colour, mode = PHASES[phase]
    points = [(x, y) for kind, x, y in curve.points if kind == phase]
    unit = f"%{{x:.4g}} {curve.stimulus_unit}, %{{y:.4g}} {curve.length_unit}<extra>{name}</extra>"
    return {
        "type": "scatter",
        "name": name,
        "mode": mode,
        "x": [x for x, _ in points],
        "y": [y for _, y in points],
        "line": {"color": colour, "width": 1.5, "dash": "solid" if phase == "rise" else "dot"},
        "marker": {"symbol": symbol, "size": 9, "color": colour, "line": {"color": colour, "width": 1.5}},
        "hovertemplate": unit,
    }
