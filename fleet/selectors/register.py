"""The hub: how much of everything a person's depots hold."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from fleet.models import Engine, Fitment, Installation, Membership, Truck, Turbocharger, TurbochargerModel, User
from fleet.selectors.scope import depots_of, visible_to


@dataclass(frozen=True, slots=True)
class Holdings:
    """Counts at the depots of one person; `spare` are turbochargers neither fitted nor scrapped."""

    depots: int
    people: int
    trucks: int
    trucks_without_engine: int
    engines: int
    models: int
    turbochargers: int
    spare: int


def has_turbochargers(user: User) -> bool:
    """Whether any depot of `user` has a turbocharger that is not scrapped; one query."""
    return visible_to(user, Turbocharger.objects.filter(scrapped_on=None)).exists()


def holdings(user: User) -> Holdings:
    """Count what the register holds for `user`; eight queries, whatever the size."""
    mine = depots_of(user)
    trucks = visible_to(user, Truck.objects.filter(retired_on=None))
    installed = Installation.objects.filter(truck=OuterRef("pk"), removed_on=None)
    turbochargers = visible_to(user, Turbocharger.objects.filter(scrapped_on=None))
    fitted = Fitment.objects.filter(turbocharger=OuterRef("pk"), removed_on=None)
    return Holdings(
        depots=mine.count(),
        people=Membership.objects.filter(depot__in=mine).values("user").distinct().count(),
        trucks=trucks.count(),
        trucks_without_engine=trucks.exclude(Exists(installed)).count(),
        engines=visible_to(user, Engine.objects.all()).count(),
        models=TurbochargerModel.objects.count(),
        turbochargers=turbochargers.count(),
        spare=turbochargers.exclude(Exists(fitted)).count(),
    )
