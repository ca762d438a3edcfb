"""A truck's fuel by month; under it, on the same months, its wastegate, complaints, and when it was restored."""

from collections.abc import Sequence
from datetime import date, timedelta

from reports.charts.layout import Figure, axis, layout, level, upright
from reports.charts.months import MonthMark, fuel_marks, months_axis, state_marks

ROWS = ("restored", "complaint", "wastegate")


def unit_fuel_figure(
    marks: Sequence[MonthMark], *, complaints: Sequence[tuple[date, str]], restored: Sequence[tuple[date, str]]
) -> Figure:
    """Complaints and restorations with their words, by day."""
    figure = layout(
        months_axis(marks[0].first - timedelta(days=20), marks[-1].first + timedelta(days=50)),
        axis("fuel above own level, %", domain=[0.4, 1]),
        shapes=[
            level(0.0),
            *(upright(str(day), "var(--wrong)", "dot") for day, _ in complaints),
            *(upright(str(day), "var(--inside)", "dash") for day, _ in restored),
        ],
    )
    figure["yaxis2"] = axis("", domain=[0, 0.3], tickvals=[0, 1, 2], ticktext=list(ROWS), range=[-0.6, 2.6])
    data = [*fuel_marks(marks, size=9), *state_marks(marks, size=10, row=ROWS.index("wastegate"))]
    data += _events(complaints, "complaint", 1, "x-thin-open", "var(--wrong)")
    data += _events(restored, "restored", 0, "star", "var(--inside)")
    return {"data": data, "layout": figure}


def _events(events: Sequence[tuple[date, str]], name: str, row: int, symbol: str, colour: str) -> list[Figure]:
    if not events:
        return []
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": name,
            "showlegend": False,
            "yaxis": "y2",
            "x": [str(day) for day, _ in events],
            "y": [row] * len(events),
            "marker": {"symbol": symbol, "size": 12, "color": colour, "line": {"color": colour, "width": 2}},
            "text": [words for _, words in events],
            "hovertemplate": "%{x|%d %b %Y}: %{text}<extra></extra>",
        }
    ]
