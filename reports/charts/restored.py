"""What each restoration gave back, one line an event, and their mean as a lozenge under them."""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.charts.layout import COLOURS, SYMBOLS, Figure, axis, layout, upright, words

# More lines than this are told by the table alone.
MOST_LINES = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One event, in per cent of fuel, less below zero; ``share`` of the weight, 0 to 1."""

    name: str
    side: str
    change: float
    low: float
    high: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mean:
    """The mean of all in per cent, its limits, and where one more event would lie."""

    change: float
    low: float
    high: float
    ahead: tuple[float, float] | None


def restored_figure(lines: Sequence[Line], mean: Mean | None) -> Figure:
    """Latest at the top; marks grow with the event's share of the mean; no change is an upright."""
    shown = list(lines[:MOST_LINES])
    rows = {line.name: len(shown) - nth for nth, line in enumerate(shown)}
    data = [_events([x for x in shown if x.side == side], rows, side) for side in ("outside_low", "outside_high")]
    ticks: dict[float, str] = {row: name for name, row in rows.items()}
    ticks[-0.2] = "mean of all"
    if mean:
        data += _mean(mean)
    at_mean = [upright(mean.change, "var(--accent)")] if mean else []
    return {
        "data": [trace for trace in data if trace["x"]],
        "layout": layout(
            axis("fuel use after less before, against trucks without a change, %"),
            axis("", tickvals=list(ticks), ticktext=list(ticks.values()), range=[-1.0, len(shown) + 0.8],
                 showgrid=False),
            shapes=[upright(0.0, "var(--ink-soft)", "solid"), *at_mean],
            annotations=[words(0.0, "no change", yanchor="bottom", xanchor="left", xshift=4)],
            margin={"l": 96, "r": 16, "t": 24, "b": 56},
            legend={"orientation": "h", "x": 0, "y": 1.06, "yanchor": "bottom"},
        ),
    }  # fmt: skip


def _events(lines: Sequence[Line], rows: dict[str, int], side: str) -> Figure:
    colour = COLOURS[side]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": f"stood {side.replace('_', ' ')}",
        "x": [line.change for line in lines],
        "y": [rows[line.name] for line in lines],
        "error_x": {
            "type": "data",
            "symmetric": False,
            "array": [line.high - line.change for line in lines],
            "arrayminus": [line.change - line.low for line in lines],
            "color": colour,
            "thickness": 1.5,
            "width": 4,
        },
        "marker": {
            "symbol": SYMBOLS[side],
            "opacity": 1,
            "size": [8 + 10 * line.share**0.5 for line in lines],
            "color": colour,
            "line": {"color": "var(--paper)", "width": 1},
        },
        "text": [line.name for line in lines],
        "hovertemplate": "%{text}: %{x:.1f} %<extra></extra>",
    }


def _mean(mean: Mean) -> list[Figure]:
    """A lozenge as wide as the limits; a thin line under it as wide as one more event may lie."""
    out: list[Figure] = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": "mean of all, 95 % limits",
            "x": [mean.low, mean.change, mean.high, mean.change, mean.low],
            "y": [-0.2, 0.15, -0.2, -0.55, -0.2],
            "fill": "toself",
            "fillcolor": "var(--accent)",
            "line": {"color": "var(--accent)", "width": 1},
            "hoverinfo": "skip",
        }
    ]
    if mean.ahead:
        out.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": "one more event, 95 %",
                "x": list(mean.ahead),
                "y": [-0.8, -0.8],
                "line": {"color": "var(--ink-soft)", "width": 2},
                "hoverinfo": "skip",
            }
        )
    return out
