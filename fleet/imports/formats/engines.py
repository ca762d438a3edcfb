"""One engine on each line, in its truck where one is named."""

from dataclasses import replace

from fleet.imports.columns import Cells, Column
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import DEPOT, UNIT_NUMBER
from fleet.imports.known import Known
from fleet.imports.named import named_truck
from fleet.imports.steps import Wish, plan_engine, plan_installation
from fleet.models import User

ENGINE_COLUMNS = (
    Column("engine_serial", ("engine", "engine_serial_number"), required=True, holds="the engine's serial number"),
    Column("engine_model", holds="needed for a new engine"),
    Column("layout", ("turbochargers", "engine_layout"), holds="single or twin; single when blank"),
    Column("installed_on", ("engine_installed_on",), holds="day; the truck's first day of service when blank"),
)


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the engine, and its installation when the line names a truck that the register has."""
    truck = named_truck(cells, known) if cells.text("unit_number") else None
    engine = plan_engine(cells, known, wish, truck.depot if truck else None)
    if truck is not None:
        plan_installation(cells, known, wish, engine, truck)


COLUMNS = (*ENGINE_COLUMNS, replace(UNIT_NUMBER, required=False, holds="the truck it sits in"), DEPOT)
FORMAT = Format("engines", "Engines, one on each line", COLUMNS, plan)
