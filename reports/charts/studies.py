"""The two charts of a study, technician beside technician: ranges and means of each part's trials."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from checks.display import LENGTH_DECIMALS, length
from reports.charts.layout import Figure, axis, band, layout, level, upright, words

Floats = NDArray[np.float64]
# So many parts are all numbered on the axis; of more, every fifth, or with many technicians the last.
FEW = 6
STEP = 5
# So many names of so many letters stand above their parts; others would collide on a phone, and stand in a legend.
NAMES, LETTERS = 2, 16
SYMBOLS = ("circle", "diamond", "square", "triangle-up", "cross")


def ranges_figure(
    ranges: Floats, limit: float, technicians: Sequence[str], parts: Sequence[str], *, unit: str
) -> Figure:
    """Ranges in mm, shape (technicians, parts), with their mean and the limit that they pass by chance rarely."""
    marks = [(float(ranges.mean()), "mean range"), (limit, "limit")]
    return _figure(ranges, marks, technicians, parts, f"range of the trials, {unit}", unit)


def means_figure(
    means: Floats, limits: tuple[float, float], technicians: Sequence[str], parts: Sequence[str], *, unit: str
) -> Figure:
    """Means in mm, shape (technicians, parts), with the band within which repeats alone would hold them."""
    figure = _figure(
        means, [(float(means.mean()), "mean, limits")], technicians, parts, f"mean of the trials, {unit}", unit
    )
    low, high = (length(at, unit) for at in limits)
    figure["layout"]["shapes"].insert(0, band(low, high))
    return figure


def _figure(
    values: Floats,
    marks: Sequence[tuple[float, str]],
    technicians: Sequence[str],
    parts: Sequence[str],
    title: str,
    unit: str,
) -> Figure:
    width = len(parts)
    step = 1 if width <= FEW else STEP if len(technicians) <= FEW // 2 else width
    numbers = range(step, width + 1, step)
    traces = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": name,
            "x": [row * width + column + 1 for column in range(width)],
            "y": [length(float(value), unit) for value in values[row]],
            "text": list(parts),
            "line": {"color": "var(--ink-soft)", "width": 1},
            "marker": {"symbol": SYMBOLS[row % len(SYMBOLS)], "size": 9, "color": "var(--accent)"},
            "hovertemplate": f"{name}, %{{text}}: %{{y:.{LENGTH_DECIMALS[unit]}f}} {unit}<extra></extra>",
        }
        for row, name in enumerate(technicians)
    ]
    heads = [words(row * width + (width + 1) / 2, name, xref="x") for row, name in enumerate(technicians)]
    crowded = len(technicians) > NAMES or max(map(len, technicians)) > LETTERS
    return {
        "data": traces,
        "layout": layout(
            axis(
                "part",
                tickvals=[row * width + number for row in range(len(technicians)) for number in numbers],
                ticktext=[str(number) for _ in technicians for number in numbers],
                tickangle=0,
                range=[0.4, len(technicians) * width + 0.6],
            ),
            axis(title, rangemode="normal"),
            shapes=[
                *(level(length(at, unit)) for at, _ in marks),
                *(upright(row * width + 0.5, "var(--hairline-strong)", "solid") for row in range(1, len(technicians))),
            ],
            annotations=[*(heads if not crowded else ()), *(_named(length(at, unit), name) for at, name in marks)],
            showlegend=crowded,
            margin={"l": 56, "r": 84, "t": 24, "b": 48},
        ),
    }


def _named(y: float, name: str) -> Figure:
    """The name of a level, beside its right end."""
    font = {"size": 12, "color": "var(--ink-soft)"}
    return {
        "x": 1,
        "xref": "paper",
        "xanchor": "left",
        "xshift": 4,
        "y": y,
        "yanchor": "middle",
        "text": name,
        "showarrow": False,
        "font": font,
    }
