"""Engines, and which truck each sits in."""

from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q

from fleet.models import Depot, Engine, Installation, Membership, Truck, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.dates import day_that_was
from fleet.services.saving import assign, save_checked
from fleet.services.truck import move_engine


@transaction.atomic
def add_engine(*, user: User, depot: Depot, serial: str, model: str, layout: str = Engine.Layout.SINGLE) -> Engine:
    """Add an engine to a depot."""
    require(user, Membership.Role.MANAGER, depot)
    engine = Engine(depot=depot, serial=serial.strip(), model=model.strip(), layout=layout)
    save_checked(engine, user=user)
    return engine


@transaction.atomic
def edit_engine(*, user: User, engine: Engine, **changes: Any) -> Engine:
    """Correct an engine; its depot changes by hand only while it sits in no truck."""
    require(user, Membership.Role.MANAGER, Depot.objects.get(pk=engine.depot_id))
    depot = changes.pop("depot", engine.depot)
    if changes.get("layout", engine.layout) != engine.layout and engine.fitments.exists():
        raise FleetError(
            "layout_in_use", "layout", "Turbochargers were fitted in the positions of this layout, so it cannot change."
        )
    if assign(engine, changes):
        save_checked(engine, user=user)
    if depot.pk != engine.depot_id:
        require(user, Membership.Role.MANAGER, depot)
        if engine.installations.filter(removed_on=None).exists():
            raise FleetError("follows_truck", "depot", "An engine belongs to the depot of its truck. Move the truck.")
        move_engine(user=user, engine=engine, depot=depot, reason="Moved to another depot")
    return engine


@transaction.atomic
def install_engine(*, user: User, engine: Engine, truck: Truck, installed_on: date) -> Installation:
    """Put an engine into a truck; it and its turbochargers now belong to the truck's depot."""
    for depot in (engine.depot, truck.depot):
        require(user, Membership.Role.TECHNICIAN, depot)
    day_that_was(installed_on, "installed_on")
    if truck.retired_on:
        raise FleetError("truck_retired", "truck", f"Truck {truck} retired on {truck.retired_on:%-d %b %Y}.")
    if installed_on < truck.in_service_on:
        day = f"{truck.in_service_on:%-d %b %Y}"
        raise FleetError("before_service", "installed_on", f"Truck {truck} went into service on {day}, after this.")
    installation = Installation(engine=engine, truck=truck, installed_on=installed_on)
    if not Installation.objects.filter(Q(engine=engine) | Q(truck=truck), removed_on=None).exists():
        _refuse_overlap(engine, truck, installed_on)
    save_checked(installation, user=user)
    move_engine(user=user, engine=engine, depot=truck.depot, reason=f"Installed in truck {truck}")
    return installation


@transaction.atomic
def uninstall_engine(*, user: User, engine: Engine, removed_on: date) -> Installation:
    """Record that an engine came out of its truck; turbochargers stay on it."""
    require(user, Membership.Role.TECHNICIAN, engine.depot)
    day_that_was(removed_on, "removed_on")
    installation = engine.installations.filter(removed_on=None).first()
    if installation is None:
        raise FleetError("not_installed", "engine", f"Engine {engine.serial} sits in no truck.")
    installation.removed_on = removed_on
    save_checked(installation, user=user)
    return installation


def _refuse_overlap(engine: Engine, truck: Truck, installed_on: date) -> None:
    later = Installation.objects.filter(removed_on__gt=installed_on)
    for field, own in (("engine", later.filter(engine=engine)), ("truck", later.filter(truck=truck))):
        other = own.first()
        if other:
            raise FleetError(
                "installation_overlaps", "installed_on",
                f"The {field} was taken by another installation until {other.removed_on:%-d %b %Y}. Give a later day.",
            )  # fmt: skip
