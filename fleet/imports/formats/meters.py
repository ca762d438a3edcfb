"""One meter reading of a truck on each line."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from fleet.imports.columns import Cells, Column
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import UNIT_NUMBER
from fleet.imports.known import Known
from fleet.imports.named import named_truck
from fleet.imports.steps import Wish
from fleet.models import MeterReading, Truck, User
from fleet.problems import FleetError
from fleet.services.dates import day_that_was, noon_at
from fleet.services.meter import Meter, refuse_backwards

REPLACED = {"no": False, "0": False, "yes": True, "1": True}
COLUMNS = (
    replace(UNIT_NUMBER, required=True),
    Column("read_at", ("read_on", "date", "time"), required=True, holds="2026-03-14 or 2026-03-14 08:30, depot's time"),
    Column("odometer", (), holds="whole or decimal", units=("km", "mi")),
    Column("engine_hours", ("hours",)),
    Column("odometer_unit", ("distance_unit",), holds="km or mi; km when blank"),
    Column("replaced_meter", ("new_meter",), holds="yes for the first reading of a new meter"),
)


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the reading, held against those around it; the same reading again changes nothing."""
    truck = named_truck(cells, known, needed_for="a meter reading")
    meter, at = cells.meter(), _moment(cells, truck)
    if not meter:
        raise FleetError("meter_reading_given", "odometer", "Give the odometer, the engine hours, or both.")
    row = MeterReading(
        truck=truck, read_at=at, odometer_km=meter.odometer_km, odometer_typed=meter.odometer_typed,
        engine_hours=meter.engine_hours, replaced_meter=cells.flag("replaced_meter", REPLACED), source="file",
        recorded_by=user,
    )  # fmt: skip
    if not _on_record(row, known):
        _hold_against(row, meter, known)
        wish.new(row, f"meter of truck {truck} at {at:%Y-%m-%d %H:%M} UTC")


def _moment(cells: Cells, truck: Truck) -> datetime:
    text = cells.text("read_at", needed_for="a meter reading")
    for form in ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S"):
        try:
            at = datetime.strptime(text, form).replace(tzinfo=ZoneInfo(truck.depot.time_zone))
        except ValueError:
            continue
        day_that_was(at.date(), "read_at")
        return at
    day = cells.needed_day("read_at", "a meter reading")
    day_that_was(day, "read_at")
    return noon_at(truck.depot, day)


def _on_record(row: MeterReading, known: Known) -> bool:
    for other in known.read[row.truck.unit_number]:
        if other.read_at != row.read_at:
            continue
        if (other.odometer_km, other.engine_hours) == (row.odometer_km, row.engine_hours):
            return True
        raise FleetError("one_meter_reading_per_moment", "read_at", "Another reading at this moment is on record.")
    return False


def _hold_against(row: MeterReading, meter: Meter, known: Known) -> None:
    for name in ("odometer_km", "engine_hours"):
        others = [other for other in known.read[row.truck.unit_number] if getattr(other, name) is not None]
        before = max((o for o in others if o.read_at < row.read_at), key=lambda o: o.read_at, default=None)
        after = min((o for o in others if o.read_at > row.read_at), key=lambda o: o.read_at, default=None)
        refuse_backwards(name, getattr(meter, name), before, after, replaced_meter=row.replaced_meter)


FORMAT = Format("meters", "Meter readings, one on each line", COLUMNS, plan)
