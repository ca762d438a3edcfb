"""Depots."""

import zoneinfo
from typing import Any

from django.db import transaction

from fleet.models import Depot, Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.saving import assign, save_checked


@transaction.atomic
def add_depot(*, user: User, code: str, name: str, time_zone: str = "UTC", **bay: Any) -> Depot:
    """Add a depot; whoever adds it becomes its manager. `bay` may give checks_per_day and working_days."""
    require(user, Membership.Role.MANAGER)
    depot = Depot(code=code.strip(), name=name.strip(), time_zone=_known_zone(time_zone), **bay)
    save_checked(depot, user=user)
    save_checked(Membership(user=user, depot=depot, role=Membership.Role.MANAGER))
    return depot


@transaction.atomic
def edit_depot(*, user: User, depot: Depot, **changes: Any) -> Depot:
    """Change code, name, time zone or the bay's capacity."""
    require(user, Membership.Role.MANAGER, depot)
    if "time_zone" in changes:
        _known_zone(changes["time_zone"])
    if assign(depot, changes):
        save_checked(depot, user=user)
    return depot


def _known_zone(name: str) -> str:
    if name not in zoneinfo.available_timezones():
        raise FleetError("unknown_time_zone", "time_zone", f"'{name}' is no time zone. Write one like Europe/London.")
    return name
