"""What all charts share: type, hairlines, room, and the marks of states."""

from datetime import datetime
from typing import Any

Figure = dict[str, Any]
# A number along an axis, or a moment (or a day as ISO text) where the axis is one of days.
Place = float | datetime | str

# Shapes as near to the marks of the strip as the plotting library draws.
SYMBOLS = {
    "inside": "circle",
    "outside_low": "triangle-left",
    "outside_high": "triangle-right",
    "undecided": "diamond",
    "void": "circle-x",
}
COLOURS = {
    "inside": "var(--inside)",
    "outside_low": "var(--outside-low)",
    "outside_high": "var(--outside-high)",
    "undecided": "var(--undecided)",
    "void": "var(--void)",
}


def axis(title: str, **options: Any) -> dict[str, Any]:
    """One axis with hairlines."""
    return {
        "title": {"text": title, "font": {"size": 13}, "standoff": 8},
        "gridcolor": "var(--hairline)",
        "linecolor": "var(--hairline-strong)",
        "zeroline": False,
        "ticks": "outside",
        "tickcolor": "var(--hairline-strong)",
        "automargin": True,
        **options,
    }


def layout(x: dict[str, Any], y: dict[str, Any], **options: Any) -> dict[str, Any]:
    """A quiet layout on the page's own paper."""
    return {
        "xaxis": x,
        "yaxis": y,
        "paper_bgcolor": "var(--paper)",
        "plot_bgcolor": "var(--paper)",
        "font": {"family": "var(--font)", "size": 13, "color": "var(--ink-soft)"},
        "margin": {"l": 56, "r": 16, "t": 12, "b": 48},
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": "var(--paper-raised)", "font": {"color": "var(--ink)"}},
        "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom"},
        **options,
    }


def band(low: float, high: float) -> dict[str, Any]:
    """The window as a band across the whole width."""
    return {
        "type": "rect",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": low,
        "y1": high,
        "fillcolor": "var(--band)",
        "line": {"width": 0},
        "layer": "below",
    }


def level(y: float) -> dict[str, Any]:
    """The nominal as a broken line across the whole width."""
    line = {"color": "var(--ink-soft)", "width": 1, "dash": "dash"}
    return {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": y, "y1": y, "line": line, "layer": "below"}


def upright(x: Place, colour: str = "var(--ink)", dash: str = "dot") -> dict[str, Any]:
    """A mark on the horizontal axis, such as the setting."""
    line = {"color": colour, "width": 1.5, "dash": dash}
    return {"type": "line", "yref": "paper", "x0": x, "x1": x, "y0": 0, "y1": 1, "line": line}


def named_line(name: str, colour: str, dash: str) -> dict[str, Any]:
    """The legend's word for uprights: written beside each, it would run into readings or into the next one."""
    line = {"color": colour, "width": 1.5, "dash": dash}
    return {"type": "scatter", "mode": "lines", "name": name, "x": [None], "y": [None], "line": line}


def words(x: Place, text: str, **options: Any) -> dict[str, Any]:
    """Words at the top of an upright."""
    return {
        "x": x,
        "y": 1,
        "yref": "paper",
        "yanchor": "bottom",
        "text": text,
        "showarrow": False,
        "font": {"size": 12, "color": "var(--ink-soft)"},
        **options,
    }
