"""One fitment on each line, of a turbocharger and an engine that the register has."""

from dataclasses import replace

from fleet.imports.columns import Cells, Column
from fleet.imports.fitting import plan_fitment
from fleet.imports.formats.engines import ENGINE_COLUMNS
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import UNIT_NUMBER
from fleet.imports.formats.turbochargers import SERIAL
from fleet.imports.known import Known
from fleet.imports.named import named_engine, named_turbocharger
from fleet.imports.steps import Wish
from fleet.models import User

FITMENT_COLUMNS = (
    Column("position", (), holds="single, front or rear; single when blank on an engine with one"),
    Column("fitted_on", ("fitted",), required=True, holds="day"),
    Column("odometer", ("fitted_odometer", "odometer_at_fitting"), holds="at fitting", units=("km", "mi")),
    Column("engine_hours", ("fitted_engine_hours",), holds="at fitting"),
    Column("odometer_unit", ("distance_unit",), holds="km or mi; km when blank"),
    Column("removed_on", ("removed",), holds="day; blank while fitted"),
    Column("removed_odometer", ("odometer_at_removal",), holds="at removal", units=("km", "mi")),
    Column("removed_engine_hours", (), holds="at removal"),
    Column("removal_reason", ("reason",)),
)


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the fitment."""
    unit, engine = named_turbocharger(cells, known), named_engine(cells, known)
    plan_fitment(cells, known, wish, unit, engine, user, engine.layout, engine.depot)


COLUMNS = (
    SERIAL,
    replace(ENGINE_COLUMNS[0], required=False, holds="or else the truck's number"),
    replace(UNIT_NUMBER, required=False, holds="the truck, where no engine is named"),
    *FITMENT_COLUMNS,
)
FORMAT = Format("fitments", "Fitments, one on each line", COLUMNS, plan)
