"""A typed number with its unit: kept as typed beside the value that it stands for."""

from dataclasses import dataclass
from typing import Any

from checks.measurement.units import NotANumber, accepted_units, convert, parse_decimal
from checks.services.faults import Faults


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed, and its ``value`` in the unit in which we keep the quantity."""

    text: str
    unit: str
    value: float

    @property
    def shown(self) -> str:
        return f"{self.text} {self.unit}"


@dataclass(frozen=True, slots=True)
class Bounds:
    """What is believable: ``low`` and ``high`` in ``unit``, the unit in which we keep the quantity."""

    name: str
    unit: str
    low: float
    high: float


ODOMETER = Bounds("The odometer", "km", 0.0, 10_000_000.0)
ENGINE_HOURS = Bounds("The hour meter", "h", 0.0, 1_000_000.0)
TRAVEL = Bounds("A travel", "mm", 0.0, 100.0)
# A dial may creep a little below its zero when the rod comes home.
VENTED_TRAVEL = Bounds("A travel with the line vented", "mm", -2.0, 100.0)
HOLD_SECONDS = Bounds("The time since the supply was closed", "s", 0.0, 3600.0)
ANGLE = Bounds("The dial's angle", "degrees", 0.0, 45.0)


def read_typed(raw: Any, field: str, bounds: Bounds, faults: Faults) -> Typed | None:
    """Return a typed quantity of the form ``{"text", "unit"}`` in the unit of ``bounds``, or note why not."""
    if not isinstance(raw, dict):
        faults.add("missing", field, f"{bounds.name} is missing. Enter a number with its unit.")
        return None
    unit = str(raw.get("unit") or "")
    accepted = accepted_units(bounds.unit)
    if unit not in accepted:
        given = f"in '{unit}'" if unit else "without a unit"
        faults.add("wrong_unit", field, f"{bounds.name} was given {given}. It is read in {' or '.join(accepted)}.")
        return None
    number = read_number(raw.get("text"), field, bounds.name, faults)
    if number is None:
        return None
    text = str(raw["text"]).strip()
    typed = Typed(text, unit, convert(number, unit, bounds.unit))
    return typed if believable(typed.value, typed, field, bounds, faults) else None


def read_number(raw: Any, field: str, name: str, faults: Faults) -> float | None:
    """Return a number as typed, with decimal point or comma, or note why it is none."""
    text = "" if raw is None or isinstance(raw, bool) else str(raw).strip()
    if not text:
        faults.add("missing", field, f"{name} is missing. Enter a number.")
        return None
    if len(text) > 24:
        faults.add("not_a_number", field, f"{name} has more than 24 characters. Enter a plain number.")
        return None
    try:
        return parse_decimal(text)
    except NotANumber as error:
        faults.add(error.code, field, error.sentence)
        return None


def read_text(raw: Any, *, longest: int) -> str:
    """Return a text without blanks around it, cut to ``longest``, and without NUL, which PostgreSQL cannot keep."""
    return str(raw or "").replace("\x00", "").strip()[:longest]


def number_of(raw: Any) -> int:
    """Return a primary key as sent, or 0, which no row has, where it is none."""
    if isinstance(raw, bool) or not isinstance(raw, int | str):
        return 0
    text = str(raw)
    return int(text) if text.isdecimal() and len(text) < 19 else 0


def believable(value: float, typed: Typed, field: str, bounds: Bounds, faults: Faults) -> bool:
    """Tell whether ``value`` (in the unit of ``bounds``) lies within them, noting it in the unit typed if not."""
    if bounds.low <= value <= bounds.high:
        return True
    limit, side = (bounds.low, "below") if value < bounds.low else (bounds.high, "above")
    unit = typed.unit if typed.unit in accepted_units(bounds.unit) else bounds.unit
    stands_for = "" if unit == typed.unit else f" (it stands for {_legible(value)} {unit})"
    faults.add(
        "out_of_bounds",
        field,
        f"{bounds.name} of {typed.shown} cannot be right{stands_for}. It is never {side} "
        f"{_legible(convert(limit, bounds.unit, unit))} {unit}; check the number and its unit.",
    )
    return False


def _legible(value: float) -> str:
    """Three digits that count, thousands set apart, never a power of ten below a million millions."""
    text = f"{value:,.0f}" if 1000 <= abs(value) < 1e12 else f"{value:.3g}"
    return text.replace("-", "\N{MINUS SIGN}")


def read_plain(raw: Any, field: str, bounds: Bounds, faults: Faults) -> float | None:
    """Return a number that always comes in the unit of ``bounds``, or note why not."""
    number = read_number(raw, field, bounds.name, faults)
    if number is None or not believable(number, Typed(str(raw).strip(), bounds.unit, number), field, bounds, faults):
        return None
    return number
