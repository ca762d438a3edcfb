"""A person's depots, and where they may do more than look."""

from typing import Any

from django.db.models import Exists, OuterRef

from fleet.models import Depot, Membership, User
from fleet.selectors.scope import RANKS, depots_of


def depots_by_name(user: User, *, role: str = Membership.Role.VIEWER) -> list[Depot]:
    """The depots where `user` holds at least `role`; one query."""
    return list(depots_of(user, role=role).order_by("name").distinct())


def depots_and_work(user: User) -> tuple[list[Depot], frozenset[str]]:
    """The depots of `user` by name, and the names of those where a technician's work is theirs; one query."""
    held = Membership.objects.filter(user=user, depot=OuterRef("pk"), role__in=RANKS[1:])
    rows: list[Any] = list(depots_of(user).annotate(works=Exists(held)).order_by("name").distinct())
    return rows, frozenset(row.name for row in rows if row.works or user.is_superuser)
