"""The forecast beyond the last reading: a fan that fades, and the usual marks beside it."""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.charts.layout import Figure, Place, axis, layout, level, named_line, upright


@dataclass(frozen=True, slots=True, kw_only=True)
class Fan:
    """The forecast along a chart's horizontal axis, in the viewer's units; ``again_at`` is where to see it again.

    ``rows``: a place with the mean and the travels below which the true one lies with 2.5, 25, 75 and 97.5 %.
    """

    rows: Sequence[tuple[Place, tuple[float, ...]]]
    again_at: Place | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One reading against its forecast, in standard deviations, and the smoothed run of these with its limit."""

    at: Place
    z: float
    jumped: bool
    smoothed: float
    limit: float


def fan_traces(fan: Fan) -> list[Figure]:
    """The bands that hold 95 and 50 %, which the words below the chart explain, and the mean."""
    at = [row[0] for row in fan.rows]
    mean, low, near_low, near_high, high = (list(column) for column in zip(*(row[1] for row in fan.rows), strict=True))
    return [
        _edge(at, low),
        _edge(at, high) | {"fill": "tonexty", "fillcolor": "var(--fan-wide)", "name": "forecast, 95 %"},
        _edge(at, near_low),
        _edge(at, near_high) | {"fill": "tonexty", "fillcolor": "var(--fan-near)", "name": "forecast, half"},
        {
            "type": "scatter",
            "mode": "lines",
            "name": "forecast, mean",
            "x": at,
            "y": mean,
            "line": {"color": "var(--accent)", "width": 2, "dash": "dash"},
            "hovertemplate": "forecast %{y:.4g}<extra></extra>",
        },
    ]


def again_marks(fan: Fan) -> tuple[list[Figure], list[Figure]]:
    """The upright of the next look, and the legend's word for it."""
    if fan.again_at is None:
        return [], []
    return [upright(fan.again_at, "var(--leaving)", "dash")], [named_line("see again", "var(--leaving)", "dash")]


def signs_figure(signs: Sequence[Sign], along: str, kind: str) -> Figure:
    """The chart for small shifts: readings, their smoothed run (EWMA), and its control limits."""
    at = [sign.at for sign in signs]
    quiet, jumps = [s for s in signs if not s.jumped], [s for s in signs if s.jumped]
    data = [
        _line(at, [sign.limit for sign in signs], "control limit", "var(--ink-soft)", "dot"),
        _line(at, [-sign.limit for sign in signs], "", "var(--ink-soft)", "dot") | {"showlegend": False},
        _line(at, [sign.smoothed for sign in signs], "smoothed (EWMA)", "var(--accent)", "solid"),
        _dots(quiet, "a reading", "circle-open", "var(--ink-soft)", 8),
    ]
    if jumps:
        data.append(_dots(jumps, "jumped", "star-diamond-open", "var(--wrong)", 14))
    y = axis("standard deviations from the forecast")
    return {"data": data, "layout": layout(axis(along, type=kind), y, shapes=[level(0.0)])}


def _edge(at: Sequence[Place], values: Sequence[float]) -> Figure:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": at,
        "y": values,
        "line": {"width": 0, "color": "var(--accent)"},
        "hoverinfo": "skip",
        "showlegend": False,
    }


def _line(at: Sequence[Place], values: Sequence[float], name: str, colour: str, dash: str) -> Figure:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": at,
        "y": values,
        "line": {"color": colour, "width": 1.5, "dash": dash},
        "hoverinfo": "skip",
    }


def _dots(signs: Sequence[Sign], name: str, symbol: str, colour: str, size: int) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [sign.at for sign in signs],
        "y": [sign.z for sign in signs],
        "marker": {"symbol": symbol, "size": size, "color": colour, "line": {"color": colour, "width": 1.5}},
        "hovertemplate": "%{y:.2f} standard deviations<extra></extra>",
    }
