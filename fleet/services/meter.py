"""Meter readings of trucks: what was typed, converted, and held against the readings around it."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from checks.measurement.units import convert
from fleet.models import Membership, MeterReading, Truck, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.dates import day_that_was
from fleet.services.quantity import read_number
from fleet.services.saving import save_checked

MOST_KM = 10_000_000.0
MOST_HOURS = 1_000_000.0
DISTANCE_UNITS = ("km", "mi")
METERS = {"odometer_km": ("odometer", "km", "odometer"), "engine_hours": ("engine_hours", "h", "hour meter")}
# A tablet's clock may run a little ahead of ours.
CLOCK_TOLERANCE = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Meter:
    """What a truck's meters show: odometer in km with the text typed, engine hours in h; None where not read."""

    odometer_km: float | None = None
    odometer_typed: str = ""
    engine_hours: float | None = None

    def __bool__(self) -> bool:
        return self.odometer_km is not None or self.engine_hours is not None


NO_METER = Meter()


def read_meter(*, odometer: str = "", unit: str = "km", engine_hours: str = "") -> Meter:
    """Read typed meters; blank means not read. Raises FleetError on field ``odometer`` or ``engine_hours``."""
    km = None
    if odometer.strip():
        if unit not in DISTANCE_UNITS:
            raise FleetError("unknown_unit", "odometer", f"'{unit}' is no unit of distance; use km or mi.")
        km = float(convert(read_number(odometer, field="odometer"), unit, "km"))
        _within(km, MOST_KM, "odometer", f"An odometer reads 0 to 10,000,000 km; '{odometer} {unit}' does not.")
    hours = read_number(engine_hours, field="engine_hours") if engine_hours.strip() else None
    if hours is not None:
        _within(hours, MOST_HOURS, "engine_hours", f"Engine hours are 0 to 1,000,000 h; '{engine_hours}' are not.")
    return Meter(km, f"{odometer.strip()} {unit}" if km is not None else "", hours)


def meter_of(typed: dict[str, Any]) -> Meter:
    """The meters in ``{"odometer": {"text", "unit"}, "engine_hours": {"text", "unit"}}``; either may be missing."""
    odometer, hours = typed.get("odometer") or {}, typed.get("engine_hours") or {}
    return read_meter(
        odometer=odometer.get("text", ""), unit=odometer.get("unit", "km"), engine_hours=hours.get("text", "")
    )


@transaction.atomic
def record_meter_reading(
    *, user: User, truck: Truck, read_at: datetime, meter: Meter, replaced_meter: bool = False, source: str = "typed"
) -> MeterReading:
    """Keep a reading of a truck's meters. A meter that runs backwards is refused unless it was replaced."""
    require(user, Membership.Role.TECHNICIAN, truck.depot)
    if read_at > timezone.now() + CLOCK_TOLERANCE:
        raise FleetError("in_the_future", "read_at", "This moment lies in the future. Give when the meter was read.")
    day_that_was(read_at.date(), "read_at")
    check_meter(truck=truck, at=read_at, meter=meter, replaced_meter=replaced_meter)
    reading = MeterReading(
        truck=truck, read_at=read_at, odometer_km=meter.odometer_km, odometer_typed=meter.odometer_typed,
        engine_hours=meter.engine_hours, replaced_meter=replaced_meter, source=source, recorded_by=user,
    )  # fmt: skip
    save_checked(reading, user=user)
    return reading


def check_meter(*, truck: Truck, at: datetime, meter: Meter, replaced_meter: bool = False) -> None:
    """Refuse a reading below an earlier one or above a later one of the same meter; up to four queries."""
    _check_one(truck, at, "odometer_km", meter.odometer_km, replaced_meter)
    _check_one(truck, at, "engine_hours", meter.engine_hours, replaced_meter)


def _check_one(truck: Truck, at: datetime, name: str, value: float | None, replaced_meter: bool) -> None:
    if value is None:
        return
    given = MeterReading.objects.filter(truck=truck, **{f"{name}__isnull": False})
    before = given.filter(read_at__lt=at).order_by("-read_at").first()
    after = given.filter(read_at__gt=at).order_by("read_at").first()
    refuse_backwards(name, value, before, after, replaced_meter=replaced_meter)


def refuse_backwards(
    name: str, value: float | None, before: MeterReading | None, after: MeterReading | None, *, replaced_meter: bool
) -> None:
    """Refuse `value` of the meter `name` below the reading before it, unless replaced, or above the one after it."""
    if value is None:
        return
    if before and not replaced_meter and value < getattr(before, name):
        raise _backwards(name, before, "below", "If the meter was replaced since, mark it so.")
    if after and not after.replaced_meter and value > getattr(after, name):
        raise _backwards(name, after, "above", "Look at the date and at the figure.")


def _backwards(name: str, other: MeterReading, side: str, advice: str) -> FleetError:
    field, unit, label = METERS[name]
    read = f"The {label} read {getattr(other, name):,.0f} {unit} on {other.read_at:%-d %b %Y}"
    return FleetError("meter_runs_backwards", field, f"{read}; this is {side} it. {advice}")


def _within(value: float, most: float, field: str, sentence: str) -> None:
    if not 0 <= value <= most:
        raise FleetError("meter_reading_plausible", field, sentence)
