"""Fuel of a truck month by month, and on the same months the state of its wastegate."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from reports.charts.layout import COLOURS, SYMBOLS, Figure, axis

STATES = {"inside": "inside", "outside_low": "outside low", "outside_high": "outside high", "": "not known"}
MIDDLE = timedelta(days=14)
FEW_MONTHS = timedelta(days=200)


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthMark:
    """A month with trips: fuel above the truck's own level in per cent with its limits, the wastegate's state (empty
    where not known), and whether the thirst alarm stood."""

    first: date
    percent: float
    low: float
    high: float
    state: str
    alarm: bool


def months_axis(first: date, last: date) -> dict[str, Any]:
    """The axis of months, under the lower of two pictures."""
    few = {"dtick": "M1"} if last - first < FEW_MONTHS else {}  # else half a month has the name of the whole one
    return axis("month", type="date", range=[str(first), str(last)], tickformat="%b %Y", anchor="y2", **few)


def fuel_marks(marks: Sequence[MonthMark], *, size: int) -> list[Figure]:
    """Fuel with its limits; months in which the alarm stood have a mark of their own."""
    groups = [
        ("fuel", [mark for mark in marks if not mark.alarm], "circle-open"),
        ("fuel, thirst alarm stands", [mark for mark in marks if mark.alarm], "diamond"),
    ]
    return [_points(name, found, symbol, size) for name, found, symbol in groups if found]


def _points(name: str, marks: Sequence[MonthMark], symbol: str, size: int) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [str(mark.first + MIDDLE) for mark in marks],
        "y": [round(mark.percent, 3) for mark in marks],
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": [round(mark.high - mark.percent, 3) for mark in marks],
            "arrayminus": [round(mark.percent - mark.low, 3) for mark in marks],
            "color": "var(--ink-soft)",
            "width": 4,
        },
        "marker": {"symbol": symbol, "size": size, "color": "var(--accent)"},
        "hovertemplate": "%{x|%b %Y}: %{y:+.1f} %<extra></extra>",
    }


def state_marks(marks: Sequence[MonthMark], *, size: int, row: int | None = None, **options: Any) -> list[Figure]:
    """The wastegate's state on the lower axis: each state in a row of its own, or all in ``row``."""
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": f"wastegate {name}",
            "yaxis": "y2",
            "x": [str(mark.first + MIDDLE) for mark in marks if mark.state == state],
            "y": [name if row is None else row for mark in marks if mark.state == state],
            "marker": {
                "symbol": SYMBOLS.get(state, "line-ew-open"),
                "size": size,
                "color": COLOURS.get(state, "var(--ink-soft)"),
            },
            "hovertemplate": f"%{{x|%b %Y}}: {name}<extra></extra>",
            **options,
        }
        for state, name in STATES.items()
        if any(mark.state == state for mark in marks)
    ]
