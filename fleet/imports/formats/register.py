"""The whole register in one file: each line a truck with its engine and one fitted turbocharger."""

from dataclasses import replace

from fleet.imports.columns import Cells
from fleet.imports.fitting import plan_fitment
from fleet.imports.formats.engines import ENGINE_COLUMNS
from fleet.imports.formats.fitments import FITMENT_COLUMNS
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import TRUCK_COLUMNS
from fleet.imports.formats.turbochargers import TURBOCHARGER_COLUMNS
from fleet.imports.known import Known
from fleet.imports.steps import LAYOUTS, Wish, plan_engine, plan_installation, plan_truck, plan_turbocharger
from fleet.models import User


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan truck, engine, turbocharger and fitment; a truck may lack an engine, an engine its turbocharger."""
    truck = plan_truck(cells, known, wish)
    if not cells.text("engine_serial") and not cells.text("serial"):
        return
    engine = plan_engine(cells, known, wish, truck.depot)
    plan_installation(cells, known, wish, engine, truck)
    if cells.text("serial"):
        unit = plan_turbocharger(cells, known, wish, truck.depot)
        layout = cells.word("layout", LAYOUTS, engine.layout)
        plan_fitment(cells, known, wish, unit, engine, user, layout, truck.depot)


COLUMNS = (
    *TRUCK_COLUMNS,
    *(replace(column, required=False) for column in (*ENGINE_COLUMNS, *TURBOCHARGER_COLUMNS, *FITMENT_COLUMNS)),
)
FORMAT = Format("register", "Whole register, one fitted turbocharger on each line", COLUMNS, plan)
