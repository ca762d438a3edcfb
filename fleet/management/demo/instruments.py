"""What an instrument shows of what is there, and what its certificates say."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import pi, sin

import numpy as np

from checks.measurement.units import convert
from fleet.management.demo.streams import stream


@dataclass(frozen=True, slots=True)
class Knock:
    """A blow that changed an instrument, until it was found at the laboratory."""

    day: int
    found_day: int
    share: float  # of the reading, by which it reads high from then on


@dataclass(frozen=True, slots=True)
class Electrical:
    """How a transducer is read: value = (reading - offset) / sensitivity, or a multimeter's own unit."""

    unit: str
    digit: float
    sensitivity: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One instrument. Lengths, pressures and errors are in ``unit``, the unit on its scale.

    ``gain`` (share of the reading) and ``bow`` (share of the range, at mid-scale) are its true error, which the
    laboratory finds but for its own uncertainty; ``creep`` is the gain added per 1,000 days and not known
    before the next certificate. ``certified`` holds the days of issue; a certificate lasts ``valid_days``.
    """

    label: str
    kind: str
    depot: str
    description: str
    unit: str
    division: float
    high: float
    permissible: float
    expanded: float
    read_to: float = 1.0
    gain: float = 0.0
    bow: float = 0.0
    creep: float = 0.0
    share: float = 0.0
    electrical: Electrical | None = None
    knock: Knock | None = None
    certified: tuple[int, ...] = ()
    valid_days: int = 365

    @property
    def step(self) -> float:
        """The smallest difference that is written down, in the unit that is typed."""
        if self.kind == "transducer" and self.electrical:
            return self.electrical.digit
        return self.division * self.read_to

    @property
    def typed_unit(self) -> str:
        return self.electrical.unit if self.kind == "transducer" and self.electrical else self.unit

    @property
    def base_unit(self) -> str:
        return {"dial": "mm", "multimeter": self.unit, "command": "%"}.get(self.kind, "kPa")

    def known_error(self, indication: float) -> float:
        """The error of its lasting kind, which a certificate tells."""
        return self.gain * indication + self.bow * self.high * sin(pi * indication / self.high)

    def true_error(self, indication: float, day: int) -> float:
        """Indication minus what is there, on one day."""
        last = max((issued for issued in self.certified if issued <= day), default=day)
        error = self.known_error(indication) + self.creep * (day - last) / 1000.0 * indication
        if self.knock and self.knock.day <= day < self.knock.found_day:
            error += self.knock.share * indication
        return error

    def to_typed(self, indication: float) -> float:
        """From the quantity on its scale to what is typed."""
        if self.kind == "transducer" and self.electrical:
            return self.electrical.offset + self.electrical.sensitivity * indication
        return indication

    def from_typed(self, value: float) -> float:
        """From what is typed to the quantity on its scale."""
        if self.kind == "transducer" and self.electrical:
            return (value - self.electrical.offset) / self.electrical.sensitivity
        return value

    def from_base(self, value: float) -> float:
        """From mm, kPa or % to its own unit."""
        return convert(value, self.base_unit, self.unit)

    def to_base(self, value: float) -> float:
        """From its own unit to mm, kPa or %."""
        return convert(value, self.unit, self.base_unit)


def rounded(value: float, step: float) -> float:
    """The nearest whole number of steps."""
    return float(Decimal(str(step)) * round(value / step))


def as_text(value: float, step: float) -> str:
    """A reading as it is written down, with the decimals of its step."""
    whole = Decimal(str(step)) * round(value / step)
    return str(whole if whole else abs(whole))


@dataclass(frozen=True, slots=True)
class CertificatePoint:
    """One point, in the unit of the scale: error = indication - reference."""

    moment: str
    indication: float
    error: float


@dataclass(frozen=True, slots=True)
class Certificate:
    """What the laboratory wrote; coverage factor 2."""

    number: str
    issued_day: int
    due_day: int
    points: tuple[CertificatePoint, ...]


SHARES = (0.0, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 1.0)


@cache
def certificates(instrument: Instrument, seed: int) -> tuple[Certificate, ...]:
    """Every certificate of an instrument: as found on arrival, as left after what was put right."""
    written = []
    for count, issued in enumerate(instrument.certified, start=1):
        random = stream(seed, "certificate", instrument.label, count)
        points = []
        for indication in (share * instrument.high for share in SHARES):
            seen = instrument.expanded / 4.0 * random.standard_normal() if indication else 0.0
            digits = max(2, 2 - Decimal(str(instrument.expanded)).adjusted())
            for moment, error in (
                ("as_found", instrument.true_error(indication, issued - 1)),
                ("as_left", instrument.known_error(indication)),
            ):
                points.append(CertificatePoint(moment, round(indication, 6), round(error + seen, digits)))
        number = f"NL-{26000 + 37 * count + sum(map(ord, instrument.label))}"
        written.append(Certificate(number, issued, issued + instrument.valid_days, tuple(points)))
    return tuple(written)


def told_errors(instrument: Instrument, seed: int, day: int) -> Callable[[float], float]:
    """What the newest certificate of the day says of the error at an indication; nothing without one."""
    known = [c for c in certificates(instrument, seed) if c.issued_day <= day]
    if not known:
        return lambda indication: 0.0
    points = [p for p in known[-1].points if p.moment == "as_left"]
    at, errors = [p.indication for p in points], [p.error for p in points]
    return lambda indication: float(np.interp(indication, at, errors))
