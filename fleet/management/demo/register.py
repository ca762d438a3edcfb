"""Loads what exists: depots, people, trucks, turbochargers and what was fitted where, meters, complaints."""

from dataclasses import dataclass, field
from datetime import UTC

from simple_history.utils import bulk_create_with_history

from fleet.management.demo.calendar import Calendar
from fleet.management.demo.cast import DEPOTS, MODELS, PEOPLE, Person
from fleet.management.demo.events import History
from fleet.management.demo.fleet import Fitment, Truck, Unit
from fleet.models import (
    Complaint,
    Depot,
    Engine,
    Membership,
    MeterReading,
    Note,
    Turbocharger,
    TurbochargerModel,
    User,
)
from fleet.models import Truck as TruckRow
from fleet.models.vin import expected_check_digit
from fleet.services.complaint import close_complaint, raise_complaint
from fleet.services.engine import add_engine, install_engine
from fleet.services.fitment import fit_turbocharger, swap_turbocharger
from fleet.services.meter import Meter
from fleet.services.saving import save_checked
from fleet.services.truck import add_truck
from fleet.services.turbocharger import add_model, add_note, add_turbocharger, edit_turbocharger

MAKE = {"TP4": "Stannick Twelve", "OP6": "Pellowe Nine", "BE1": "Stannick Fourteen"}
TWIN_MAKE = "Pellowe Double"
LOADS = ("Tipper, sand", "Tanker, lime", "Walking floor, grain", "Tipper, aggregate")
# No maker's code begins with 0; the register treats these like any other.
VIN_PATTERN = "0MC{kind}7TL4{check}P{number:07d}"


@dataclass(slots=True)
class Rows:
    """What was loaded, by the names of the simulation."""

    people: dict[str, User] = field(default_factory=dict)
    depots: dict[str, Depot] = field(default_factory=dict)
    models: dict[str, TurbochargerModel] = field(default_factory=dict)
    trucks: dict[str, TruckRow] = field(default_factory=dict)
    engines: dict[str, Engine] = field(default_factory=dict)
    units: dict[str, Turbocharger] = field(default_factory=dict)
    complaints: list[Complaint] = field(default_factory=list)

    @property
    def manager(self) -> User:
        return self.people["marram"]


def load_people(rows: Rows) -> None:
    """Depots and the people who belong to them."""
    for sheet in DEPOTS:
        depot = Depot(code=sheet.code, name=sheet.name, checks_per_day=sheet.checks_per_day)
        save_checked(depot)
        rows.depots[sheet.code] = depot
    for person in PEOPLE:
        rows.people[person.username] = _person(person)
        for code in person.depots:
            save_checked(Membership(user=rows.people[person.username], depot=rows.depots[code], role=person.role))


def _person(person: Person) -> User:
    pressure, length, distance = person.units
    administrator = person.role == "administrator"
    return User.objects.create_user(
        person.username, password=person.password, first_name=person.first_name, last_name=person.last_name,
        pressure_unit=pressure, length_unit=length, distance_unit=distance, is_staff=administrator,
        is_superuser=administrator,
    )  # fmt: skip


def load_trucks(rows: Rows, history: History, calendar: Calendar) -> None:
    """Turbocharger models, trucks with their engines, and every turbocharger that ever was."""
    by = rows.manager
    for sheet in MODELS:
        rows.models[sheet.code] = add_model(user=by, name=sheet.name, stimulus=sheet.stimulus, note=sheet.note)
    for count, truck in enumerate(history.fleet.trucks, start=1):
        _truck(rows, truck, count, calendar)
    home = {f.serial: f.truck.depot for f in history.fleet.fitments}
    for unit in history.fleet.units.values():
        rows.units[unit.serial] = _unit(rows, unit, home[unit.serial], calendar)


def _truck(rows: Rows, truck: Truck, count: int, calendar: Calendar) -> None:
    by, depot, day = rows.manager, rows.depots[truck.depot], calendar.on(truck.in_service_day)
    blank = VIN_PATTERN.format(kind="TBG"[count % 3], check="0", number=count * 1931)
    vin = blank[:8] + expected_check_digit(blank) + blank[9:]
    # Some trucks came from a market that uses no check digit, and of some nobody wrote down the VIN.
    kind = TruckRow.CheckDigit.NOT_USED if count % 9 == 4 else TruckRow.CheckDigit.REQUIRED
    row = add_truck(
        user=by, depot=depot, unit_number=truck.number, in_service_on=day, vin="" if count % 13 == 7 else vin,
        check_digit=kind, description=LOADS[count % len(LOADS)],
    )  # fmt: skip
    twin = len(truck.positions) > 1
    engine = add_engine(
        user=by, depot=depot, serial=truck.engine, model=TWIN_MAKE if twin else MAKE[truck.model],
        layout=Engine.Layout.TWIN if twin else Engine.Layout.SINGLE,
    )  # fmt: skip
    install_engine(user=by, engine=engine, truck=row, installed_on=day)
    rows.trucks[truck.number], rows.engines[truck.number] = row, engine


def _unit(rows: Rows, unit: Unit, depot: str, calendar: Calendar) -> Turbocharger:
    return add_turbocharger(
        user=rows.manager, depot=rows.depots[depot], serial=unit.serial, model=rows.models[unit.model.code],
        received_on=calendar.on(unit.received_day), origin=unit.origin,
    )  # fmt: skip


def load_fitments(rows: Rows, history: History, calendar: Calendar) -> None:
    """Fit and swap in the order of the days; what was worn out is scrapped on the day it came off."""
    held: dict[tuple[str, str], Fitment] = {}
    for fitment in sorted(history.fleet.fitments, key=lambda f: f.from_day):
        unit, day, truck = rows.units[fitment.serial], calendar.on(fitment.from_day), fitment.truck
        meter = _meter_at_noon(truck, fitment.from_day)
        old = held.get((truck.number, fitment.position))
        held[truck.number, fitment.position] = fitment
        if old is None:
            fit_turbocharger(
                user=rows.manager, turbocharger=unit, engine=rows.engines[truck.number], position=fitment.position,
                fitted_on=day, meter=meter,
            )  # fmt: skip
            continue
        off = rows.units[old.serial]
        swap_turbocharger(user=rows.manager, off=off, on=unit, swapped_on=day, meter=meter, reason=old.removal_reason)
        if old.scrapped:
            off.refresh_from_db()
            edit_turbocharger(user=rows.manager, turbocharger=off, reason=old.removal_reason, scrapped_on=day)


def _meter_at_noon(truck: Truck, day: int) -> Meter:
    kilometres = int(truck.odometer_km(day + 0.5))
    hours = round(truck.engine_hours(day + 0.5), 1)
    return Meter(odometer_km=float(kilometres), odometer_typed=f"{kilometres} km", engine_hours=hours)


def load_meters(rows: Rows, history: History, calendar: Calendar) -> None:
    """The monthly readings off the yard's list."""
    readings = [
        MeterReading(
            truck=rows.trucks[reading.truck.number], read_at=calendar.at(reading.day, 330).astimezone(UTC),
            odometer_km=reading.odometer_km, odometer_typed=f"{reading.odometer_km} km",
            engine_hours=reading.engine_hours, source="yard list", recorded_by=rows.manager,
        )
        for reading in history.meters
    ]  # fmt: skip
    bulk_create_with_history(readings, MeterReading, batch_size=500, default_user=rows.manager)


def load_complaints(rows: Rows, history: History, calendar: Calendar) -> None:
    """What drivers said, open until the checks that answer are in."""
    for complaint in history.complaints:
        rows.complaints.append(
            raise_complaint(
                user=rows.manager, truck=rows.trucks[complaint.truck.number], kind=complaint.kind,
                raised_on=calendar.on(complaint.raised_day), raised_by=complaint.raised_by, text=complaint.text,
            )
        )  # fmt: skip


def close_complaints(rows: Rows, history: History, calendar: Calendar) -> None:
    """Close what was answered, with what was found."""
    for row, complaint in zip(rows.complaints, history.complaints, strict=True):
        if complaint.closed_day is not None:
            close_complaint(
                user=rows.manager, complaint=row, finding=complaint.finding, closed_on=calendar.on(complaint.closed_day)
            )


def add_notes(rows: Rows, notes: list[tuple[str, int, str]], calendar: Calendar) -> None:
    """Remarks on units, dated when they were made."""
    for serial, day, text in notes:
        note = add_note(user=rows.manager, turbocharger=rows.units[serial], text=text)
        Note.objects.filter(pk=note.pk).update(made_at=calendar.at(day, 900))
