"""The share still inside its window over use: Weibull curves, steps without a shape, and who is followed under them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from checks.rules.life_told import B_SHARE
from reports.charts.layout import Figure, axis, layout, upright

# More curves than this hide one another; the table has them all.
MOST_CURVES = 6
POINTS = 60
INKS = (
    ("var(--accent)", "solid"),
    ("var(--outside-high)", "dash"),
    ("var(--inside)", "dashdot"),
    ("var(--leaving)", "longdash"),
    ("var(--undecided)", "dot"),
    ("var(--void)", "longdashdot"),
)
# Pixels below the axis: its numbers and title, then two lines a group.
TITLE, LINE = 50, 17


@dataclass(frozen=True, slots=True)
class Reach:
    """Usage by which ``share`` have left, in km or h; ``low`` 0 or ``high`` None where nothing bounds it."""

    share: float
    usage: float
    low: float
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lives that belong together. ``model`` names their model; ``reason`` says why there is no B10.

    ``steps``: rows of (after, until, share still inside from there); ``followed``: still followed at the fit's ticks.
    """

    kind: str
    key: str | int
    name: str
    model: str
    lives: int
    events: int
    late: int
    longest: float
    reason: str
    eta: float
    beta: float
    beta_limits: tuple[float, float]
    reaches: tuple[Reach, ...]
    steps: tuple[tuple[float, float, float], ...]
    followed: tuple[int, ...]

    @property
    def b10(self) -> Reach | None:
        return next((row for row in self.reaches if row.share == B_SHARE), None)


def life_figure(groups: Sequence[Group], ticks: Sequence[float], usage: Callable[[float], float], unit: str) -> Figure:
    """Curves of some groups over use in the viewer's ``unit``, to which ``usage`` converts; a band where there is one.

    Steps slope where the checks leave open when units left.
    """
    shown = list(groups[:MOST_CURVES])
    end = max(group.longest for group in shown) * 1.03
    data: list[Figure] = []
    alone = len(shown) == 1
    for group, (colour, dash) in zip(shown, INKS, strict=False):
        name = "Weibull life" if alone else group.name
        if alone and group.reaches:
            data.append(_band(group, end, usage))
        if group.reaches:
            data.append(_curve(group, end, usage, name, colour, dash))
        if group.steps:
            data.append(_steps(group, usage, colour, alone=alone, named=alone or not group.reaches))
    places = [usage(tick) for tick in ticks]
    # Short numbers stay upright on a phone, clear of the counts under them.
    size = 1000 if max(places, default=0.0) >= 20_000 else 1
    title = f"use since set, {'1,000 ' if size > 1 else ''}{unit}"
    alone_b10 = shown[0].b10 if alone else None
    marks = [upright(usage(alone_b10.usage), "var(--ink-soft)")] if alone_b10 and alone_b10.usage < end else []
    return {
        "data": data,
        "layout": layout(
            axis(title, range=[-0.02 * usage(end), usage(end)], tickvals=places, tickangle=0,
                 ticktext=[f"{place / size:,.0f}" for place in places]),
            axis("still inside, %", range=[0, 103], tickvals=[0, 20, 40, 60, 80, 90, 100]),
            shapes=marks,
            annotations=_followed(shown, places, alone=alone),
            margin={"l": 60, "r": 16, "t": 40, "b": TITLE + LINE * (2 * len(shown) + 1)},
        ),
    }  # fmt: skip


def _curve(group: Group, end: float, usage: Callable[[float], float], name: str, colour: str, dash: str) -> Figure:
    at = np.linspace(0.0, end, POINTS)
    inside = 100 * np.exp(-((at / group.eta) ** group.beta))
    return {
        "type": "scatter", "mode": "lines", "name": name, "x": [usage(x) for x in at.tolist()],
        "y": [round(y, 2) for y in inside.tolist()], "line": {"color": colour, "width": 2.5, "dash": dash},
        "hovertemplate": f"{group.name}: %{{y:.0f}} % inside at %{{x:,.0f}}<extra></extra>",
    }  # fmt: skip


def _band(group: Group, end: float, usage: Callable[[float], float]) -> Figure:
    """Where each share is reached, from its lower to its upper limit; what has no bound goes on to the edge."""
    low = [(usage(min(row.low, end)), 100 * (1 - row.share)) for row in group.reaches]
    high = [(usage(min(end if row.high is None else row.high, end)), 100 * (1 - row.share)) for row in group.reaches]
    rim = [(0.0, 100.0), *low, *high[::-1], (0.0, 100.0)]
    return {
        "type": "scatter", "mode": "lines", "name": "95 % limits of use", "x": [x for x, _ in rim],
        "y": [y for _, y in rim], "fill": "toself", "fillcolor": "var(--fan-wide)", "line": {"width": 0},
        "hoverinfo": "skip",
    }  # fmt: skip


def _steps(group: Group, usage: Callable[[float], float], colour: str, *, alone: bool, named: bool) -> Figure:
    """Level where the share is known, sloping where it is not."""
    x, y, level = [0.0], [100.0], 100.0
    for after, until, share in group.steps:
        x += [usage(after), usage(until)]
        y += [level, 100 * share]
        level = 100 * share
    x.append(usage(group.longest))
    y.append(level)
    return {
        "type": "scatter", "mode": "lines", "name": "without a shape" if alone else group.name, "showlegend": named,
        "x": x, "y": [round(v, 2) for v in y],
        "line": {"color": "var(--ink)" if alone else colour, "width": 1.2}, "hoverinfo": "skip",
    }  # fmt: skip


def _followed(groups: Sequence[Group], places: Sequence[float], *, alone: bool) -> list[Figure]:
    """Counts under the numbers of the axis, a line of words above each row of them."""
    out = []
    for nth, group in enumerate(groups):
        top, colour = TITLE + LINE * (2 * nth), INKS[nth][0]
        head = "followed and known to be inside" if alone else f"followed and inside: {group.name}"
        out.append(_text(0.0, head, top, xref="paper", xanchor="left", font={"size": 12, "color": "var(--ink-soft)"}))
        ink = "var(--ink)" if alone else colour
        out += [
            _text(place, f"{count:,}", top + LINE, font={"size": 12, "color": ink})
            for place, count in zip(places, group.followed, strict=False)
        ]
    return out


def _text(x: float, text: str, below: int, **options: object) -> Figure:
    return {"x": x, "y": 0, "yref": "paper", "yanchor": "top", "yshift": -below, "text": text, "showarrow": False} | {
        **options
    }
