"""Sentences with values in them, kept apart so that each reader may have them in units of their own."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

DECIMALS = {"kPa": 2, "%": 2, "mm": 3}


@dataclass(frozen=True, slots=True)
class Value:
    """A number that a sentence tells, in the unit in which it is kept; ``signed`` shows a plus too."""

    value: float
    unit: str
    signed: bool = False


def plain(value: Value) -> str:
    """The value in the unit in which it is kept.

    Examples
    --------
    >>> plain(Value(0.25, "mm", signed=True))
    '+0.250 mm'
    """
    shown = f"{value.value:.{DECIMALS[value.unit]}f}" if value.unit in DECIMALS else f"{value.value:.4g}"
    return f"{'+' if value.signed and value.value >= 0.0 else ''}{shown} {value.unit}"


def tell(pattern: str, values: Sequence[Value], show: Callable[[Value], str] = plain) -> str:
    """Fill the places ``{}`` of a sentence with its values, each as ``show`` shows it.

    Examples
    --------
    >>> tell("The actuator saw {}.", [Value(303.37, "kPa")])
    'The actuator saw 303.37 kPa.'
    """
    if not values:  # then braces are just text
        return pattern
    head, *rest = pattern.split("{}")
    return head + "".join(show(value) + text for value, text in zip(values, rest, strict=True))
