"""Charts for paper: SVG with letters as paths, readable without colour, the same bytes for the same table."""

import io
import math
from collections.abc import Sequence
from typing import Any

import matplotlib

from reports.export.frozen import SHADES, Table

matplotlib.use("Agg")

from matplotlib.axes import Axes
from matplotlib.figure import Figure

STYLE: dict[Any, Any] = {
    "svg.fonttype": "path", "svg.hashsalt": "review", "font.family": "DejaVu Sans", "font.size": 8,
    "axes.spines.top": False, "axes.spines.right": False, "hatch.linewidth": 0.6,
}  # fmt: skip
# Each with its own hatching beside its own grey.
FACES = tuple(zip(SHADES, ("", "////", "....", "xx"), strict=True))
MOST_DRAWN = 24


def plot(table: Table) -> str:
    """The table's chart as SVG text; '' where it has none or nothing to draw."""
    if table.chart is None:
        return ""
    rows = [table.rows[i] for i in table.drawn()][:MOST_DRAWN]
    if table.chart.kind == "range":
        rows = [row for row in rows if all(row[table.at(key)] for key in table.chart.values)]
    if not rows:
        return ""
    with matplotlib.rc_context(STYLE):
        height = 2.3 if table.chart.kind == "bars" else 0.9 + 0.24 * len(rows)
        figure = Figure(figsize=(5.2, height), layout="constrained")
        axes = figure.subplots()
        (_bars if table.chart.kind == "bars" else _ranges)(axes, table, rows)
        axes.set_title(table.chart.title, fontsize=8.5, loc="left", fontweight="bold")
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def plot_words(table: Table) -> str:
    """The same for whoever cannot see it."""
    chart = table.chart
    if chart is None:
        return ""
    rows = [table.rows[i] for i in table.drawn()][:MOST_DRAWN]
    names = [table.columns[table.at(key)].label for key in chart.values]
    said = [
        f"{row[table.at(chart.label)]}: "
        + ", ".join(f"{name} {row[table.at(key)] or 'none'}" for name, key in zip(names, chart.values, strict=True))
        for row in rows
    ]
    return f"{chart.title}, {chart.axis}. " + "; ".join(said) + "."


def _bars(axes: Axes, table: Table, rows: Sequence[tuple[str, ...]]) -> None:
    chart = table.chart
    assert chart is not None  # noqa: S101  - the caller looked
    labels = [row[table.at(chart.label)] for row in rows]
    width = 0.8 / len(chart.values)
    for i, key in enumerate(chart.values):
        face, hatch = FACES[i % len(FACES)]
        at = table.at(key)
        heights = [float(row[at] or 0) for row in rows]
        places = [j + (i - (len(chart.values) - 1) / 2) * width for j in range(len(rows))]
        name = table.columns[at].label
        axes.bar(places, heights, width, color=face, hatch=hatch, edgecolor="#1b2430", linewidth=0.5, label=name)
    axes.set_xticks(
        range(len(rows)), labels, rotation=20 if len(rows) > 4 else 0, ha="right" if len(rows) > 4 else "center"
    )
    axes.set_ylabel(chart.axis)
    if all(float(row[table.at(key)] or 0).is_integer() for row in rows for key in chart.values):
        axes.locator_params(axis="y", integer=True)
    if len(chart.values) > 1:
        axes.legend(frameon=False, fontsize=7, ncols=len(chart.values), loc="upper right")
        axes.set_ylim(0, max(1.0, axes.get_ylim()[1] * 1.18))


def _ranges(axes: Axes, table: Table, rows: Sequence[tuple[str, ...]]) -> None:
    chart = table.chart
    assert chart is not None  # noqa: S101  - the caller looked
    value, low, high = (table.at(key) for key in chart.values)
    for j, row in enumerate(rows):
        axes.plot([float(row[low]), float(row[high])], [j, j], color="#1b2430", linewidth=1.2, marker="|", markersize=6)
        axes.plot([float(row[value])], [j], "o", color="#1F3A5F", markersize=5)
    axes.set_yticks(range(len(rows)), [row[table.at(chart.label)] for row in rows])
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.set_xlabel(chart.axis)
    ends = [float(row[at]) for row in rows for at in (low, high)]
    if min(ends) >= 0 and math.isfinite(max(ends)):
        axes.set_xlim(left=0)
    else:
        axes.axvline(0, color="#8a94a3", linewidth=0.7)
    axes.grid(axis="x", color="#dfe3e8", linewidth=0.5)
    axes.set_axisbelow(True)
