"""Stored quantities in the reader's own unit, with what the author typed beside them."""

from dataclasses import dataclass
from typing import Any

from checks.measurement import units
from checks.pages.fields import own_unit
from fleet.models import User


@dataclass(frozen=True, slots=True)
class Fact:
    """A label, a value in the reader's unit, and what was typed where that differs."""

    label: str
    value: str
    typed: str = ""


def quantity_text(value: float | None, kept: str, user: User, *, digits: int = 5) -> str:
    """`value`, kept in the unit `kept`, in the reader's unit to so many significant digits."""
    if value is None:
        return "—"
    unit = own_unit(user, kept)
    return f"{number_text(units.convert(value, kept, unit) if unit != kept else value, digits=digits)} {unit}"


def number_text(value: float, *, digits: int = 5) -> str:
    """Significant digits without exponent, with a true minus sign."""
    text = f"{value:.{digits}g}"
    if "e" in text:
        text = f"{value:.10f}".rstrip("0").rstrip(".")
    return text.replace("-", "−")


def share_text(share: float) -> str:
    """A share of a population in per cent, to a tenth."""
    return "under 0.1 %" if share < 0.001 else f"{100 * share:.1f} %"


def fact(row: Any, name: str, kept: str, user: User, label: str = "") -> Fact:
    """The fact of a field of a row that keeps what was typed."""
    words = label or str(row._meta.get_field(name).verbose_name)
    typed = row.typed.get(name)
    if typed and typed[1] == own_unit(user, kept):
        return Fact(words, " ".join(typed))
    return Fact(words, quantity_text(getattr(row, name), kept, user), " ".join(typed) if typed else "")
