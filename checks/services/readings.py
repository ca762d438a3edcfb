"""The readings of a stroke as typed, made into unsaved rows."""

from dataclasses import dataclass
from typing import Any

from checks.measurement.units import accepted_units, convert
from checks.models import Instrument, Reading, SpecificationRevision
from checks.services.faults import Faults
from checks.services.quantity import (
    HOLD_SECONDS,
    TRAVEL,
    VENTED_TRAVEL,
    Bounds,
    Typed,
    believable,
    read_number,
    read_plain,
    read_typed,
)

READINGS_MOST = 500
Phase = Reading.Phase
VENTED = {Phase.ZERO, Phase.ZERO_RETURN, Phase.VENT}
# The core needs a travel here; elsewhere the dial may go unread.
TRAVEL_NEEDED = {Phase.ZERO, Phase.ZERO_RETURN, Phase.RISE, Phase.SETTING, Phase.FALL}


@dataclass(frozen=True, slots=True)
class Scale:
    """How the stimulus of a check is read: ``unit`` in which it is kept, and the way to kPa or %."""

    unit: str
    quantity_unit: str
    sensitivity: float
    offset: float
    setting: float
    ceiling: float

    @property
    def accepted(self) -> tuple[str, ...]:
        """Units in which it may be typed; a multimeter is read in the unit that it shows."""
        return accepted_units(self.unit) if self.unit == self.quantity_unit else (self.unit,)

    def quantity(self, indication: float) -> float:
        """Indicated stimulus in kPa or %."""
        return (indication - self.offset) / self.sensitivity


def scale_of(specification: SpecificationRevision, stimulus: Instrument, meter: Instrument | None) -> Scale:
    """Return how the stimulus is read with these instruments."""
    electric = stimulus.kind == Instrument.Kind.COMMAND
    quantity_unit, ceiling = ("%", 150.0) if electric else ("kPa", 2000.0)
    if stimulus.kind == Instrument.Kind.TRANSDUCER and meter is not None:
        sensitivity = stimulus.sensitivity or 1.0
        return Scale(meter.electrical_unit, quantity_unit, sensitivity, stimulus.offset, specification.setting, ceiling)
    return Scale(quantity_unit, quantity_unit, 1.0, 0.0, specification.setting, ceiling)


def read_stroke(raw: Any, moment: str, scale: Scale, faults: Faults) -> list[Reading]:
    """Return the unsaved readings of one stroke in their order; ``faults`` names each that is wrong."""
    listed = raw.get("readings") if isinstance(raw, dict) else None
    if not isinstance(listed, list) or not listed:
        faults.add("no_readings", f"{moment}.readings", "The stroke has no readings. Enter them in the order made.")
        return []
    if len(listed) > READINGS_MOST:
        faults.add(
            "too_many_readings", f"{moment}.readings", f"A stroke has at most {READINGS_MOST} readings; leave some out."
        )
        return []
    return [
        row
        for index, one in enumerate(listed)
        if (row := _read_one(one, index, f"{moment}.readings.{index}", scale, faults)) is not None
    ]


def _read_one(raw: Any, index: int, path: str, scale: Scale, faults: Faults) -> Reading | None:
    phase = raw.get("phase") if isinstance(raw, dict) else None
    if phase not in Phase.values:
        faults.add("not_a_choice", f"{path}.phase", f"Say what the reading is: {', '.join(Phase.values)}.")
        return None
    stimulus = read_stimulus(raw.get("stimulus"), f"{path}.stimulus", phase, scale, faults)
    travel = read_travel(raw.get("travel"), f"{path}.travel", phase, faults)
    seconds = None
    if phase == Phase.HOLD:
        seconds = read_plain(raw.get("seconds"), f"{path}.seconds", HOLD_SECONDS, faults)
    if stimulus is None:
        return None
    return Reading(
        order=index,
        phase=phase,
        stimulus=stimulus.value,
        stimulus_typed=stimulus.text,
        stimulus_unit=stimulus.unit,
        travel_mm=travel.value if travel else None,
        travel_typed=travel.text if travel else "",
        travel_unit=travel.unit if travel else "",
        seconds=seconds,
    )


def read_travel(raw: Any, path: str, phase: str, faults: Faults) -> Typed | None:
    """Return a dial reading in mm, or None where it may go unread and did."""
    unread = not raw or (isinstance(raw, dict) and raw.get("text") in (None, ""))
    if unread and phase not in TRAVEL_NEEDED:
        return None
    return read_typed(raw, path, VENTED_TRAVEL if phase in VENTED else TRAVEL, faults)


def read_stimulus(raw: Any, path: str, phase: str, scale: Scale, faults: Faults) -> Typed | None:
    """Return a stimulus in the unit in which it is kept, or note why it cannot be one.

    Above the canister maximum is a fact to be kept (it voids the stroke and flags the unit), not a typing error.
    """
    name = "The command" if scale.quantity_unit == "%" else "The pressure"
    given = raw if isinstance(raw, dict) else {}
    unit, accepted = str(given.get("unit") or ""), scale.accepted
    if unit not in accepted:
        was = f"in '{unit}'" if unit else "without a unit"
        faults.add("wrong_unit", path, f"{name} was given {was}. These instruments read in {' or '.join(accepted)}.")
        return None
    number = read_number(given.get("text"), path, name, faults)
    if number is None:
        return None
    kept = convert(number, unit, scale.unit)
    typed = Typed(str(given["text"]).strip(), unit, kept)
    return typed if _stimulus_believable(typed, path, phase, scale, name, faults) else None


def _stimulus_believable(typed: Typed, path: str, phase: str, scale: Scale, name: str, faults: Faults) -> bool:
    value = scale.quantity(typed.value)
    half = scale.setting / 2
    if phase in VENTED:
        if abs(value) <= half:
            return True
        faults.add(
            "not_vented",
            path,
            f"{name} of {typed.shown} is {value:.4g} {scale.quantity_unit}, yet this reading is made vented. "
            "Enter what the instrument shows with the line open to atmosphere.",
        )
        return False
    # A little below zero is an instrument's offset; more is a typing error.
    bounds = Bounds(name, scale.quantity_unit, -0.1 * scale.setting, scale.ceiling)
    return believable(value, typed, path, bounds, faults)
