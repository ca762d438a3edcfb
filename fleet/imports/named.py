"""What a line names of what the register has already; the importer must manage it."""

from fleet.imports.columns import Cells
from fleet.imports.known import Known
from fleet.models import Engine, Truck, Turbocharger
from fleet.problems import FleetError


def named_truck(cells: Cells, known: Known, *, needed_for: str = "") -> Truck:
    """The truck that a line names by its number."""
    number = cells.text("unit_number", needed_for=needed_for)
    truck = known.trucks.get(number)
    if truck is None:
        raise FleetError("unknown_truck", "unit_number", f"The register has no truck '{number[:40]}'.")
    known.require_managed(truck, "unit_number")
    return truck


def named_engine(cells: Cells, known: Known) -> Engine:
    """The engine that a line names by its serial number, or by the truck it sits in."""
    serial, number = cells.text("engine_serial"), cells.text("unit_number")
    if serial:
        engine = known.engines.get(serial)
    else:
        open_seats = (seat.engine for seat in known.carries.get(number, ()) if seat.removed_on is None)
        engine = next(open_seats, None)
    if engine is None:
        what = f"engine with the serial number '{serial[:40]}'" if serial else f"engine in a truck '{number[:40]}'"
        raise FleetError("unknown_engine", "engine_serial", f"The register has no {what}.")
    known.require_managed(engine, "engine_serial")
    return engine


def named_turbocharger(cells: Cells, known: Known) -> Turbocharger:
    """The turbocharger that a line names by its serial number."""
    serial = cells.text("serial", needed_for="a fitment")
    unit = known.turbochargers.get(serial)
    if unit is None:
        raise FleetError("unknown_serial", "serial", f"The register has no turbocharger '{serial[:40]}'.")
    known.require_managed(unit, "serial")
    return unit
