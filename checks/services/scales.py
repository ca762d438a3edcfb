"""What each kind of instrument says about its scale: the fields it has, and how they are read. One reader a kind."""

from collections.abc import Callable, Mapping
from typing import Any

from checks.measurement import units
from checks.services.entry import COMMAND, LENGTH, PRESSURE, Reader

OF_SPAN = "% of span"
DIGITS = "digits"
OF_READING = "% of reading"
READ_TO = {"1": "whole divisions", "0.5": "half divisions", "0.25": "quarters", "0.2": "fifths", "0.1": "tenths"}
ELECTRICAL = {"mV": "mV", "V": "V", "mA": "mA"}
# Units that an electrical quantity may be typed in, the stored one first.
ELECTRICAL_KIN = {"mV": ("mV", "V"), "V": ("V", "mV"), "mA": ("mA",)}
SENSITIVITIES = tuple(f"{output}/{pressure}" for output in ELECTRICAL for pressure in PRESSURE)

# Bounds in the stored unit: beyond them nothing is built, so a unit must be mistaken. Common practice, no source.
LOWEST_KPA, HIGHEST_KPA = -110.0, 10_000.0
HIGHEST_DIAL_MM = 150.0
HIGHEST_ELECTRICAL = 1_000_000.0

Values = dict[str, Any]


def _range(reader: Reader, known: tuple[str, ...], low: float, high: float) -> Values:
    bottom = reader.quantity("range_low", "The low end of the range", known, low=low, high=high)
    top = reader.quantity("range_high", "The high end of the range", known, low=low, high=high)
    if bottom is not None and top is not None and top <= bottom:
        reader.fault("range_high", "range_not_ordered", "The high end of the range must lie above the low end.")
    return {"range_low": bottom, "range_high": top}


def _permissible(reader: Reader, known: tuple[str, ...], values: Values, high: float) -> Values:
    """The permissible error, in the quantity's own unit or as a share of the span, as accuracy classes are."""
    low_end, high_end = values["range_low"], values["range_high"]
    span = high_end - low_end if low_end is not None and high_end is not None else 0.0
    own: Mapping[str, Callable[[float], float]] = {OF_SPAN: lambda percent: percent / 100 * span}
    error = reader.quantity("permissible_error", "The permissible error", (*known, OF_SPAN), low=0, high=high, own=own)
    if error == 0:
        sentence = "The permissible error must be above zero. The maker's sheet states it, or the class on the dial."
        reader.fault("permissible_error", "permissible_error_given", sentence)
    return {"permissible_error": error}


def _division(reader: Reader, label: str, known: tuple[str, ...], high: float) -> Values:
    division = reader.quantity("division", label, known, low=0, high=high)
    if division == 0:
        reader.fault("division", "instrument_division_given", f"{label} must be above zero.")
    return {"division": division}


def _read_to(reader: Reader) -> Values:
    chosen = reader.choice("read_to", "How finely it is read", READ_TO)
    return {"read_to": float(chosen) if chosen else 1.0}


def read_dial(reader: Reader) -> Values:
    """Division, range from zero, permissible error and how finely it is read; mm."""
    high = reader.quantity("range_high", "The measuring range", LENGTH, low=0.1, high=HIGHEST_DIAL_MM)
    values: Values = {"range_low": 0.0, "range_high": high}
    values |= _division(reader, "The scale division", LENGTH, 1.0) | _permissible(reader, LENGTH, values, 2.0)
    return values | _read_to(reader)


def read_gauge(reader: Reader) -> Values:
    """Division, range, permissible error (or class) and how finely it is read; kPa."""
    values = _range(reader, PRESSURE, LOWEST_KPA, HIGHEST_KPA)
    values |= _division(reader, "The scale division", PRESSURE, 1000.0)
    return values | _permissible(reader, PRESSURE, values, 1000.0) | _read_to(reader)


def read_transducer(reader: Reader) -> Values:
    """Range and permissible error in kPa, sensitivity per kPa, output at zero pressure; its meter has the digits."""
    values = _range(reader, PRESSURE, LOWEST_KPA, HIGHEST_KPA)
    values |= _permissible(reader, PRESSURE, values, 1000.0)
    unit = _sensitivity_unit(reader)
    output, _, _ = unit.partition("/")
    known = tuple(f"{output}/{pressure}" for pressure in PRESSURE) if output in ELECTRICAL else SENSITIVITIES
    sensitivity = reader.quantity(
        "sensitivity", "The sensitivity", known, low=-1e6, high=1e6, own={name: _per_kpa(name) for name in known}
    )
    if sensitivity == 0:
        reader.fault("sensitivity", "transducer_has_sensitivity", "The sensitivity must not be zero.")
    kin = ELECTRICAL_KIN.get(output, ("mV",))
    offset = reader.quantity("offset", "The output at zero pressure", kin, low=-1e6, high=1e6)
    return values | {"sensitivity": sensitivity, "offset": offset, "electrical_unit": output, "division": None}


def _sensitivity_unit(reader: Reader) -> str:
    given = reader.entry.get("sensitivity")
    unit = given.get("unit") if isinstance(given, Mapping) else given[1] if isinstance(given, list | tuple) else ""
    return unit if unit in SENSITIVITIES else SENSITIVITIES[0]


def _per_kpa(unit: str) -> Callable[[float], float]:
    pressure = unit.partition("/")[2]
    return lambda value: value / units.convert(1.0, pressure, "kPa")


def read_multimeter(reader: Reader) -> Values:
    """Last digit, range, permissible error as a share of the reading plus a fixed part (often in digits)."""
    unit = reader.choice("electrical_unit", "What it reads", ELECTRICAL) or "mV"
    kin = ELECTRICAL_KIN[unit]
    values = _range(reader, kin, -HIGHEST_ELECTRICAL, HIGHEST_ELECTRICAL)
    values |= _division(reader, "The last digit", kin, HIGHEST_ELECTRICAL)
    digit = values["division"] or 0.0
    fixed = reader.quantity(
        "permissible_error",
        "The fixed part of the permissible error",
        (*kin, DIGITS),
        low=0,
        high=HIGHEST_ELECTRICAL,
        own={DIGITS: lambda count: count * digit},
    )
    share = reader.quantity(
        "error_share", "The share of the reading", (OF_READING,), low=0, high=20, own={OF_READING: float}
    )
    return values | {
        "permissible_error": fixed,
        "error_share": (share or 0.0) / 100,
        "electrical_unit": unit,
        "read_to": 1.0,
    }


def read_regulator(reader: Reader) -> Values:
    """The highest outlet pressure, if known; kPa."""
    high = reader.quantity(
        "range_high", "The highest outlet pressure", PRESSURE, low=0, high=HIGHEST_KPA, required=False
    )
    return {"range_high": high}


def read_command(reader: Reader) -> Values:
    """Step, range and permissible error of the commanded position; %."""
    values = _range(reader, COMMAND, 0, 100)
    values |= _division(reader, "The smallest step", COMMAND, 50.0)
    return values | _permissible(reader, COMMAND, values, 50.0) | {"read_to": 1.0}


READERS: dict[str, Callable[[Reader], Values]] = {
    "dial": read_dial,
    "transducer": read_transducer,
    "gauge": read_gauge,
    "multimeter": read_multimeter,
    "regulator": read_regulator,
    "command": read_command,
}

# Units of the points of a certificate, the stored one first; a multimeter's depend on what it reads.
POINT_UNITS = {
    "dial": LENGTH,
    "transducer": PRESSURE,
    "gauge": PRESSURE,
    "regulator": PRESSURE,
    "command": COMMAND,
}


def point_units(kind: str, electrical_unit: str) -> tuple[str, ...]:
    """Units in which the certificate of an instrument may be typed, the stored one first."""
    return ELECTRICAL_KIN[electrical_unit] if kind == "multimeter" else POINT_UNITS[kind]
