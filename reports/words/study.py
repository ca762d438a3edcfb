"""Lengths and shares of a study in words."""

from checks.display import length_text
from fleet.models import User


def difference_text(value: float, half: float, user: User) -> str:
    """A difference with half its interval, in the reader's unit."""
    unit = str(user.length_unit)
    return f"{length_text(value, unit, with_unit=False)} ± {length_text(half, unit)}"


def own_length(value_mm: float, user: User) -> str:
    """A length in the reader's unit."""
    return length_text(value_mm, str(user.length_unit))


def percent_text(share: float) -> str:
    """A share, with more digits where it is small."""
    return "under 0.1 %" if 0 < share < 0.1 else f"{share:.1f} %" if share < 10 else f"{share:.0f} %"


def p_value_text(p: float) -> str:
    """A p-value."""
    return "below 0.001" if p < 0.001 else f"{p:.3f}"
