"""Fuel and wastegate month by month around a complaint."""

from collections.abc import Sequence
from datetime import date, timedelta

from reports.charts.layout import Figure, axis, layout, level, upright, words
from reports.charts.months import STATES, MonthMark, fuel_marks, months_axis, state_marks


def month_figure(marks: Sequence[MonthMark], *, raised_on: date, kind: str) -> Figure:
    """Fuel above, the wastegate's state under it on the same axis of months, the complaint as an upright."""
    names = [STATES[state] for state in STATES if any(mark.state == state for mark in marks)]
    figure = layout(
        months_axis(marks[0].first - timedelta(days=20), max(marks[-1].first, raised_on) + timedelta(days=40)),
        axis("fuel above own level, %", domain=[0.34, 1], zeroline=False),
        shapes=[upright(str(raised_on), "var(--wrong)", "solid"), level(0.0)],
        annotations=[words(str(raised_on), f"complaint: {kind}", yanchor="top", xanchor="right", xshift=-5)],
        showlegend=any(mark.alarm for mark in marks),
    )
    figure["yaxis2"] = axis("", domain=[0, 0.2], type="category", categoryorder="array", categoryarray=names[::-1])
    data = [*fuel_marks(marks, size=10), *state_marks(marks, size=11, showlegend=False)]
    return {"data": data, "layout": figure}
