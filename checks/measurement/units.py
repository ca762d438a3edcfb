"""What people type, in the unit in which we keep it. The only module that knows the units library."""

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from checks.measurement.errors import MeasurementError

if TYPE_CHECKING:
    from pint import UnitRegistry

# Kept unit first; the rest may be typed as well.
QUANTITIES: dict[str, tuple[str, ...]] = {
    "pressure": ("kPa", "psi", "bar"),
    "length": ("mm", "in", "thou"),
    "command": ("%",),
    "voltage": ("V", "mV"),
    "current": ("mA",),
    "distance": ("km", "mi"),
    "operating time": ("h",),
    "duration": ("s", "min"),
    "angle": ("degrees",),
    "volume": ("L", "gal", "imp gal"),
    "mass": ("t", "kg", "lb"),
    "height": ("m", "ft"),
}
_QUANTITY_OF = {unit: name for name, units in QUANTITIES.items() for unit in units}
# What the library calls them, where it differs.
_LIBRARY_NAMES = {
    "in": "inch", "mi": "mile", "h": "hour", "s": "second", "min": "minute", "%": "percent",
    "gal": "gallon", "imp gal": "imperial_gallon", "t": "metric_ton", "lb": "pound", "m": "meter", "ft": "foot",
}  # fmt: skip

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
# 1,512 may be one and a half or fifteen hundred: refuse instead of guessing. 0,038 can only be a decimal comma.
_UNCLEAR = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
LONGEST_TEXT = 40


class NotANumber(MeasurementError):
    """A text that is no plain decimal number, or one that can be read in two ways."""


def accepted_units(kept_unit: str) -> tuple[str, ...]:
    """Units in which a quantity kept in ``kept_unit`` may be typed, ``kept_unit`` first.

    Examples
    --------
    >>> accepted_units("kPa")
    ('kPa', 'psi', 'bar')
    """
    units = QUANTITIES[_quantity(kept_unit)]
    return (kept_unit, *(unit for unit in units if unit != kept_unit))


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Convert a number between two units of the same quantity, by the exact ratio of the units.

    Raises
    ------
    MeasurementError
        ``unknown_unit``, or ``wrong_unit`` where the two measure different things.

    Source
    ------
    NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg and g = 9.806 65 m/s², all exact.

    Examples
    --------
    >>> convert(59.5, "thou", "mm")
    1.5113
    """
    if from_unit == to_unit:
        _quantity(from_unit)
        return float(value)
    numerator, denominator = _ratio(from_unit, to_unit)
    return value * numerator / denominator


def parse_decimal(text: str) -> float:
    """Read a decimal number with point or comma; spaces between digits are ignored.

    Raises
    ------
    NotANumber
        For anything else: words, NaN, infinity, exponents, thousands separated by commas.

    Examples
    --------
    >>> parse_decimal(" 0,0595 ")
    0.0595
    """
    plain = re.sub(r"(?<=\d)[ \u00a0\u202f'](?=\d)", "", text.strip())
    shown = text.strip()[:LONGEST_TEXT]
    if _UNCLEAR.fullmatch(plain):
        sentence = f"'{shown}' can be read in two ways. Write it with a point, or without the comma."
        raise NotANumber("number_unclear", "text", sentence)
    if len(plain) > LONGEST_TEXT or not _NUMBER.fullmatch(plain):
        fix = "Enter digits such as 31 or 0.0595."
        if len(re.findall(r"\d[.,](?=\d)", plain)) > 1:
            fix = "Leave out the signs between thousands, such as 1250.5."
        raise NotANumber("not_a_number", "text", f"'{shown}' is not a number. {fix}")
    return float(plain.replace(",", "."))


def _quantity(unit: str) -> str:
    name = _QUANTITY_OF.get(unit)
    if name is None:
        known = ", ".join(_QUANTITY_OF)
        raise MeasurementError("unknown_unit", "unit", f"'{unit[:20]}' is no unit we know. Use one of: {known}.")
    return name


@lru_cache(maxsize=256)
def _ratio(from_unit: str, to_unit: str) -> tuple[float, float]:
    """Exact ratio of two units as two floats, so that going there and back costs no more than rounding."""
    if _quantity(from_unit) != _quantity(to_unit):
        raise MeasurementError(
            "wrong_unit",
            "unit",
            f"{from_unit} measures {_quantity(from_unit)}, {to_unit} measures {_quantity(to_unit)}. "
            f"Use {' or '.join(QUANTITIES[_quantity(to_unit)])}.",
        )
    registry = _registry()
    one = registry.Quantity(Fraction(1), _LIBRARY_NAMES.get(from_unit, from_unit))
    exact = Fraction(one.to(_LIBRARY_NAMES.get(to_unit, to_unit)).magnitude)
    # Ratios whose terms exceed what a float holds exactly (psi) are rounded once, here.
    if max(exact.numerator, exact.denominator) >= 2**53:
        return (float(exact), 1.0) if exact >= 1 else (1.0, float(1 / exact))
    return float(exact.numerator), float(exact.denominator)


@cache
def _registry() -> "UnitRegistry[Fraction]":
    from pint import UnitRegistry  # half a second to load, so only when first asked for

    return UnitRegistry(non_int_type=Fraction)
