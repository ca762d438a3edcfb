"""Numbers as a person reads them: in the viewer's unit, with the digits that the uncertainty allows."""

import math
import re
from datetime import date

from checks.measurement.result import Void
from checks.measurement.telling import Value, plain, tell
from checks.measurement.units import convert

LENGTH_DECIMALS = {"mm": 3, "in": 4, "thou": 1}
STIMULUS_DECIMALS = {"kPa": 1, "psi": 2, "bar": 3, "%": 1}


def length(travel_mm: float, unit: str) -> float:
    """`travel_mm` in `unit` (mm, in or thou)."""
    return convert(travel_mm, "mm", unit)


def length_text(travel_mm: float, unit: str, *, with_unit: bool = True) -> str:
    """A limit or nominal, such as ``1.499 mm``."""
    text = f"{length(travel_mm, unit):.{LENGTH_DECIMALS[unit]}f}".replace("-", "−")
    return f"{text} {unit}" if with_unit else text


def lengths_text(low_mm: float, high_mm: float, unit: str) -> str:
    """A window or an interval, such as ``0.965 to 2.032 mm``."""
    return f"{length_text(low_mm, unit, with_unit=False)} to {length_text(high_mm, unit)}"


def decimals_for(expanded: float) -> int:
    """Decimals that leave two significant digits of an expanded uncertainty (JCGM 100, 7.2.6)."""
    if not (math.isfinite(expanded) and expanded > 0):
        return 3
    # An uncertainty that rounds up to the next decade, such as 0.0996, needs one decimal fewer.
    exponent = math.floor(math.log10(float(f"{expanded:.1e}")))
    return min(6, max(0, 1 - exponent))


def measured_text(travel_mm: float, expanded_mm: float | None, unit: str) -> str:
    """A reading with its expanded uncertainty, such as ``1.510 ± 0.034 mm``; without one, the reading alone."""
    if expanded_mm is None:
        return length_text(travel_mm, unit)
    expanded = length(expanded_mm, unit)
    places = decimals_for(expanded)
    return f"{length(travel_mm, unit):.{places}f} ± {expanded:.{places}f} {unit}".replace("-", "−")


def stimulus(value: float, unit: str) -> float:
    """`value` in kPa as `unit`; a command in % stays as it is."""
    return value if unit == "%" else convert(value, "kPa", unit)


def stimulus_text(value: float, unit: str) -> str:
    """A setting in the viewer's unit, from kPa (or % unchanged), such as ``213.7 kPa``."""
    return f"{stimulus(value, unit):.{STIMULUS_DECIMALS[unit]}f} {unit}".replace("-", "−")


def distance_text(distance_km: float, unit: str) -> str:
    """Whole kilometres or miles such as ``212,000 km``."""
    return f"{convert(distance_km, 'km', unit):,.0f} {unit}"


def chance_text(probability: float) -> str:
    """A probability in whole per cent that never rounds to certainty."""
    if probability > 0.995:
        return "over 99 %"
    if probability < 0.005:
        return "under 1 %"
    return f"{100 * probability:.0f} %"


def void_text(void: Void, pressure_unit: str, length_unit: str) -> str:
    """Why a stroke is void, with its values in the viewer's units."""
    if not void.values:
        return void.sentence
    return tell(void.pattern, void.values, lambda value: value_text(value, pressure_unit, length_unit))


def value_text(value: Value, pressure_unit: str, length_unit: str) -> str:
    """A value of a sentence of the core in the viewer's unit; what has no unit of theirs stays as it is."""
    sign = "+" if value.signed and value.value >= 0.0 else ""
    if value.unit == "kPa" and pressure_unit not in ("kPa", "%"):
        return sign + stimulus_text(value.value, pressure_unit)
    if value.unit == "mm" and length_unit != "mm":
        return sign + length_text(value.value, length_unit)
    return plain(value).replace("-", "−")


_QUANTITY = re.compile(r"([-+−]?\d+(?:\.\d+)?)(?: to ([-+−]?\d+(?:\.\d+)?))? (kPa|mm)\b(?!/)")


def in_own_units(sentence: str, pressure_unit: str, length_unit: str) -> str:
    """A sentence of the measurement core, which speaks in kPa and mm, with its values in the viewer's units.

    Examples
    --------
    >>> in_own_units("The actuator saw 303.37 kPa.", "psi", "in")
    'The actuator saw 44.00 psi.'
    """

    def shown(found: re.Match[str]) -> str:
        low, high, kept = found.groups()
        if kept == "kPa" and pressure_unit not in ("kPa", "%"):
            texts = [stimulus_text(_plain(one), pressure_unit) for one in (low, high) if one]
        elif kept == "mm" and length_unit != "mm":
            texts = [length_text(_plain(one), length_unit) for one in (low, high) if one]
        else:
            return found[0]
        sign = "+" if low.startswith("+") else ""
        return sign + (texts[0] if not high else f"{texts[0].rsplit(' ', 1)[0]} to {texts[1]}")

    return _QUANTITY.sub(shown, sentence)


_DISTANCE = re.compile(r"(\d[\d,]*) km\b(?!/)")
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


def plan_text(sentence: str, distance_unit: str) -> str:
    """A sentence of the re-check rules, which speak in km and ISO dates, as the viewer reads both.

    Examples
    --------
    >>> plan_text("Last seen on 2026-02-03 at 100,000 km.", "mi")
    'Last seen on 3 Feb 2026 at 62,137 mi.'
    """
    told = _DISTANCE.sub(lambda found: distance_text(float(found[1].replace(",", "")), distance_unit), sentence)
    return _DAY.sub(lambda found: day_text(date.fromisoformat(found[0])), told)


def day_text(day: date) -> str:
    """Such as ``3 Feb 2027``."""
    return f"{day.day} {day:%b %Y}"


def _plain(text: str) -> float:
    return float(text.replace("−", "-"))
