"""All units of one model: their drift, and how slopes are spread."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reports.charts.layout import Figure, axis, band, layout, level, upright, words

# More lines than this hide one another: then the spread is drawn, and only the units at most risk as lines.
LINES_MOST = 300
LINES_BESIDE_SPREAD = 40
GRID = 40
FEWEST_AT_A_PLACE = 20
BINS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitLine:
    """A unit's forecast travel from its setting until today, in the viewer's units."""

    name: str
    run: float
    began: float
    now: float
    chance: float
    address: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """What the chart of all units draws, in the viewer's units; the window may be unknown."""

    lines: Sequence[UnitLine]
    mean: tuple[float, float]  # travel when set by the plant, drift per 1 of the horizontal axis
    window: tuple[float, float, float] | None
    length_unit: str
    usage_unit: str


def units_figure(units: Units) -> Figure:
    """Every unit as a thin line; of many units the spread of the lines, and those at most risk."""
    many = len(units.lines) > LINES_MOST
    ranked = sorted(units.lines, key=lambda line: -line.chance)
    shown = ranked[:LINES_BESIDE_SPREAD] if many else ranked
    data = _spread(units.lines) if many else []
    name = f"the {len(shown)} units at most risk" if many else "a unit, from its setting until today"
    data += [_lines(shown, name), _ends(shown, units), _mean(units)]
    shapes = []
    if units.window:
        low, nominal, high = units.window
        shapes = [band(low, high), level(nominal)]
    x = axis(f"run since it was set, {units.usage_unit}", rangemode="tozero", tickformat=",.0f")
    return {"data": data, "layout": layout(x, axis(f"rod travel, {units.length_unit}"), shapes=shapes)}


def slopes_figure(slopes: Sequence[float], mean: float, unit: str) -> Figure:
    """How many units drift how fast; ``slopes`` in the unit named."""
    counts, edges = np.histogram(slopes, bins=min(BINS, max(5, len(slopes) // 2)))
    middle, width = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    bars = {
        "type": "bar",
        "name": "units",
        "x": middle.tolist(),
        "y": counts.tolist(),
        "width": (0.94 * width).tolist(),
        "marker": {"color": "var(--accent)"},
        "hovertemplate": "%{y} units about %{x:.3g}<extra></extra>",
        "showlegend": False,
    }
    marks = [upright(mean, "var(--ink)", "solid"), upright(0.0, "var(--ink-soft)", "dot")]
    return {
        "data": [bars],
        "layout": layout(
            axis(f"drift, {unit}"),
            axis("units", rangemode="tozero"),
            shapes=marks,
            annotations=[words(mean, "mean of the model")],
            margin={"l": 56, "r": 16, "t": 24, "b": 48},
        ),
    }


def _lines(lines: Sequence[UnitLine], name: str) -> Figure:
    x: list[float | None] = []
    y: list[float | None] = []
    for line in lines:
        x += [0.0, line.run, None]
        y += [line.began, line.now, None]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": x,
        "y": y,
        "line": {"color": "var(--hairline-strong)", "width": 1},
        "hoverinfo": "skip",
    }


def _ends(lines: Sequence[UnitLine], units: Units) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "where it is today",
        "x": [line.run for line in lines],
        "y": [line.now for line in lines],
        "text": [line.name for line in lines],
        "customdata": [line.address for line in lines],
        "marker": {"symbol": "circle", "size": 5, "color": "var(--accent)"},
        "hovertemplate": f"%{{text}}: %{{y:.4g}} {units.length_unit}<extra></extra>",
    }


def _mean(units: Units) -> Figure:
    reach = max((line.run for line in units.lines), default=1.0)
    began, drift = units.mean
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "mean of the model, plant setting",
        "x": [0.0, reach],
        "y": [began, began + drift * reach],
        "line": {"color": "var(--ink)", "width": 2.5},
        "hoverinfo": "skip",
    }


def _spread(lines: Sequence[UnitLine]) -> list[Figure]:
    """Bands that hold 95 and 50 % of the units, along use, as far as enough units have run."""
    run, began, now = (np.array([getattr(line, name) for line in lines]) for name in ("run", "began", "now"))
    slope = (now - began) / np.where(run > 0, run, 1.0)
    grid = np.linspace(0.0, float(run.max()), GRID)
    grid = grid[[(run >= at).sum() >= FEWEST_AT_A_PLACE for at in grid]]
    shares = (2.5, 25, 75, 97.5)
    held = np.array([np.percentile((began + slope * at)[run >= at], shares) for at in grid]).reshape(-1, 4)
    wide = _area(grid, held[:, 0], held[:, 3], "95 % of units", "var(--fan-wide)")
    return wide + _area(grid, held[:, 1], held[:, 2], "half of the units", "var(--fan-near)")


def _area(x: np.ndarray, low: np.ndarray, high: np.ndarray, name: str, colour: str) -> list[Figure]:
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": name,
            "x": [*x.tolist(), *x[::-1].tolist()],
            "y": [*low.tolist(), *high[::-1].tolist()],
            "fill": "toself",
            "fillcolor": colour,
            "line": {"width": 0},
            "hoverinfo": "skip",
        }
    ]
