"""One turbocharger on each line, into a depot's stock."""

from fleet.imports.columns import Cells, Column
from fleet.imports.formats.format import Format
from fleet.imports.formats.trucks import DEPOT
from fleet.imports.known import Known
from fleet.imports.steps import Wish, plan_turbocharger
from fleet.models import User

SERIAL = Column(
    "serial", ("turbocharger", "turbocharger_serial"), required=True, holds="the turbocharger's serial number"
)
TURBOCHARGER_COLUMNS = (
    SERIAL,
    Column("model", ("turbocharger_model",), holds="needed for a new turbocharger"),
    Column("actuator", ("stimulus",), holds="pneumatic or electric; needed for a new model"),
    Column("origin", ("new_or_reconditioned",), holds="new or reconditioned; new when blank"),
    Column("received_on", ("received",), holds="day; needed for a new turbocharger"),
)


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the turbocharger."""
    plan_turbocharger(cells, known, wish, None)


FORMAT = Format("turbochargers", "Turbochargers, one on each line", (*TURBOCHARGER_COLUMNS, DEPOT), plan)
