"""From what a person typed to values that may be stored: text, dates, numbers with units, every fault at once."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.db import models

from checks.measurement import units
from fleet.models import User
from fleet.problems import FleetError, FleetErrors
from fleet.services.saving import save_checked

# Field name to what was typed: a text, or [text, unit] for a quantity.
Entry = Mapping[str, Any]
Typed = dict[str, list[str]]
# Units that a register offers for each quantity, the stored one first.
PRESSURE = ("kPa", "psi", "bar")
COMMAND = ("%",)
LENGTH = ("mm", "thou", "in")


class Doubts(FleetErrors):
    """Values that may be right but look mistaken; the same entry with ``confirmed`` goes through."""


class Reader:
    """Reads one entry field by field and remembers every fault, and every quantity as it was typed."""

    def __init__(self, entry: Entry, prefix: str = "") -> None:
        self.entry = entry
        self.prefix = prefix
        self.faults: list[FleetError] = []
        self.typed: Typed = {}

    def fault(self, name: str, code: str, sentence: str) -> None:
        """Remember a fault of the field `name`."""
        self.faults.append(FleetError(code, f"{self.prefix}{name}", sentence))

    def refuse_faults(self) -> None:
        """Raise all faults together, if there are any."""
        if self.faults:
            raise FleetErrors(self.faults)

    def text(self, name: str, label: str, *, longest: int, required: bool = False) -> str:
        """A text without blanks around it, "" when it was left empty."""
        value = str(self.entry.get(name) or "").strip()
        if required and not value:
            self.fault(name, "required", f"{label} is missing. Enter it.")
        if len(value) > longest:
            self.fault(name, "too_long", f"{label} has {len(value)} characters. Use at most {longest}.")
        if "\x00" in value:
            self.fault(name, "bad_character", f"{label} holds a character that cannot be stored. Type it again.")
        return value

    def choice(self, name: str, label: str, allowed: Mapping[str, str]) -> str:
        """One of the keys of `allowed`, "" after a fault."""
        value = str(self.entry.get(name) if self.entry.get(name) is not None else "").strip()
        if value in allowed:
            return value
        self.fault(name, "not_a_choice", f"{label} is not chosen. Choose one of: {', '.join(allowed.values())}.")
        return ""

    def day(self, name: str, label: str, *, earliest: date = date(1990, 1, 1), latest: date) -> date | None:
        """A day, typed as year-month-day."""
        given = str(self.entry.get(name) or "").strip()
        if not given:
            self.fault(name, "required", f"{label} is missing. Enter the day, such as 2026-03-14.")
            return None
        try:
            value = date.fromisoformat(given)
        except ValueError:
            self.fault(name, "not_a_date", f"{label} reads '{given[:20]}', which is no day. Write it as 2026-03-14.")
            return None
        if not earliest <= value <= latest:
            self.fault(
                name,
                "out_of_bounds",
                f"{label} is {value:%-d %b %Y}. Enter a day from {earliest:%-d %b %Y} to {latest:%-d %b %Y}.",
            )
            return None
        return value

    def whole(self, name: str, label: str, *, low: int, high: int) -> int | None:
        """A whole number from `low` to `high`."""
        given = str(self.entry.get(name) if self.entry.get(name) is not None else "").strip()
        if not given.isascii() or not given.isdigit() or len(given) > 9 or not low <= int(given) <= high:
            reads = f"reads '{given[:20]}'" if given else "is missing"
            self.fault(name, "not_whole", f"{label} {reads}. Enter a whole number from {low} to {high}.")
            return None
        return int(given)

    def quantity(
        self,
        name: str,
        label: str,
        known: tuple[str, ...],
        *,
        low: float,
        high: float,
        required: bool = True,
        own: Mapping[str, Callable[[float], float]] | None = None,
    ) -> float | None:
        """A number with its unit, converted exactly to ``known[0]``; None when it is missing or wrong.

        Parameters
        ----------
        known : units that are accepted, the stored one first
        low, high : bounds in the stored unit
        own : conversions of units that only this field has, such as a share of another value
        """
        text, unit = self._parts(name, known)
        if not text:
            if required:
                self.fault(name, "required", f"{label} is missing. Enter a number and its unit.")
            return None
        if unit not in known:
            self.fault(name, "unit_unknown", f"{label} has the unit '{unit[:20]}'. Choose one of: {', '.join(known)}.")
            return None
        try:
            value = self._converted(text, unit, known[0], (own or {}).get(unit))
        except units.NotANumber as error:
            self.fault(name, error.code, f"{label}: {error.sentence}")
            return None
        except ZeroDivisionError:
            self.fault(name, "out_of_bounds", f"{label} cannot be zero in {unit}. Check the number and its unit.")
            return None
        if not low <= value <= high:
            self._out_of_bounds(name, label, f"{text[:30]} {unit}", (low, high), known[0])
            return None
        self.typed[name] = [text, unit]
        return value

    def _parts(self, name: str, known: tuple[str, ...]) -> tuple[str, str]:
        given = self.entry.get(name)
        if isinstance(given, Mapping):
            given = [given.get("text"), given.get("unit")]
        if not isinstance(given, list | tuple):
            given = [given, known[0]]
        text, unit = [*given, "", ""][:2]
        return str("" if text is None else text).strip(), str(unit or known[0]).strip()

    def _converted(self, text: str, unit: str, base: str, own: Callable[[float], float] | None) -> float:
        value = units.parse_decimal(text)
        return own(value) if own else units.convert(value, unit, base)

    def _out_of_bounds(self, name: str, label: str, given: str, bounds: tuple[float, float], base: str) -> None:
        low, high = bounds
        ask = f"Enter a value from {low:g} to {high:g} {base}"
        self.fault(name, "out_of_bounds", f"{label} of {given} is out of bounds. {ask}, and check the unit.")


def keep(row: models.Model, *, author: User, places: Mapping[str, str], reason: str = "") -> None:
    """Check and save a row with its author in its history; `places` leads from a constraint to its field."""
    try:
        save_checked(row, user=author, reason=reason[:100])
    except FleetErrors as refused:
        raise FleetErrors(
            FleetError(fault.code, fault.field or places.get(fault.code, ""), fault.sentence, fault.status)
            for fault in refused.errors
        ) from refused
