"""Three people of one depot, and a stranger from another."""

from dataclasses import dataclass

import pytest

from fleet.models import Depot, Membership, User
from tests.factories import DepotFactory, MembershipFactory, UserFactory


@dataclass(frozen=True)
class Crew:
    """A depot with its people; `stranger` manages another depot."""

    depot: Depot
    manager: User
    technician: User
    viewer: User
    stranger: User


def person(depot: Depot, role: str, username: str) -> User:
    user = UserFactory(username=username)
    MembershipFactory(user=user, depot=depot, role=role)
    return user


@pytest.fixture
def crew(db) -> Crew:
    depot, other = DepotFactory(code="SALT", name="Saltmarsh"), DepotFactory(code="BRAE", name="Brae End")
    role = Membership.Role
    return Crew(
        depot,
        person(depot, role.MANAGER, "marram"),
        person(depot, role.TECHNICIAN, "sedge"),
        person(depot, role.VIEWER, "dunlin"),
        person(other, role.MANAGER, "plover"),
    )
