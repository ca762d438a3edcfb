"""Refusals of numbers from which nothing can be computed."""

from math import isfinite

from checks.measurement.errors import MeasurementError


def require_finite(value: float, field: str) -> None:
    """Refuse NaN and infinity."""
    if not isfinite(value):
        raise MeasurementError("not_a_number", field, f"{field} is {value}. Enter a finite number.")


def require_between(value: float, low: float, high: float, field: str, unit: str = "") -> None:
    """Refuse what is not a number from ``low`` to ``high``, both included."""
    if not low <= value <= high:  # NaN fails this too
        require_finite(value, field)
        ask = f"Enter a value from {low:g} to {high:g} {unit}".rstrip()
        raise MeasurementError("out_of_bounds", field, f"{field} is {value:g} {unit}".rstrip() + f". {ask}.")


def require_positive(value: float, field: str, unit: str = "", *, high: float = 1e6) -> None:
    """Refuse what is not a number above zero and at most ``high``."""
    if not 0.0 < value <= high:
        require_finite(value, field)
        ask = f"Enter a value above zero, at most {high:g} {unit}".rstrip()
        raise MeasurementError("out_of_bounds", field, f"{field} is {value:g} {unit}".rstrip() + f". {ask}.")


def require(condition: bool, code: str, field: str, sentence: str) -> None:
    """Refuse with ``sentence`` unless ``condition`` holds."""
    if not condition:
        raise MeasurementError(code, field, sentence)
