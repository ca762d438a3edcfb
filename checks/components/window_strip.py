"""The window strip: where a reading lies in its window, drawn alike everywhere, and the sentence that says so."""

import math
from dataclasses import dataclass
from typing import Protocol

from checks.components.state_word import STATE_WORDS
from checks.display import length_text, measured_text
from checks.measurement.quantiles import NORMAL_50, NORMAL_95

MOMENT_WORDS = {"as_found": "as found", "as_left": "as left"}


class HasWindow(Protocol):
    """Whatever states a window, such as a revision of a specification."""

    lower_mm: float
    nominal_mm: float
    upper_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """What the specification allows, mm."""

    lower_mm: float
    nominal_mm: float
    upper_mm: float

    @staticmethod
    def of(held: "HasWindow") -> "Window":
        """The window of a revision."""
        return Window(lower_mm=held.lower_mm, nominal_mm=held.nominal_mm, upper_mm=held.upper_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One judged reading to be drawn: travel and expanded uncertainty in mm, either None where there is none."""

    state: str
    travel_mm: float | None
    expanded_mm: float | None = None
    moment: str = "as_found"


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastToday:
    """Travel forecast for today and its standard deviation, mm; drawn as a fading fan."""

    travel_mm: float
    sd_mm: float


@dataclass(frozen=True, slots=True)
class StripSize:
    """Measures of a strip in units of its view box."""

    name: str
    width: float
    height: float
    margin: float  # kept free at both ends for the arrows of what lies beyond
    band_top: float
    band_height: float
    mark_scale: float
    cap: float
    twin_offset: float  # how far two marks keep off the middle line, so that neither hides the other

    @property
    def band_x(self) -> float:
        return self.width / 4

    @property
    def band_width(self) -> float:
        return self.width / 2

    @property
    def band_end(self) -> float:
        return self.band_x + self.band_width

    @property
    def band_bottom(self) -> float:
        return self.band_top + self.band_height

    @property
    def middle_y(self) -> float:
        return self.band_top + self.band_height / 2

    @property
    def far_end(self) -> float:
        return self.width - self.margin


SIZES = {
    "row": StripSize("row", 220, 28, 11, 3, 22, 0.68, 5, 5.5),
    "large": StripSize("large", 640, 104, 26, 10, 56, 1.6, 12, 14),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedReading:
    """A reading where it is drawn. ``beyond``: -1 left of the strip, 1 right of it, 0 on it."""

    state: str
    hollow: bool
    x: float
    y: float
    beyond: int
    whisker: tuple[float, float] | None
    whisker_open: tuple[bool, bool]  # left, right end lies beyond the strip
    cap: float  # half height of a whisker's end

    @property
    def whisker_path(self) -> str:
        """The whisker with a cap at an end that is shown, a chevron at one that lies beyond the strip."""
        if self.whisker is None:
            return ""
        ends = zip(self.whisker, self.whisker_open, (-1, 1), strict=True)
        drawn = [
            _chevron(x, self.y, self.cap, side) if is_open else _cap(x, self.y, self.cap) for x, is_open, side in ends
        ]
        return f"M{self.whisker[0]} {self.y}H{self.whisker[1]}" + "".join(drawn)

    @property
    def transform(self) -> str:
        """Where the mark's own box goes."""
        return f"translate({self.x} {self.y})"

    @property
    def arrow_path(self) -> str:
        """The chevron outside a mark that lies beyond the strip."""
        return _chevron(round(self.x + self.beyond * 2 * self.cap, 2), self.y, round(0.7 * self.cap, 2), self.beyond)


@dataclass(frozen=True, slots=True, kw_only=True)
class FanBand:
    """One band of the fan, cut at the ends of the strip; ``share`` is the chance that it holds, 50 or 95 %."""

    share: int
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowStrip:
    """Everything the template draws, and the sentence that says the same."""

    size: StripSize
    nominal_x: float
    readings: tuple[PlacedReading, ...]
    sentence: str
    lower_text: str
    nominal_text: str
    upper_text: str
    fan: tuple[FanBand, ...] = ()

    @property
    def nominal_path(self) -> str:
        return f"M{self.nominal_x} {self.size.band_top}V{self.size.band_bottom}"

    @property
    def words_y(self) -> float:
        return self.size.band_bottom + 19

    @property
    def nominal_words_y(self) -> float:
        """One line lower where the words at a limit would run into those at the nominal."""
        size = self.size
        crowded = min(self.nominal_x - size.band_x, size.band_end - self.nominal_x) < 0.19 * size.width
        return self.words_y + (17 if crowded else 0)


def window_strip(
    window: Window,
    readings: tuple[Reading, ...] | list[Reading] = (),
    *,
    unit: str = "mm",
    size: str = "row",
    forecast_today: ForecastToday | None = None,
) -> WindowStrip:
    """Context of ``{% window_strip %}``.

    The window spans the middle half of the strip whatever its width in mm, so that a column of strips lines up.

    Parameters
    ----------
    window : limits and nominal, mm
    readings : none (never checked), as found, or as found and as left
    unit : the viewer's unit of length (mm, in, thou), used in words
    size : 'row' for tables, 'large' for the verdict
    forecast_today : travel forecast for today, drawn as bands that hold it with 50 and 95 %
    """
    measures = SIZES[size]
    placed = tuple(
        _place(reading, reading.travel_mm, window, measures, _height(i, len(readings), measures))
        for i, reading in enumerate(readings)
        if reading.travel_mm is not None and math.isfinite(reading.travel_mm)
    )
    return WindowStrip(
        size=measures,
        nominal_x=round(_position(window.nominal_mm, window, measures), 2),
        readings=placed,
        sentence=strip_sentence(window, readings, unit=unit, forecast_today=forecast_today),
        fan=_fan(forecast_today, window, measures) if forecast_today else (),
        lower_text=length_text(window.lower_mm, unit, with_unit=False),
        nominal_text=length_text(window.nominal_mm, unit),
        upper_text=length_text(window.upper_mm, unit, with_unit=False),
    )


def strip_sentence(
    window: Window,
    readings: tuple[Reading, ...] | list[Reading],
    *,
    unit: str,
    forecast_today: ForecastToday | None = None,
) -> str:
    """The strip in words, such as ``As found 1.510 ± 0.034 mm, inside; window 0.965 to 2.032 mm, nominal 1.499 mm.``"""
    parts = [_reading_words(reading, unit) for reading in readings] or ["never checked"]
    lower = length_text(window.lower_mm, unit, with_unit=False)
    upper, nominal = length_text(window.upper_mm, unit), length_text(window.nominal_mm, unit)
    if forecast_today:
        parts.append(
            f"forecast for today {measured_text(forecast_today.travel_mm, NORMAL_95 * forecast_today.sd_mm, unit)}"
        )
    text = "; ".join([*parts, f"window {lower} to {upper}, nominal {nominal}"])
    return f"{text[0].upper()}{text[1:]}."


def _reading_words(reading: Reading, unit: str) -> str:
    moment, state = MOMENT_WORDS[reading.moment], STATE_WORDS[reading.state]
    if reading.travel_mm is None:
        return f"{moment} no travel, {state}"
    return f"{moment} {measured_text(reading.travel_mm, reading.expanded_mm, unit)}, {state}"


def _fan(forecast_today: ForecastToday, window: Window, size: StripSize) -> tuple[FanBand, ...]:
    """The wide band first, so that the near one is drawn over it; a band wholly off the strip is left out."""
    low, high = size.margin, size.width - size.margin
    bands = []
    for share, factor in ((95, NORMAL_95), (50, NORMAL_50)):
        reach = factor * forecast_today.sd_mm
        left = max(low, _position(forecast_today.travel_mm - reach, window, size))
        right = min(high, _position(forecast_today.travel_mm + reach, window, size))
        if right > left:
            bands.append(
                FanBand(
                    share=share,
                    x=round(left, 2),
                    y=round(size.band_top + 0.15 * size.band_height, 2),
                    width=round(right - left, 2),
                    height=round(0.7 * size.band_height, 2),
                )
            )
    return tuple(bands)


def _height(i: int, count: int, size: StripSize) -> float:
    return size.middle_y if count == 1 else size.middle_y + (size.twin_offset if i else -size.twin_offset)


def _position(travel_mm: float, window: Window, size: StripSize) -> float:
    share = (travel_mm - window.lower_mm) / (window.upper_mm - window.lower_mm)
    return size.width * (0.25 + 0.5 * share)


def _place(reading: Reading, travel_mm: float, window: Window, size: StripSize, y: float) -> PlacedReading:
    low, high = size.margin, size.width - size.margin
    wanted = _position(travel_mm, window, size)
    beyond = -1 if wanted < low else 1 if wanted > high else 0
    whisker, is_open = None, (False, False)
    if reading.expanded_mm is not None and reading.expanded_mm > 0:
        left = _position(travel_mm - reading.expanded_mm, window, size)
        right = _position(travel_mm + reading.expanded_mm, window, size)
        # Wholly off the strip there is nothing to draw but the arrow at the mark.
        if right > low and left < high:
            whisker = (round(max(left, low), 2), round(min(right, high), 2))
            is_open = (left < low and beyond >= 0, right > high and beyond <= 0)
    return PlacedReading(
        state=reading.state,
        hollow=reading.moment == "as_found",
        x=round(min(max(wanted, low), high), 2),
        y=y,
        beyond=beyond,
        whisker=whisker,
        whisker_open=is_open,
        cap=size.cap,
    )


def _cap(x: float, y: float, half: float) -> str:
    return f"M{x} {y - half}V{y + half}"


def _chevron(x: float, y: float, half: float, side: int) -> str:
    back = round(x - side * half, 2)
    return f"M{back} {y - half:g}L{x} {y}L{back} {y + half:g}"
