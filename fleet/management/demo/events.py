"""What happened, as the simulation writes it down."""

from dataclasses import dataclass, field
from uuid import UUID

from fleet.management.demo.cast import ModelSheet, Person
from fleet.management.demo.choice import Eye, Kit
from fleet.management.demo.fleet import Fleet, Truck
from fleet.management.demo.strokes import Flaw, TypedReading


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeCheck:
    """A check as the technician sends it, and the truth behind it."""

    key: UUID
    serial: str
    model: ModelSheet
    truck: Truck
    position: str
    person: Person
    day: int
    minute: int
    reason: str
    complaint: int | None
    kit: Kit
    as_found: list[TypedReading]
    half_turns: int | None
    as_left: list[TypedReading] | None
    flaw: Flaw | None
    true_mm: float
    true_left_mm: float
    note: str = ""

    @property
    def moment(self) -> float:
        return self.day + self.minute / 1440.0


@dataclass(slots=True)
class Complaint:
    """What a driver said; ``explained``: whether a wastegate of the truck truly was outside."""

    truck: Truck
    kind: str
    raised_day: int
    raised_by: str
    text: str
    explained: bool
    waiting: int
    finding: str = ""
    closed_day: int | None = None


@dataclass(frozen=True, slots=True)
class MeterReading:
    truck: Truck
    day: int
    odometer_km: int
    engine_hours: float


@dataclass(frozen=True, slots=True)
class Setting:
    """Where a unit was last set, when, and at which odometer."""

    travel_mm: float
    odometer_km: float
    day: int


@dataclass(slots=True)
class History:
    """``settings``: every setting of each fitment, by its serial and the truck's number, in the order of the days."""

    fleet: Fleet
    checks: list[MadeCheck] = field(default_factory=list)
    complaints: list[Complaint] = field(default_factory=list)
    meters: list[MeterReading] = field(default_factory=list)
    settings: dict[tuple[str, str], list[Setting]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of the look: half turns and the stroke after them, or neither."""

    eye: Eye
    half_turns: int | None = None
    as_left: list[TypedReading] | None = None
    left_mm: float = 0.0
