"""Adjusted fuel against where travel stood: below the window, within it, above it."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from scipy.stats import t as student

from checks.display import length
from checks.rules.fuel import Effect
from reports.charts.layout import Figure, axis, layout, upright, words

LOW, INSIDE, HIGH = 1, 0, 2
# The window is drawn as wide as this share of the farther side, so that both sides share one scale.
WINDOW_SHARE = 0.45
LEAST_REACH_MM = 0.2
STEPS = 30
MARKS = {
    LOW: ("outside low", "triangle-left", "var(--outside-low)"),
    INSIDE: ("inside", "circle", "var(--inside)"),
    HIGH: ("outside high", "triangle-right", "var(--outside-high)"),
}


def fuel_figure(points: Sequence[Mapping[str, Any]], effects: Mapping[str, Effect], unit: str) -> Figure:
    """Points of truck-months that stood alike, with 95 % limits, and the fitted line with its band.

    The horizontal axis counts from each limit outwards in the viewer's unit; the window lies between.
    """
    reach = {side: max([p["at"] for p in points if p["side"] == side], default=0.0) for side in (LOW, HIGH)}
    far = max(*reach.values(), LEAST_REACH_MM) * 1.08
    wide = WINDOW_SHARE * far
    ends = {side: max(reach[side] * 1.08, 0.3 * far) for side in (LOW, HIGH)}
    data = _fitted(effects, ends, wide)
    data += [_points([p for p in points if p["side"] == side], side, wide, unit) for side in MARKS]
    window = {
        "type": "rect", "yref": "paper", "x0": 0, "x1": wide, "y0": 0, "y1": 1, "fillcolor": "var(--band)",
        "line": {"width": 0}, "layer": "below",
    }  # fmt: skip
    places, names = _ticks(ends, wide, unit)
    near = {"y": 0.995, "yanchor": "top"}
    return {
        "data": data,
        "layout": layout(
            axis(f"{unit} below · window · {unit} above", tickvals=places,
                 ticktext=names, range=[-ends[LOW], wide + ends[HIGH]]),
            axis("more fuel than inside, %", zeroline=True, zerolinecolor="var(--hairline-strong)"),
            shapes=[window, upright(0.0, "var(--ink-soft)"), upright(wide, "var(--ink-soft)")],
            annotations=[words(wide / 2, "window", **near)],
            margin={"l": 56, "r": 16, "t": 12, "b": 56},
        ),
    }  # fmt: skip


def _place(side: int, at: float, wide: float) -> float:
    return -at if side == LOW else wide + at if side == HIGH else wide * at


def _percent(log: float) -> float:
    return 100 * math.expm1(min(log, 50.0))


def _points(points: Sequence[Mapping[str, Any]], side: int, wide: float, unit: str) -> Figure:
    name, symbol, colour = MARKS[side]
    halves = [half_width(point) for point in points]
    where = (
        "%{customdata[1]:.0f} % of the window"
        if side == INSIDE
        else f"%{{customdata[1]:.3g}} {unit} {'below' if side == LOW else 'above'}"
    )
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [_place(side, point["at"], wide) for point in points],
        "y": [_percent(point["log_fuel"]) for point in points],
        "error_y": {
            "type": "data",
            "array": [None if half is None else 100 * half for half in halves],
            "color": colour,
            "width": 4,
        },
        "customdata": [
            [f"{point['months']} truck-months of {point['trucks']} trucks",
             100 * point["at"] if side == INSIDE else length(point["at"], unit)]
            for point in points
        ],
        "marker": {"symbol": symbol, "size": 10, "color": colour},
        "hovertemplate": f"{where}: %{{y:.1f}} %<br>%{{customdata[0]}}<extra></extra>",
    }  # fmt: skip


def half_width(point: Mapping[str, Any]) -> float | None:
    """Half the width of a point's 95 % limits in log fuel; none from one truck, whose months say nothing of others."""
    if point["error"] is None or point["trucks"] < 2:
        return None
    return float(student.ppf(0.975, point["trucks"] - 1) * point["error"])


def _fitted(effects: Mapping[str, Effect], ends: Mapping[int, float], wide: float) -> list[Figure]:
    data: list[Figure] = []
    line_x, line_y = [0.0, wide], [0.0, 0.0]
    for side, name in ((LOW, "shortfall"), (HIGH, "excess")):
        effect = effects[name]
        if not effect.carried:
            continue
        out = [ends[side] * step / STEPS for step in range(STEPS + 1)]
        x = [_place(side, at, wide) for at in out]
        low, high = ([_percent(slope * at) for at in out] for slope in (effect.low, effect.high))
        data.append(
            {
                "type": "scatter", "mode": "lines", "x": [*x, *x[::-1]], "y": [*high, *low[::-1]], "fill": "toself",
                "fillcolor": "var(--fan-wide)", "line": {"width": 0}, "hoverinfo": "skip",
                "name": "95 % limits of the line", "showlegend": not data,
            }
        )  # fmt: skip
        fitted = [_percent(effect.slope * at) for at in out]
        if side == LOW:
            line_x, line_y = x[::-1] + line_x, fitted[::-1] + line_y
        else:
            line_x, line_y = line_x + x, line_y + fitted
    line = {"color": "var(--accent)", "width": 2.5}
    data.append(
        {
            "type": "scatter",
            "mode": "lines",
            "name": "fitted",
            "x": line_x,
            "y": line_y,
            "line": line,
            "hoverinfo": "skip",
        }
    )
    return data


def _ticks(ends: Mapping[int, float], wide: float, unit: str) -> tuple[list[float], list[str]]:
    """Round places on both sides, counted from the limits in the viewer's unit."""
    widest = length(max(ends.values()), unit)
    step = _round_step(widest / 4)
    one_mm = length(1.0, unit)
    places, names = [0.0, wide], ["0", "0"]
    for side in (LOW, HIGH):
        for nth in range(1, int(length(ends[side], unit) / step + 1e-9) + 1):
            places.append(_place(side, nth * step / one_mm, wide))
            names.append(f"{nth * step:g}")
    return places, names


def _round_step(about: float) -> float:
    ten = 10 ** math.floor(math.log10(about))
    return ten * next(nice for nice in (1, 2, 5, 10) if nice * ten >= about * 0.999)
