"""What a person may see and do. Every other selector starts here."""

from typing import TypeVar

from django.contrib.auth.models import AnonymousUser
from django.db.models import Model, QuerySet

from fleet.models import Depot, Membership, User
from fleet.problems import FleetError

M = TypeVar("M", bound=Model)

# In rising order: a manager may do what a technician may, a technician what a viewer may.
RANKS = [Membership.Role.VIEWER, Membership.Role.TECHNICIAN, Membership.Role.MANAGER]


def depots_of(user: User, *, role: str = Membership.Role.VIEWER) -> QuerySet[Depot]:
    """Depots where `user` holds at least `role`; superusers hold every role everywhere."""
    if user.is_superuser:
        return Depot.objects.all()
    enough = RANKS[RANKS.index(Membership.Role(role)) :]
    return Depot.objects.filter(memberships__user=user, memberships__role__in=enough)


def visible_to(
    user: User, rows: QuerySet[M], *, depot: str = "depot", role: str = Membership.Role.VIEWER
) -> QuerySet[M]:
    """`rows` at depots where `user` holds at least `role`; `depot` is the lookup that leads to the depot."""
    if user.is_superuser:
        return rows
    return rows.filter(**{f"{depot}__in": depots_of(user, role=role)})


def holds(user: User | AnonymousUser, role: str, depot: Depot | None = None) -> bool:
    """Whether `user` holds at least `role` at `depot`, or at any depot when none is named."""
    if not user.is_authenticated:
        return False
    # Where there is no depot yet, somebody must be able to add the first.
    if user.is_superuser and depot is None:
        return True
    depots = depots_of(user, role=role)
    return depots.exists() if depot is None else depots.filter(pk=depot.pk).exists()


def require(user: User, role: str, depot: Depot | None = None) -> None:
    """Refuse with 403 unless `user` holds at least `role` at `depot` (anywhere when none is named)."""
    if not holds(user, role, depot):
        if role == Membership.Role.VIEWER and depot is None:
            sentence = "You belong to no depot yet. Ask a manager to add you to yours."
            raise FleetError("not_allowed", "", sentence, status=403)
        where = f" at {depot}" if depot else ""
        raise FleetError(
            "not_allowed", "", f"This needs the role of {role}{where}. Ask a manager of your depot.", status=403
        )
