"""The stroke plot: travel against stimulus as it is being measured, with the setting, the window and the maximum."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from checks.display import length, length_text, stimulus, stimulus_text

WIDTH, HEIGHT = 720.0, 470.0
LEFT, RIGHT, TOP, BOTTOM = 78.0, 18.0, 34.0, 56.0
# Room beyond the maximum, so that what lies there can be seen to lie there.
BEYOND = 1.08
WORDS = {"rise": "rising", "setting": "at the setting", "fall": "falling"}


@dataclass(frozen=True, slots=True)
class StrokePoint:
    """A corrected reading: stimulus in kPa or %, travel in mm. ``past`` points belong to a vented approach."""

    phase: str
    stimulus: float
    travel_mm: float
    past: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeFrame:
    """What the plot is drawn against: stimulus in kPa or %, lengths in mm."""

    setting: float
    stimulus_max: float
    lower_mm: float
    nominal_mm: float
    upper_mm: float


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A drawn reading. ``look``: 'rise', 'setting', 'fall' or 'past'."""

    x: float
    y: float
    look: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokePlot:
    """Everything the template draws, and the sentence that says the same."""

    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    marks: tuple[Mark, ...]
    rise_path: str
    fall_path: str
    setting_x: float
    maximum_x: float
    lower_y: float
    nominal_y: float
    upper_y: float
    setting_text: str
    maximum_text: str
    x_label: str
    y_label: str
    sentence: str
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    top: float = TOP
    right: float = WIDTH - RIGHT
    bottom: float = HEIGHT - BOTTOM
    tick_x: float = LEFT - 8
    tick_y: float = HEIGHT - BOTTOM + 24
    name_y: float = TOP - 12
    label_y: float = HEIGHT - 8

    @property
    def beyond_width(self) -> float:
        return round(self.right - self.maximum_x, 1)

    @property
    def beyond_height(self) -> float:
        return self.bottom - self.top

    @property
    def window_x(self) -> float:
        return round(self.setting_x - 9, 1)

    @property
    def window_height(self) -> float:
        return round(self.lower_y - self.upper_y, 1)


def stroke_plot(
    frame: StrokeFrame, points: Sequence[StrokePoint], *, stimulus_unit: str, length_unit: str
) -> StrokePlot:
    """Context of ``{% stroke_plot %}``.

    Parameters
    ----------
    frame, points : kPa or %, mm
    stimulus_unit, length_unit : the viewer's units, for axes and words
    """
    across = _Axis(0.0, BEYOND * max([frame.stimulus_max, *(p.stimulus for p in points)]), LEFT, WIDTH - RIGHT)
    low = min([0.0, *(p.travel_mm for p in points)])
    high = 1.12 * max([frame.upper_mm, *(p.travel_mm for p in points)])
    up = _Axis(low, high, HEIGHT - BOTTOM, TOP)
    rising = [p for p in points if p.phase != "fall" and not p.past]
    falling = [p for p in points if p.phase == "fall"]
    return StrokePlot(
        x_ticks=_ticks(across, lambda value: stimulus(value, stimulus_unit)),
        y_ticks=_ticks(up, lambda value: length(value, length_unit)),
        marks=tuple(Mark(across.at(p.stimulus), up.at(p.travel_mm), _look(p)) for p in points),
        rise_path=_path(rising, across, up),
        fall_path=_path([*rising[-1:], *falling], across, up) if falling else "",
        setting_x=across.at(frame.setting),
        maximum_x=across.at(frame.stimulus_max),
        lower_y=up.at(frame.lower_mm),
        nominal_y=up.at(frame.nominal_mm),
        upper_y=up.at(frame.upper_mm),
        setting_text=stimulus_text(frame.setting, stimulus_unit),
        maximum_text=stimulus_text(frame.stimulus_max, stimulus_unit),
        x_label=f"{'Command' if stimulus_unit == '%' else 'Pressure'}, {stimulus_unit}",
        y_label=f"Travel, {length_unit}",
        sentence=_sentence(frame, points, stimulus_unit, length_unit),
    )


@dataclass(frozen=True, slots=True)
class _Axis:
    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return round(self.start + min(1.0, max(0.0, share)) * (self.end - self.start), 1)


def _look(point: StrokePoint) -> str:
    return "past" if point.past else point.phase


def _path(points: Sequence[StrokePoint], across: _Axis, up: _Axis) -> str:
    return "M" + "L".join(f"{across.at(p.stimulus)} {up.at(p.travel_mm)}" for p in points) if len(points) > 1 else ""


def _ticks(axis: _Axis, shown: Callable[[float], float], most: int = 6) -> tuple[Tick, ...]:
    """Round numbers of the viewer's unit along an axis."""
    low, high = shown(axis.low), shown(axis.high)
    raw = (high - low) / most
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(size * n for n in (1, 2, 5, 10) if size * n >= raw)
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(low / step - 1e-9)
    values = [step * n for n in range(first, math.floor(high / step + 1e-9) + 1)]
    span = axis.high - axis.low
    return tuple(
        Tick(axis.at(axis.low + (value - low) / (high - low) * span), f"{value:.{places}f}".replace("-", "−"))
        for value in values
    )


def _sentence(frame: StrokeFrame, points: Sequence[StrokePoint], stimulus_unit: str, length_unit: str) -> str:
    lower, upper = length_text(frame.lower_mm, length_unit, with_unit=False), length_text(frame.upper_mm, length_unit)
    asked = (
        f"setting {stimulus_text(frame.setting, stimulus_unit)}, window {lower} to {upper}, maximum "
        f"{stimulus_text(frame.stimulus_max, stimulus_unit)}."
    )
    counted = [p for p in points if not p.past]
    if not counted:
        return f"No reading of this rise yet; {asked}"
    last = counted[-1]
    count = f"{len(counted)} reading{'s' if len(counted) > 1 else ''}"
    where = f"{stimulus_text(last.stimulus, stimulus_unit)} and {length_text(last.travel_mm, length_unit)}"
    return f"{count}, the last one {WORDS[last.phase]} at {where}; {asked}"
