"""One row by its key or by the name people know it by, within what a person may see."""

from typing import TypeVar

from django.db.models import Model, QuerySet
from django.http import Http404

from fleet.models import Engine, Membership, Truck, Turbocharger, User
from fleet.problems import FleetError
from fleet.selectors.scope import visible_to

M = TypeVar("M", bound=Model)
VIEWER = Membership.Role.VIEWER


def visible_row(user: User, rows: QuerySet[M], pk: int, *, depot: str = "depot", role: str = VIEWER) -> M:
    """The row with this key; Http404 where it does not exist or `user` lacks `role` at its depot. One query."""
    row = visible_to(user, rows, depot=depot, role=role).filter(pk=pk).first()
    if row is None:
        raise Http404(f"No such {rows.model._meta.verbose_name} at your depots.")
    return row


def turbocharger_by_serial(user: User, serial: str, *, field: str, role: str = VIEWER) -> Turbocharger:
    """The turbocharger with this serial number. Raises FleetError on `field`."""
    rows = visible_to(user, Turbocharger.objects.select_related("depot", "model"), role=role)
    found = rows.filter(serial__iexact=serial.strip()).first()
    if found is None:
        raise FleetError("unknown_serial", field, f"No turbocharger at your depots has the serial number '{serial}'.")
    return found


def truck_by_number(user: User, unit_number: str, *, field: str, role: str = VIEWER) -> Truck:
    """The truck with this unit number. Raises FleetError on `field`."""
    rows = visible_to(user, Truck.objects.select_related("depot"), role=role)
    found = rows.filter(unit_number__iexact=unit_number.strip()).first()
    if found is None:
        raise FleetError("unknown_truck", field, f"No truck at your depots has the unit number '{unit_number}'.")
    return found


def engine_by_name(user: User, text: str, *, field: str, role: str = VIEWER) -> Engine:
    """The engine with this serial number, or the one in the truck with this unit number. Raises FleetError."""
    rows = visible_to(user, Engine.objects.select_related("depot"), role=role)
    in_truck = {"installations__truck__unit_number__iexact": text.strip(), "installations__removed_on": None}
    found = rows.filter(serial__iexact=text.strip()).first() or rows.filter(**in_truck).first()
    if found is None:
        raise FleetError("unknown_engine", field, f"'{text}' is neither an engine's serial nor a truck with an engine.")
    return found
