"""Where turbochargers are fitted today."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import FilteredRelation, Q

from fleet.models import Fitment


@dataclass(frozen=True, slots=True)
class Place:
    """An engine's position, and the truck that the engine is in, if any."""

    position: str
    engine: str
    unit_number: str
    truck: int | None


def name_of(place: Place | None, serial: str, *, side: bool = False) -> str:
    """What people call a unit: its truck's unit number, or its serial number while it is in none.

    With `side`, which of an engine's two it is stands behind.
    """
    name = (place.unit_number if place else "") or serial
    return f"{name} {place.position}" if side and place and place.position != "single" else name


def places_of(turbochargers: Iterable[int]) -> dict[int, Place]:
    """Today's place of each turbocharger that is fitted, by primary key. One query."""
    rows = (
        Fitment.objects.filter(turbocharger__in=list(turbochargers), removed_on__isnull=True)
        .annotate(
            now=FilteredRelation("engine__installations", condition=Q(engine__installations__removed_on__isnull=True))
        )
        .values_list("turbocharger", "position", "engine__serial", "now__truck", "now__truck__unit_number")
        .order_by()
    )
    return {row[0]: Place(row[1], row[2], row[4] or "", row[3]) for row in rows}
