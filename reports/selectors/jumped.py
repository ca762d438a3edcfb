"""Units with a reading far from its forecast."""

from collections.abc import Sequence
from dataclasses import dataclass

from checks.models import Forecast

LISTED = 5


@dataclass(frozen=True, slots=True)
class Jumped:
    """A unit whose travel jumped between two readings."""

    pk: int
    serial: str


def jumped_units(depots: Sequence[int], model: int | None = None, *, listed: int = LISTED) -> list[Jumped]:
    """Units in use at `depots` that jumped in their present setting, at most `listed` and one more. One query."""
    rows = Forecast.objects.filter(jumped=True, turbocharger__depot__in=depots, turbocharger__scrapped_on__isnull=True)
    if model:
        rows = rows.filter(turbocharger__model=model)
    found = rows.order_by("turbocharger__serial").values_list("turbocharger", "turbocharger__serial")
    return [Jumped(pk, serial) for pk, serial in found[: listed + 1]]
