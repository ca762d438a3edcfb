"""Who belongs to which depot, and what each person may do there."""

from typing import Any

from django.db import transaction

from fleet.models import Depot, Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import require
from fleet.services.passwords import take_password
from fleet.services.saving import assign, save_checked

PREFERENCES = {"pressure_unit", "length_unit", "distance_unit", "theme", "email", "morning_mail"}


@transaction.atomic
def add_person(
    *, user: User, depot: Depot, username: str, role: str, first_name: str = "", last_name: str = "", password: str = ""
) -> Membership:
    """Let a person work at a depot; somebody who has no sign-in yet gets one with the given first password."""
    require(user, Membership.Role.MANAGER, depot)
    username = username.strip()
    person = User.objects.filter(username__iexact=username).first()
    if person is None:
        names = {"first_name": first_name.strip(), "last_name": last_name.strip()}
        person = new_person(username=username, password=password, **names)
    elif password:
        raise FleetError(
            "person_exists", "password", f"'{username}' signs in already and keeps the own password. Leave this empty."
        )
    membership = Membership(user=person, depot=depot, role=role)
    save_checked(membership)
    return membership


@transaction.atomic
def change_role(*, user: User, membership: Membership, role: str) -> Membership:
    """Give a person another role at a depot."""
    require(user, Membership.Role.MANAGER, membership.depot)
    if role != Membership.Role.MANAGER:
        _keep_a_manager(membership)
    membership.role = role
    save_checked(membership)
    return membership


@transaction.atomic
def end_membership(*, user: User, membership: Membership) -> None:
    """Take a person off a depot; what the person recorded stays."""
    require(user, Membership.Role.MANAGER, membership.depot)
    _keep_a_manager(membership)
    membership.delete()


def set_preferences(*, user: User, **wanted: Any) -> User:
    """Keep how a person wants to read and be told: pressure_unit, length_unit, distance_unit, theme, email,
    morning_mail; what is not given stays.
    """
    unknown = set(wanted) - PREFERENCES
    if unknown:
        raise TypeError(f"No preferences: {sorted(unknown)}")
    differs = assign(user, wanted)
    if user.morning_mail and not user.email:
        raise FleetError("mail_address_needed", "email", "Give the address to which the morning mail goes.")
    if differs:
        save_checked(user)
    return user


def new_person(*, username: str, password: str, **facts: Any) -> User:
    """Let somebody sign in who could not before, with a first password."""
    person = User(username=username.strip(), **facts)
    if not password:
        raise FleetError("password_needed", "password", f"Nobody signs in as '{username}' yet. Give a first password.")
    take_password(person, password, field="password")
    save_checked(person)
    return person


def _keep_a_manager(membership: Membership) -> None:
    if membership.role != Membership.Role.MANAGER:
        return
    others = Membership.objects.select_for_update().filter(depot=membership.depot, role=Membership.Role.MANAGER)
    if not others.exclude(pk=membership.pk).exists():
        raise FleetError(
            "last_manager", "role", f"{membership.depot} would have no manager left. Make somebody else manager first."
        )
