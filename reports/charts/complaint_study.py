"""Odds of a complaint by the lag that is allowed."""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.charts.layout import Figure, axis, layout, upright, words

# Beyond these a logarithmic axis would only show that nothing is known.
LEAST, MOST = 0.05, 200.0
TICKS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class LagMark:
    """The odds ratio at one lag; no ``estimate`` or ``high`` where there is no bound."""

    lag: int
    estimate: float | None
    low: float
    high: float | None
    chosen: bool


def lag_figure(marks: Sequence[LagMark]) -> Figure:
    """One line a lag on a logarithmic axis, no effect as an upright; the chosen lag is filled."""
    names = [_name(mark.lag) for mark in marks]
    return {
        "data": [_trace([mark for mark in marks if mark.chosen is chosen], chosen=chosen) for chosen in (True, False)],
        "layout": layout(
            axis(
                "odds of a fuel complaint, outside against inside",
                type="log", tickvals=TICKS, ticktext=[f"{tick:g}" for tick in TICKS],
            ),
            axis("lag", type="category", categoryorder="array", categoryarray=names[::-1]),
            shapes=[upright(1.0, "var(--ink)", "dash")],
            annotations=[words(0.0, "no difference", yanchor="top", xanchor="left", xshift=4)],
            showlegend=False,
        ),
    }  # fmt: skip


def _trace(marks: Sequence[LagMark], *, chosen: bool) -> Figure:
    centre = [_held(mark.estimate if mark.estimate is not None else max(mark.low, 1.0)) for mark in marks]
    return {
        "type": "scatter",
        "mode": "markers",
        "x": centre,
        "y": [_name(mark.lag) for mark in marks],
        "error_x": {
            "type": "data",
            "symmetric": False,
            "array": [
                max(0.0, _held(MOST if mark.high is None else mark.high) - at)
                for mark, at in zip(marks, centre, strict=True)
            ],
            "arrayminus": [max(0.0, at - _held(mark.low)) for mark, at in zip(marks, centre, strict=True)],
            "color": "var(--accent)",
            "width": 6,
        },
        "marker": {"symbol": "circle" if chosen else "circle-open", "size": 12, "color": "var(--accent)"},
        "hovertemplate": "%{y}: %{x:.2f}<extra></extra>",
    }


def _name(lag: int) -> str:
    return "same month" if lag == 0 else f"{lag} month{'s' if lag > 1 else ''}"


def _held(value: float) -> float:
    return min(max(value, LEAST), MOST)
