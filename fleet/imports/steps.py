"""What one line asks for: rows to record or change, each held against what is known. Nothing is written here."""

from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db.models import ForeignKey, Model

from fleet.imports.columns import Cells
from fleet.imports.known import Known
from fleet.models import Depot, Engine, Fitment, Installation, Truck, Turbocharger, TurbochargerModel
from fleet.models.vin import read_vin
from fleet.problems import FleetError
from fleet.services.dates import day_that_was
from fleet.services.truck import like_another

M = TypeVar("M", bound=Model)
CHECK_DIGITS = {
    "required": "required", "yes": "required", "checked": "required",
    "not_used": "not_used", "not used": "not_used", "no": "not_used", "none": "not_used",
}  # fmt: skip
LAYOUTS = {"single": "single", "1": "single", "twin": "twin", "2": "twin"}
ORIGINS = {"new": "new", "reconditioned": "reconditioned"}
ACTUATORS = {"pneumatic": "pneumatic", "pressure": "pneumatic", "electric": "electric", "command": "electric"}


@dataclass(frozen=True, slots=True)
class Step:
    """A new row, or, with `changes`, new values for a stored one."""

    row: Any
    words: str
    changes: dict[str, Any] | None = None


@dataclass(slots=True)
class Wish:
    """All steps of one line. A line is taken whole or refused whole."""

    steps: list[Step]

    def new(self, row: M, words: str) -> M:
        """Plan a new row, after checking each of its values."""
        own = {field.name for field in row._meta.fields if isinstance(field, ForeignKey)}
        try:
            row.clean_fields(exclude=own | {"id"})
        except ValidationError as error:
            name, wrongs = next(iter(error.error_dict.items()))
            raise FleetError(str(wrongs[0].code), name, f"{name}: {' '.join(wrongs[0].messages)}") from error
        self.steps.append(Step(row, words))
        return row

    def change(self, row: M, wanted: dict[str, Any]) -> M:
        """Plan the values that differ; blank wishes change nothing."""
        changes = {
            name: value for name, value in wanted.items() if value not in (None, "") and getattr(row, name) != value
        }
        if changes:
            trial = type(row)(**{field.attname: getattr(row, field.attname) for field in row._meta.fields})
            for name, value in changes.items():
                setattr(trial, name, value)
            Wish([]).new(trial, "")
            labels = [str(getattr(row._meta.get_field(name), "verbose_name", name)) for name in changes]
            self.steps.append(Step(row, f"{row._meta.verbose_name} {row}: {', '.join(labels)}", changes))
        return row


def plan_truck(cells: Cells, known: Known, wish: Wish) -> Truck:
    """The truck of this line; new with its depot and first day of service, or with what differs."""
    number = cells.text("unit_number", needed_for="a truck")
    truck = known.trucks.get(number)
    if truck is not None:
        known.require_managed(truck, "unit_number")
    elif number.casefold() in known.written:
        raise like_another("unit_number")
    check_digit = cells.word("check_digit", CHECK_DIGITS, truck.check_digit if truck else Truck.CheckDigit.REQUIRED)
    vin = read_vin(cells.text("vin"), check_digit_required=check_digit == Truck.CheckDigit.REQUIRED)
    if vin and known.vins.get(vin, number) != number:
        raise FleetError("vin_once", "vin", f"Truck {known.vins[vin]} already has this VIN.")
    in_service_on = cells.day("in_service_on") if truck else cells.needed_day("in_service_on", "a new truck")
    day_that_was(in_service_on, "in_service_on")
    values: dict[str, Any] = {"vin": vin, "check_digit": check_digit, "description": cells.text("description")}
    values["in_service_on"] = in_service_on
    if truck is None:
        depot = known.depot(cells.text("depot", needed_for="a new truck"))
        row = Truck(unit_number=number, depot=depot, **values)
        return wish.new(row, f"truck {number}")
    _stays_at(truck, cells, known)
    return wish.change(truck, values)


def plan_engine(cells: Cells, known: Known, wish: Wish, depot: Depot | None) -> Engine:
    """The engine of this line; a new one belongs to `depot`, or to the depot that the line names."""
    serial = cells.text("engine_serial", needed_for="an engine")
    engine = known.engines.get(serial)
    layout = cells.word("layout", LAYOUTS, "" if engine else Engine.Layout.SINGLE)
    model = cells.text("engine_model", needed_for="" if engine else "a new engine")
    if engine is None:
        home = depot or known.depot(cells.text("depot", needed_for="a new engine"))
        return wish.new(Engine(serial=serial, model=model, layout=layout, depot=home), f"engine {serial}")
    known.require_managed(engine, "engine_serial")
    if layout and layout != engine.layout and _fitted_to(known, engine):
        raise FleetError("layout_in_use", "layout", f"Engine {serial} has carried turbochargers as {engine.layout}.")
    return wish.change(engine, {"model": model, "layout": layout})


def plan_installation(cells: Cells, known: Known, wish: Wish, engine: Engine, truck: Truck) -> None:
    """The engine sits in the truck; already so, or from the day that the line names, or from the truck's first."""
    sits = next((seat for seat in known.sits_in[engine.serial] if seat.removed_on is None), None)
    if sits is None:
        since = cells.day("installed_on") or truck.in_service_on
        _refuse_impossible(known, engine, truck, since)
        row = Installation(engine=engine, truck=truck, installed_on=since)
        wish.new(row, f"engine {engine.serial} in truck {truck}")
        wish.change(engine, {"depot": truck.depot})
        for fit in _fitted_to(known, engine):
            if fit.removed_on is None:
                wish.change(fit.turbocharger, {"depot": truck.depot})
    elif sits.truck.unit_number != truck.unit_number:
        sentence = f"Engine {engine.serial} sits in truck {sits.truck.unit_number}. Record its removal first."
        raise FleetError("engine_in_one_truck", "engine_serial", sentence)


def plan_turbocharger(cells: Cells, known: Known, wish: Wish, depot: Depot | None) -> Turbocharger:
    """The turbocharger of this line, with its model where that is new as well."""
    serial = cells.text("serial", needed_for="a turbocharger")
    unit = known.turbochargers.get(serial)
    received_on = cells.day("received_on") if unit else cells.needed_day("received_on", "a new turbocharger")
    day_that_was(received_on, "received_on")
    origin = cells.word("origin", ORIGINS, "" if unit else Turbocharger.Origin.NEW)
    if unit is None:
        model = _plan_model(cells, known, wish)
        home = depot or known.depot(cells.text("depot", needed_for="a new turbocharger"))
        when = {"received_on": received_on}
        row = Turbocharger(serial=serial, model=model, origin=origin, depot=home, **when)
        return wish.new(row, f"turbocharger {serial}")
    known.require_managed(unit, "serial")
    named = cells.text("model")
    if named and named.casefold() != unit.model.name.casefold():
        raise FleetError("other_model", "model", f"Turbocharger {serial} is on record as a {unit.model.name}.")
    if depot is None:
        _stays_at(unit, cells, known)
    first = min((fit.fitted_on for fit in known.fitted[serial]), default=None)
    if received_on and first and received_on > first:
        raise FleetError(
            "received_after_fitted",
            "received_on",
            f"It was first fitted on {first:%-d %b %Y}, so it was received by then. Is the serial number on two lines?",
        )
    return wish.change(unit, {"origin": origin, "received_on": received_on})


def overlaps(start: date, end: date | None, other_start: date, other_end: date | None) -> bool:
    """Whether two stretches share more than the day on which one ends and the other begins."""
    return (other_end is None or start < other_end) and (end is None or other_start < end)


def _plan_model(cells: Cells, known: Known, wish: Wish) -> TurbochargerModel:
    name = cells.text("model", needed_for="a new turbocharger")
    model = known.models.get(name.casefold())
    if model is None:
        stimulus = cells.word("actuator", ACTUATORS)
        if not stimulus:
            sentence = f"No model is called '{name[:40]}'. To add it, say in 'actuator' whether pneumatic or electric."
            raise FleetError("unknown_model", "model", sentence)
        model = wish.new(TurbochargerModel(name=name, stimulus=stimulus), f"model {name}")
    return model


def _refuse_impossible(known: Known, engine: Engine, truck: Truck, since: date) -> None:
    day_that_was(since, "installed_on")
    if truck.retired_on:
        raise FleetError("truck_retired", "unit_number", f"Truck {truck} has retired.")
    if since < truck.in_service_on:
        raise FleetError("before_service", "installed_on", f"Truck {truck} was not in service then.")
    for seat in (*known.carries[truck.unit_number], *known.sits_in[engine.serial]):
        if seat.removed_on is None:
            sentence = f"Truck {truck} carries engine {seat.engine.serial}. Record its removal first."
            raise FleetError("truck_has_one_engine", "unit_number", sentence)
        if seat.removed_on > since:
            raise FleetError(
                "installation_overlaps", "installed_on", f"Until {seat.removed_on} {seat}. Give a later day."
            )


def _fitted_to(known: Known, engine: Engine) -> list[Fitment]:
    return [fit for place in ("single", "front", "rear") for fit in known.holds.get((engine.serial, place), ())]


def _stays_at(row: Any, cells: Cells, known: Known) -> None:
    named = cells.text("depot")
    if named and known.depot(named).pk != row.depot_id:
        label = row._meta.verbose_name
        raise FleetError("other_depot", "depot", f"This {label} belongs to {row.depot}. Move it in the register first.")
