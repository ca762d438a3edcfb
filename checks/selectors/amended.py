"""A check as amended: the newest amendment of each field holds, and the signed row stays as it was signed."""

from collections.abc import Iterable

from django.utils.dateparse import parse_datetime

from checks.measurement.units import convert, parse_decimal
from checks.models import Amendment, Check, Reading

KEPT_IN = {"psi": "kPa", "bar": "kPa", "kPa": "kPa", "in": "mm", "thou": "mm", "mm": "mm", "mi": "km", "km": "km"}
# Instruments are kept as 'label #primary key': readable, and still found when the label changes.
INSTRUMENTS = {"dial": "dial", "stimulus": "stimulus_instrument", "meter": "meter", "regulator": "regulator"}


def overlay(check: Check, readings: dict[str, list[Reading]], amendments: Iterable[Amendment]) -> None:
    """Put amended values on rows in memory, oldest amendment first. Such rows are for reading: never save them.

    Parameters
    ----------
    readings : rows by moment ('as_found', 'as_left')
    amendments : of this check, in the order made
    """
    for amendment in amendments:
        parts = amendment.field.split(".")
        if len(parts) == 3:
            _overlay_reading(readings.get(parts[0], ()), int(parts[1]), parts[2], amendment.new_value)
        else:
            _overlay_check(check, amendment.field, amendment.new_value)


def instrument_pk(kept: str) -> int | None:
    """Primary key in an instrument as an amendment keeps it; None for 'none'."""
    return int(kept.rsplit("#", 1)[1]) if "#" in kept else None


def typed_value(kept: str) -> tuple[float, str, str]:
    """Value in the unit in which we keep it, text and unit of a quantity as an amendment keeps it ('59.5 thou')."""
    text, unit = kept.rsplit(" ", 1)
    return convert(parse_decimal(text), unit, KEPT_IN.get(unit, unit)), text, unit


def _overlay_reading(rows: Iterable[Reading], order: int, name: str, kept: str) -> None:
    row = next((row for row in rows if row.order == order), None)
    if row is None:
        return
    if name == "seconds":
        row.seconds = parse_decimal(kept)
    elif name == "travel":
        row.travel_mm, row.travel_typed, row.travel_unit = typed_value(kept) if kept else (None, "", "")
    elif name == "stimulus":
        row.stimulus, row.stimulus_typed, row.stimulus_unit = typed_value(kept)


def _overlay_check(check: Check, field: str, kept: str) -> None:
    if field == "odometer":
        check.odometer_km, check.odometer_typed = (typed_value(kept)[0], kept) if kept else (None, "")
    elif field == "engine_hours":
        check.engine_hours = typed_value(kept)[0] if kept else None
    elif field == "half_turns":
        check.half_turns = int(kept) if kept else None
    elif field in {"angle_deg", "angle_max_deg"}:
        setattr(check, field, parse_decimal(kept) if kept else None)
    elif field == "made_at":
        check.made_at = parse_datetime(kept) or check.made_at
    elif field in INSTRUMENTS:
        setattr(check, f"{INSTRUMENTS[field]}_id", instrument_pk(kept))
    else:
        setattr(check, field, kept)
