"""Fuel in words: effects, amounts with their limits, months."""

import math
from dataclasses import dataclass

from checks.measurement.units import convert
from checks.rules.fuel import Effect
from checks.selectors.days import first_day
from checks.selectors.fuel import Amount

# A step of travel in which an effect is told, by the reader's unit of length: the step, and how it is written.
STEPS = {"mm": (0.1, "0.1 mm"), "thou": (1.0, "thou"), "in": (0.001, "0.001 in")}
WHERE = {"shortfall": "below the window", "excess": "above the window"}


def step_mm(length_unit: str) -> float:
    """The step in mm."""
    return convert(STEPS[length_unit][0], length_unit, "mm")


def share_range(low: float, high: float) -> str:
    """Such as ``0.9 to 2.9 %`` from shares; one decimal, none from 20 % on."""
    places = 0 if max(abs(low), abs(high)) >= 0.2 else 1 if max(abs(low), abs(high)) >= 0.01 else 2
    return f"{_signed(100 * low, places)} to {_signed(100 * high, places)} %"


def share_text(value: float, low: float, high: float) -> str:
    """Such as ``1.9 % (0.9 to 2.9 %)``; without limits it says so instead of a bare number."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return "not known"
    places = 0 if max(abs(low), abs(high)) >= 0.2 else 1 if max(abs(low), abs(high)) >= 0.01 else 2
    return f"{_signed(100 * value, places)} % ({share_range(low, high)})"


def more_fuel(effect: float, low: float, high: float) -> str:
    """Such as ``+1.9 ± 0.8 %`` from logarithms, ``none`` where less than a tenth of a per cent is expected."""
    if effect < 0.001:
        return "none"
    half = 100 * max(_grown(high) - _grown(effect), _grown(effect) - _grown(low))
    return f"+{100 * _grown(effect):.1f} ± {half:.1f} %" if half < 100 else ""


def effect_amount(effect: Effect, length_unit: str) -> Amount:
    """An effect as a share for each step of travel."""
    step = step_mm(length_unit)
    return Amount(*(_grown(slope * step) for slope in (effect.slope, effect.low, effect.high)))


def effect_text(effect: Effect, length_unit: str) -> str:
    """Such as ``1.9 % (0.9 to 2.9 %)`` for each step."""
    found = effect_amount(effect, length_unit)
    return share_text(found.value, found.low, found.high)


@dataclass(frozen=True, slots=True)
class Told:
    """A value and its limits, for a cell of two lines; the limits are empty where nothing is known."""

    value: str
    limits: str

    def __str__(self) -> str:
        return f"{self.value} ({self.limits})" if self.limits else self.value


NOT_KNOWN = Told("not known", "")


def told_amount(amount: Amount, unit: str) -> Told:
    """Such as ``1,240 L`` and ``700 to 1,780``; digits by the width of the limits."""
    if not (math.isfinite(amount.low) and math.isfinite(amount.high)):
        return NOT_KNOWN
    places = -_magnitude(amount)
    value, low, high = (_grouped(number, places) for number in (amount.value, amount.low, amount.high))
    return Told(f"{value} {unit}", f"{low} to {high}")


def told_share(amount: Amount, places: int = 1) -> Told:
    """Such as ``1.9 %`` and ``0.9 to 2.9 %`` from shares."""
    if not (math.isfinite(amount.low) and math.isfinite(amount.high)):
        return NOT_KNOWN
    value, low, high = (_signed(100 * number, places) for number in (amount.value, amount.low, amount.high))
    return Told(f"{value} %", f"{low} to {high} %")


def amount_text(amount: Amount, unit: str) -> str:
    """Such as ``1,240 L (700 to 1,780)``."""
    return str(told_amount(amount, unit))


def money_texts(money: dict[str, Amount]) -> list[str]:
    """One text a currency."""
    return [amount_text(amount, currency) for currency, amount in money.items()]


def month_text(month: int) -> str:
    """Such as ``Oct 2026``."""
    return f"{first_day(month):%b %Y}"


def months_text(first: int, last: int) -> str:
    """Such as ``Nov 2024 to Oct 2026``, or one month."""
    return month_text(last) if first == last else f"{month_text(first)} to {month_text(last)}"


def _grown(log: float) -> float:
    return math.expm1(log) if log < 700 else math.inf


def _magnitude(amount: Amount) -> int:
    """The place of ten to which an amount is told: two digits of half its width."""
    half = (amount.high - amount.low) / 2
    if half <= 0:
        return 0
    return min(2, max(-1, math.floor(math.log10(half)) - 1))


def _grouped(value: float, places: int) -> str:
    rounded = round(value, places)
    text = f"{rounded + 0.0:,.{max(places, 0)}f}".replace("-", "−")
    return "0" if text in {"−0", "−0.0"} else text


def _signed(value: float, places: int) -> str:
    text = f"{value:.{places}f}".replace("-", "−")
    return text[1:] if text.startswith("−") and not text.strip("−0.") else text
