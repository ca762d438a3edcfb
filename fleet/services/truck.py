"""Trucks: adding, correcting, moving to another depot, retiring."""

from datetime import date
from typing import Any

from django.db import transaction

from fleet.models import Depot, Engine, Fitment, Installation, Membership, Truck, Turbocharger, User
from fleet.models.vin import read_vin
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.dates import day_that_was
from fleet.services.saving import Faults, assign, save_checked


@transaction.atomic
def add_truck(
    *, user: User, depot: Depot, unit_number: str, in_service_on: date, vin: str = "",
    check_digit: str = Truck.CheckDigit.REQUIRED, description: str = "",
) -> Truck:  # fmt: skip
    """Add a truck to a depot."""
    require(user, Membership.Role.MANAGER, depot)
    faults, number = Faults(), unit_number.strip()
    with faults.gathering():
        day_that_was(in_service_on, "in_service_on")
    with faults.gathering():
        vin = _vin(vin, check_digit)
    with faults.gathering():
        if Truck.objects.filter(unit_number__iexact=number).exclude(unit_number=number).exists():
            raise like_another("unit_number")
    truck = Truck(
        depot=depot, unit_number=number, vin=vin, check_digit=check_digit,
        description=description.strip(), in_service_on=in_service_on,
    )  # fmt: skip
    save_checked(truck, user=user, faults=faults)
    return truck


@transaction.atomic
def edit_truck(*, user: User, truck: Truck, reason: str = "", **changes: Any) -> Truck:
    """Correct a truck, retire it by a date, or move it to another depot with its engine and turbochargers."""
    require(user, Membership.Role.MANAGER, Depot.objects.get(pk=truck.depot_id))
    vin, check_digit = changes.get("vin", truck.vin), changes.get("check_digit", truck.check_digit)
    faults = Faults()
    with faults.gathering():
        changes["vin"] = _vin(vin, check_digit)
    for name in ("in_service_on", "retired_on"):
        with faults.gathering():
            day_that_was(changes.get(name), name)
    if changes.get("retired_on"):
        with faults.gathering():
            _nothing_installed(truck)
    depot = changes.get("depot", truck.depot)
    moves = depot.pk != truck.depot_id
    if moves:
        require(user, Membership.Role.MANAGER, depot)
    if assign(truck, changes) or faults:
        save_checked(truck, user=user, reason=reason, faults=faults)
    if moves:
        move_with_truck(user=user, truck=truck)
    return truck


def like_another(field: str) -> FleetError:
    """Two trucks whose numbers nobody could tell apart when they are called out."""
    sentence = (
        "Another truck has this unit number in other capitals. Write it as that truck's, or give this one another."
    )
    return FleetError("unit_number_like_another", field, sentence)


def move_with_truck(*, user: User, truck: Truck) -> None:
    """Let the engine in `truck` and the turbochargers on it belong to the truck's depot."""
    engine = Engine.objects.filter(installations__truck=truck, installations__removed_on=None).first()
    if engine is not None:
        move_engine(user=user, engine=engine, depot=truck.depot, reason=f"Follows truck {truck}")


def move_engine(*, user: User, engine: Engine, depot: Depot, reason: str) -> None:
    """Let an engine and the turbochargers on it belong to `depot`."""
    fitted = Turbocharger.objects.filter(fitments__engine=engine, fitments__removed_on=None)
    for row in (engine, *fitted):
        if assign(row, {"depot": depot}):
            save_checked(row, user=user, reason=reason)


def _vin(vin: str, check_digit: str) -> str:
    return read_vin(vin, check_digit_required=check_digit == Truck.CheckDigit.REQUIRED)


def _nothing_installed(truck: Truck) -> None:
    held = Installation.objects.filter(truck=truck, removed_on=None).select_related("engine").first()
    if held:
        carried = Fitment.objects.filter(engine=held.engine, removed_on=None).count()
        raise FleetError(
            "engine_still_in", "retired_on",
            f"Engine {held.engine.serial} still sits in this truck with {carried} turbocharger(s). "
            "Record its removal first.",
        )  # fmt: skip
