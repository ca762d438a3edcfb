"""Travel when fitted by the batch in which units came."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from reports.charts.layout import Figure, axis, layout

# Units stand this far beside the mean of their batch.
BESIDE = timedelta(days=12)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchMark:
    """One batch: its mean and 3 standard errors, and the units that the viewer may see."""

    label: str
    began: date
    mean: float
    reach: float
    departs: bool
    units: Sequence[tuple[str, float]]


def batches_figure(batches: Sequence[BatchMark], length_unit: str) -> Figure:
    """Travel when fitted by the batch in which units came: the units as dots, each batch's mean with its reach."""
    dots = [((batch.began - BESIDE).isoformat(), value, name) for batch in batches for name, value in batch.units]
    quiet = [batch for batch in batches if not batch.departs]
    apart = [batch for batch in batches if batch.departs]
    data: list[Figure] = [
        {
            "type": "scatter",
            "mode": "markers",
            "name": "a unit",
            "x": [x for x, _, _ in dots],
            "y": [y for _, y, _ in dots],
            "text": [name for _, _, name in dots],
            "marker": {"symbol": "circle-open", "size": 6, "color": "var(--ink-soft)"},
            "hovertemplate": "%{text}: %{y:.4g}<extra></extra>",
        },
        _means(quiet, "mean of a batch, 3 standard errors", "circle", "var(--accent)"),
    ]
    if apart:
        data.append(_means(apart, "a batch that departs", "diamond", "var(--wrong)"))
    return {
        "data": data,
        "layout": layout(axis("received", type="date"), axis(f"rod travel when fitted, {length_unit}")),
    }


def _means(batches: Sequence[BatchMark], name: str, symbol: str, colour: str) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [batch.began.isoformat() for batch in batches],
        "y": [batch.mean for batch in batches],
        "error_y": {"type": "data", "array": [batch.reach for batch in batches], "color": colour, "width": 5},
        "text": [batch.label for batch in batches],
        "marker": {"symbol": symbol, "size": 11, "color": colour},
        "hovertemplate": "%{text}: %{y:.4g}<extra></extra>",
    }
