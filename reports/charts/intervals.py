"""Shares found outside at scheduled checks, against the target."""

from collections.abc import Sequence

from checks.rules.intervals import IntervalReview
from reports.charts.layout import Figure, axis, layout, upright, words

MARKS = {
    "keep": ("circle", "var(--inside)"),
    "lengthen": ("triangle-left", "var(--outside-low)"),
    "shorten": ("triangle-right", "var(--outside-high)"),
    "wait": ("diamond-open", "var(--undecided)"),
}


def intervals_figure(reviews: Sequence[tuple[str, IntervalReview]], target: float) -> Figure:
    """One line a model: the share found outside in per cent, with its exact interval; the target as an upright."""
    names = [name for name, _ in reviews]
    data = [
        _trace(advice, [(name, review) for name, review in reviews if review.advice == advice])
        for advice in MARKS
        if any(review.advice == advice for _, review in reviews)
    ]
    return {
        "data": data,
        "layout": layout(
            axis("found outside at scheduled checks, %", rangemode="tozero"),
            axis("", type="category", categoryorder="array", categoryarray=names[::-1]),
            shapes=[upright(100 * target, "var(--ink)", "dash")],
            annotations=[words(100 * target, "target", yanchor="top", xanchor="left", xshift=4)],
        ),
    }


def _trace(advice: str, rows: Sequence[tuple[str, IntervalReview]]) -> Figure:
    symbol, colour = MARKS[advice]
    shares = [100 * (review.share or 0.0) for _, review in rows]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": advice,
        "x": shares,
        "y": [name for name, _ in rows],
        "error_x": {
            "type": "data",
            "symmetric": False,
            "array": [100 * review.high - share for (_, review), share in zip(rows, shares, strict=True)],
            "arrayminus": [share - 100 * review.low for (_, review), share in zip(rows, shares, strict=True)],
            "color": colour,
            "width": 6,
        },
        "marker": {"symbol": symbol, "size": 12, "color": colour},
        "hovertemplate": "%{y}: %{x:.1f} %<extra></extra>",
    }
