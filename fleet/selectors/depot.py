"""Depots and the people who belong to them."""

from dataclasses import dataclass

from django.db.models import Count, IntegerField, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from fleet.models import Membership, Truck, Turbocharger, User
from fleet.selectors.scope import depots_of, visible_to


@dataclass(frozen=True, slots=True)
class DepotRow:
    """A depot with what it holds and the reader's own role there."""

    pk: int
    code: str
    name: str
    time_zone: str
    checks_per_day: int
    trucks: int
    turbochargers: int
    people: int
    role: str

    @property
    def managed(self) -> bool:
        return self.role == Membership.Role.MANAGER


@dataclass(frozen=True, slots=True)
class PersonRow:
    """What one person may do at one depot."""

    pk: int
    depot: str
    username: str
    name: str
    role: str
    managed: bool


def depot_rows(user: User) -> list[DepotRow]:
    """The depots of `user`, by name; two queries."""
    roles = dict(Membership.objects.filter(user=user).values_list("depot_id", "role"))
    rows = depots_of(user).annotate(
        trucks_held=_held(Truck.objects.filter(retired_on=None)),
        turbochargers_held=_held(Turbocharger.objects.filter(scrapped_on=None)),
        people_held=_held(Membership.objects.order_by()),
    )
    everywhere = Membership.Role.MANAGER if user.is_superuser else ""
    return [
        DepotRow(
            row.pk, row.code, row.name, row.time_zone, row.checks_per_day, row.trucks_held, row.turbochargers_held,
            row.people_held, everywhere or roles.get(row.pk, ""),
        )
        for row in rows.order_by("name")
    ]  # fmt: skip


def person_rows(user: User) -> list[PersonRow]:
    """Everybody at the depots of `user`, by depot and name; two queries."""
    managed = set(depots_of(user, role=Membership.Role.MANAGER).values_list("pk", flat=True))
    rows = visible_to(user, Membership.objects.select_related("depot", "user"))
    return [
        PersonRow(
            row.pk, row.depot.name, row.user.username, row.user.display_name, row.get_role_display(),
            row.depot_id in managed,
        )
        for row in rows.order_by("depot__name", "user__username")
    ]  # fmt: skip


def _held(rows: QuerySet) -> Coalesce:
    counted = rows.filter(depot=OuterRef("pk")).order_by().values("depot").annotate(held=Count("pk")).values("held")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)
