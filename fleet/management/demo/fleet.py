"""The trucks, and the units fitted to them from first to last day, with the truth of each."""

from dataclasses import dataclass, field
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from checks.measurement.units import convert
from fleet.management.demo.cast import MODELS, FoundLately, ModelSheet, SpecificationSheet
from fleet.management.demo.strokes import Sheet
from fleet.management.demo.thirsts import THIRSTS

SEASON_DAYS = 365.25
# Trucks are on the road on weekdays between these, in days since midnight: 06:00 to 20:30.
ROAD_BEGINS, ROAD_ENDS = 0.25, 0.854


@dataclass(frozen=True, slots=True)
class Truck:
    """A truck and its engine. Busier in the season when lime and grain are carried."""

    number: str
    depot: str
    in_service_day: int
    km_per_day: float
    km_per_hour: float
    positions: tuple[str, ...]
    model: str
    engine: str

    def odometer_km(self, day: float) -> float:
        """Kilometres run since it went into service."""
        return float(self.odometers_km(day))

    def odometers_km(self, days: ArrayLike) -> NDArray[np.float64]:
        """As `odometer_km`, of many moments at once."""
        worked, begun = worked_days(days), worked_days(self.in_service_day)
        swing = 0.12 * SEASON_DAYS / (2 * pi)
        wave = np.sin(2 * pi * worked / SEASON_DAYS) - np.sin(2 * pi * begun / SEASON_DAYS)
        return np.maximum(0.0, self.km_per_day * (worked - begun + swing * wave))

    def engine_hours(self, day: float) -> float:
        return self.odometer_km(day) / self.km_per_hour


@dataclass(frozen=True, slots=True)
class Unit:
    """A turbocharger and the truth about it: how it was set, how it drifts, what is wrong with it."""

    serial: str
    model: ModelSheet
    origin: str
    received_day: int
    plant_mm: float
    drift_mm: float  # per 100,000 km
    friction: float
    gain: float
    leak_kpa_per_min: float
    stick: float = 0.0
    jump: tuple[int, float] | None = None


@dataclass(slots=True)
class Fitment:
    """A unit at a position of a truck's engine; ``checked_until`` is the day after which nobody looked."""

    serial: str
    truck: Truck
    position: str
    from_day: int
    to_day: int | None = None
    removal_reason: str = ""
    scrapped: bool = False
    checked_until: int | None = None
    found: FoundLately | None = None
    first_look: int | None = None
    left_from: int | None = None  # looked at, and not set, from then on


@dataclass(slots=True)
class Fleet:
    trucks: list[Truck] = field(default_factory=list)
    units: dict[str, Unit] = field(default_factory=dict)
    fitments: list[Fitment] = field(default_factory=list)
    planted: dict[str, str | list[str]] = field(default_factory=dict)


def worked_days(days: ArrayLike) -> NDArray[np.float64]:
    """Days that count for use: weekends stand still, and each hour on the road of the five other days counts more."""
    moment = np.asarray(days, dtype=np.float64)
    week, rest = np.divmod(moment, 7.0)
    whole, hour = np.divmod(rest, 1.0)
    run = np.clip((hour - ROAD_BEGINS) / (ROAD_ENDS - ROAD_BEGINS), 0.0, 1.0)
    return np.asarray(7.0 * week + 1.4 * np.minimum(whole + run, 5.0))


def thirst_of(truck: Truck, day: int) -> float:
    """The share that a truck burns more on a day for a reason that is not its wastegate."""
    return sum(t.share for t in THIRSTS if t.truck == truck.number and t.from_day <= day < t.to_day)


def model_of(code: str) -> ModelSheet:
    return next(model for model in MODELS if model.code == code)


def specification_on(model: ModelSheet, day: int) -> SpecificationSheet:
    """The revision in force on a day."""
    return max((s for s in model.specifications if s.effective_day <= day), key=lambda s: s.effective_day)


def sheet_of(specification: SpecificationSheet) -> Sheet:
    """A printed revision in kPa or %, and mm."""
    electric = specification.stimulus_unit == "%"

    def stimulus(text: str) -> float:
        return float(text) if electric else convert(float(text), specification.stimulus_unit, "kPa")

    def length(text: str) -> float:
        return convert(float(text), specification.length_unit, "mm")

    return Sheet(
        setting=stimulus(specification.setting),
        lower_mm=length(specification.lower),
        nominal_mm=length(specification.nominal),
        upper_mm=length(specification.upper),
        stimulus_max=stimulus(specification.maximum),
        capture_tolerance=stimulus(specification.capture),
        zero_tolerance_stimulus=stimulus(specification.zero_stimulus),
        zero_tolerance_mm=length(specification.zero_travel),
        exercise_cycles=3,
        thread_pitch_mm=_pitch_mm(*specification.thread),
    )


def _pitch_mm(text: str, unit: str) -> float:
    return 25.4 / float(text) if unit == "threads per inch" else float(text)
