"""A technician's hands: the readings of one stroke, as typed and in the order of the procedure."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from math import cos, exp, radians

import numpy as np

from fleet.management.demo.instruments import Instrument, as_text, rounded
from fleet.management.demo.mechanics import Actuator


class Flaw(StrEnum):
    """A way to break the procedure, by the name of the condition that finds it."""

    NOT_REACHED = "not_reached"
    OVERSHOOT = "overshoot"
    PRESSURE_FELL = "pressure_fell"
    EXERCISE_SHORT = "exercise_short"
    NO_ZERO_RETURN = "no_zero_return"
    OUT_OF_CALIBRATION = "out_of_calibration"
    ABOVE_MAXIMUM = "above_maximum"


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the technician reads off the specification: kPa or %, mm, half turns."""

    setting: float
    lower_mm: float
    nominal_mm: float
    upper_mm: float
    stimulus_max: float
    capture_tolerance: float
    zero_tolerance_stimulus: float
    zero_tolerance_mm: float
    exercise_cycles: int
    thread_pitch_mm: float


@dataclass(frozen=True, slots=True)
class Hand:
    """How one technician works.

    ``scatter_mm``: what changes from one set-up of the dial to the next; ``tilt_deg``: by how much the dial's
    plunger leans; ``rise``: points of the rise as shares of the setting; ``approaches``: how often it is made.
    """

    scatter_mm: float = 0.008
    tilt_deg: float = 2.0
    rise: tuple[float, ...] = (0.55, 0.70, 0.80, 0.87, 0.92, 0.96)
    approaches: int = 1
    returns: bool = True  # also reads the fall
    holds: bool = False  # also closes the supply and waits


@dataclass(frozen=True, slots=True)
class TypedReading:
    """One pair of indications as written down."""

    phase: str
    stimulus: str
    stimulus_unit: str
    travel: str | None = None
    travel_unit: str | None = None
    seconds: str | None = None

    def as_payload(self) -> dict[str, object]:
        travel = None if self.travel is None else {"text": self.travel, "unit": self.travel_unit}
        stimulus = {"text": self.stimulus, "unit": self.stimulus_unit}
        return {"phase": self.phase, "stimulus": stimulus, "travel": travel, "seconds": self.seconds}


FALL = (0.94, 0.82, 0.68)
HOLD_SECONDS = (0, 30, 60)


def held_kpa(setting: float, leak_kpa_per_min: float, seconds: float) -> float:
    """What is left some time after the supply was closed just below the setting: the less there is, the less leaks."""
    start = setting * 0.99
    return start * exp(-leak_kpa_per_min / start * seconds / 60.0)


@dataclass(slots=True)
class Bench:
    """An actuator, two instruments and a technician, ready for one stroke on one day.

    ``told_error`` is what the certificate says of the pressure instrument: the technician allows for it.
    """

    sheet: Sheet
    actuator: Actuator
    stimulus: Instrument
    told_error: Callable[[float], float]
    dial: Instrument
    hand: Hand
    day: int
    random: np.random.Generator
    leak_kpa_per_min: float = 0.4
    zero_offset: float = field(init=False)
    zero_read: float = field(init=False)
    set_up_mm: float = field(init=False)
    tilt: float = field(init=False)

    def __post_init__(self) -> None:
        # The same instrument does not come to the same zero every day, nor the dial to the same place.
        drift = 0.15 * self.stimulus.permissible
        offset = float(np.clip(self.random.normal(0.0, drift), -2 * drift, 2 * drift))
        # The needle of a gauge rests on its pin, a command begins at nothing.
        self.zero_offset = offset if self.stimulus.kind == "transducer" else abs(offset)
        self.zero_read = self.stimulus.from_typed(self._written(self.zero_offset))
        self.set_up_mm = float(self.random.normal(0.0, self.hand.scatter_mm))
        lean = self.hand.tilt_deg + self.random.uniform(-2.0, 2.0)
        self.tilt = 1.0 / cos(radians(lean))

    def stroke(self, flaw: Flaw | None = None) -> list[TypedReading]:
        """Make one stroke, whole or with a flaw."""
        return list(self._stroke(flaw))

    def _stroke(self, flaw: Flaw | None) -> Iterator[TypedReading]:
        yield self._vented("zero")
        yield from self._exercise(flaw)
        yield self._vented("zero_return", trapped=flaw is Flaw.NO_ZERO_RETURN)
        for approach in range(self.hand.approaches):
            if approach:
                yield self._vented("vent")
            yield from self._approach(flaw)
        if self.hand.returns:
            for share in FALL:
                yield self._read("fall", share * self.sheet.setting)
        if self.hand.holds:
            yield from self._hold()

    def _exercise(self, flaw: Flaw | None) -> Iterator[TypedReading]:
        cycles = 1 if flaw is Flaw.EXERCISE_SHORT else self.sheet.exercise_cycles
        for cycle in range(cycles):
            highest = self.sheet.setting * self.random.uniform(1.02, 1.06)
            if flaw is Flaw.ABOVE_MAXIMUM and cycle == cycles - 1:
                highest = self.sheet.stimulus_max * 1.04
            yield self._read("exercise", highest, with_travel=False)

    def _approach(self, flaw: Flaw | None) -> Iterator[TypedReading]:
        setting = self.sheet.setting
        self.actuator.move_to(0.0)
        shares = list(self.hand.rise)
        if flaw is Flaw.PRESSURE_FELL:
            shares.append(shares[-1] - 0.06)
        if flaw is Flaw.OVERSHOOT:
            shares.append(1.035)
        for share in shares:
            yield self._read("rise", share * setting)
        stop = self.sheet.setting * (0.97 if flaw is Flaw.NOT_REACHED else 1.0)
        # A careful hand stops close by; the dial's divisions decide how close can be told.
        yield self._read("setting", stop + 0.25 * self.sheet.capture_tolerance * self.random.uniform(-1.0, 1.0))

    def _hold(self) -> Iterator[TypedReading]:
        for seconds in HOLD_SECONDS:
            left = held_kpa(self.sheet.setting, self.leak_kpa_per_min, seconds)
            yield self._read("hold", left, with_travel=False, seconds=seconds)

    def _vented(self, phase: str, *, trapped: bool = False) -> TypedReading:
        self.actuator.move_to(0.0)
        left = 2.5 * self.stimulus.from_base(self.sheet.zero_tolerance_stimulus) if trapped else 0.0
        shown = as_text(self._written(self.zero_offset + left), self.stimulus.step)
        rest = 0.0 if phase == "zero" else self.random.normal(0.0, 0.1 * self.sheet.zero_tolerance_mm)
        dial = as_text(self.dial.from_base(rest), self.dial.step)
        return TypedReading(phase, shown, self.stimulus.typed_unit, dial, self.dial.unit)

    def _read(self, phase: str, wanted: float, *, with_travel: bool = True, seconds: int | None = None) -> TypedReading:
        shown, there = self._show(wanted)
        travel_mm = self.actuator.move_to(there)
        dial = as_text(self._dial(travel_mm), self.dial.step) if with_travel else None
        unit = self.dial.unit if with_travel else None
        return TypedReading(
            phase, shown, self.stimulus.typed_unit, dial, unit, None if seconds is None else str(seconds)
        )

    def _written(self, indication: float) -> float:
        return rounded(self.stimulus.to_typed(indication), self.stimulus.step)

    def _show(self, wanted: float) -> tuple[str, float]:
        """What is written down when a corrected stimulus is wanted, and the stimulus that is then there."""
        gauge = self.stimulus
        aim = gauge.from_base(wanted)
        typed = self._written(aim + self.zero_read + self.told_error(aim))
        seen = typed + gauge.step * self.random.uniform(-0.35, 0.35)
        net = gauge.from_typed(seen) - self.zero_offset
        there = gauge.to_base(net - gauge.true_error(net, self.day))
        return as_text(typed, gauge.step), max(there, 0.0)

    def _dial(self, travel_mm: float) -> float:
        """What the dial shows, in its own unit, for a travel of the rod."""
        if travel_mm < 0.02:
            return 0.0
        shown = self.dial.from_base(travel_mm * self.tilt + self.set_up_mm + self.random.normal(0.0, 0.004))
        return max(shown + self.dial.true_error(shown, self.day), 0.0)
