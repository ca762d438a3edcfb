"""Readings of one turbocharger along its use, in its window."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from reports.charts.fan import Fan, again_marks, fan_traces
from reports.charts.layout import COLOURS, SYMBOLS, Figure, Place, axis, band, layout, level, named_line, upright

HALF_A_MONTH = timedelta(days=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftPoint:
    """One judged stroke, in the viewer's units. ``at`` is the distance run since first fitted, or a moment."""

    at: Place
    travel: float
    expanded: float | None
    state: str
    as_left: bool
    words: str
    jumped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """What the chart draws. ``adjusted_at`` are places where the rod was turned."""

    points: Sequence[DriftPoint]
    adjusted_at: Sequence[Place]
    lower: float
    nominal: float
    upper: float
    length_unit: str
    distance_unit: str
    by_distance: bool
    fan: Fan | None = None


def drift_figure(drift: Drift) -> Figure:
    """The figure: window as a band, readings with whiskers, each adjustment as a step from as found to as left."""
    along = f"distance since fitted, {drift.distance_unit}" if drift.by_distance else "day"
    x = axis(along, type="linear" if drift.by_distance else "date")
    if drift.by_distance:
        x |= {"rangemode": "tozero", "tickformat": ",.0f"}
    elif not drift.fan and (days := _days_around(drift.points)):
        x |= {"range": days}
    again, again_word = again_marks(drift.fan) if drift.fan else ([], [])
    forecast = fan_traces(drift.fan) if drift.fan else []
    turned = [named_line("rod turned", "var(--ink-soft)", "dot")] if drift.adjusted_at else []
    return {
        "data": [*forecast, *_paths(drift), *_marks(drift), *_jumps(drift), *turned, *again_word],
        "layout": layout(
            x,
            axis(f"rod travel, {drift.length_unit}", range=_reach(drift)),
            shapes=[band(drift.lower, drift.upper), level(drift.nominal), *map(_step, drift.adjusted_at), *again],
        ),
    }


def _days_around(points: Sequence[DriftPoint]) -> list[Place]:
    """A month about readings of one day, which would else be set apart by the second."""
    days = [point.at for point in points if isinstance(point.at, datetime)]
    if not days or max(days) - min(days) > timedelta(days=1):
        return []
    return [min(days) - HALF_A_MONTH, max(days) + HALF_A_MONTH]


def _reach(drift: Drift) -> list[float]:
    """Travel that takes in the window, every whisker and the fan, with some room."""
    fan = drift.fan.rows if drift.fan else []
    low = min(
        [
            drift.lower,
            *(point.travel - (point.expanded or 0) for point in drift.points),
            *(travels[1] for _, travels in fan),
        ]
    )
    high = max(
        [
            drift.upper,
            *(point.travel + (point.expanded or 0) for point in drift.points),
            *(travels[4] for _, travels in fan),
        ]
    )
    room = 0.12 * (high - low)
    return [low - room, high + room]


def _step(at: Place) -> Figure:
    return upright(at, "var(--ink-soft)", "dot")


def _paths(drift: Drift) -> list[Figure]:
    """Lines between readings of one epoch; an adjustment begins another, and void readings belong to none."""
    epochs: list[list[DriftPoint]] = [[]]
    for point in drift.points:
        if point.as_left:
            epochs.append([])
        if point.state != "void":
            epochs[-1].append(point)
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "x": [point.at for point in epoch],
            "y": [point.travel for point in epoch],
            "line": {"color": "var(--hairline-strong)", "width": 1.5},
            "hoverinfo": "skip",
            "showlegend": False,
        }
        for epoch in epochs
        if len(epoch) > 1
    ]


def _marks(drift: Drift) -> list[Figure]:
    groups: dict[tuple[str, bool], list[DriftPoint]] = {}
    for point in drift.points:
        groups.setdefault((point.state, point.as_left), []).append(point)
    return [_group(state, as_left, points) for (state, as_left), points in groups.items()]


def _jumps(drift: Drift) -> list[Figure]:
    """A ring about each reading that jumped."""
    points = [point for point in drift.points if point.jumped]
    if not points:
        return []
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": "jumped",
            "x": [point.at for point in points],
            "y": [point.travel for point in points],
            "marker": {
                "symbol": "star-diamond-open",
                "size": 22,
                "color": "var(--wrong)",
                "line": {"color": "var(--wrong)", "width": 1.5},
            },
            "hoverinfo": "skip",
        }
    ]


def _group(state: str, as_left: bool, points: list[DriftPoint]) -> Figure:
    colour = COLOURS[state]
    hollow = not as_left or state == "void"
    return {
        "type": "scatter",
        "mode": "markers",
        "name": f"{state.replace('_', ' ')}, {'as left' if as_left else 'as found'}",
        "x": [point.at for point in points],
        "y": [point.travel for point in points],
        "error_y": {
            "type": "data",
            "array": [point.expanded or 0 for point in points],
            "color": colour,
            "thickness": 1.5,
            "width": 4,
        },
        "marker": {
            "symbol": SYMBOLS[state] + ("-open" if hollow else ""),
            "size": 11,
            "color": colour,
            "line": {"color": colour, "width": 2},
        },
        "text": [point.words for point in points],
        "hovertemplate": "%{text}<extra></extra>",
    }
