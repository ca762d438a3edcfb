"""One truck on each line."""

from fleet.imports.columns import Cells, Column
from fleet.imports.formats.format import Format
from fleet.imports.known import Known
from fleet.imports.steps import Wish, plan_truck
from fleet.models import User

UNIT_NUMBER = Column(
    "unit_number", ("unit", "unit_no", "truck", "truck_number", "truck_no"), required=True, holds="the truck's number"
)
DEPOT = Column("depot", ("depot_code", "depot_name"), holds="short name or name; needed for new rows")
TRUCK_COLUMNS = (
    UNIT_NUMBER,
    DEPOT,
    Column("vin", ("vehicle_identification_number",), holds="17 characters"),
    Column("check_digit", ("vin_check_digit",), holds="required or not_used"),
    Column("in_service_on", ("in_service", "in_service_from"), holds="day; needed for a new truck"),
    Column("description", ("truck_description",)),
)


def plan(cells: Cells, known: Known, wish: Wish, user: User) -> None:
    """Plan the truck."""
    plan_truck(cells, known, wish)


FORMAT = Format("trucks", "Trucks, one on each line", TRUCK_COLUMNS, plan)
