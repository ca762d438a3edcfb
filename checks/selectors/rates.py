"""How fast trucks run, from the meters read of late."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Max, Q
from django.utils import timezone

from checks.models import Policy
from checks.models.forecast import Basis
from checks.rules.recheck.rate import LEAST_KM_PER_DAY, use_of
from checks.rules.recheck.unit import Use
from checks.selectors.usage import COLUMNS, fallback_of
from fleet.models import MeterReading

# Reaches past the 90 days over which a rate of use is taken, so that their first reading is at hand too.
METERS_BACK = timedelta(days=120)


@dataclass(frozen=True, slots=True)
class Rates:
    """How fast trucks run: by the road for the rules' distances, and in what drift is counted in."""

    on_road: dict[int, Use]
    in_basis: dict[int, Use]
    unread_road: Use
    unread_basis: Use

    @staticmethod
    def of(trucks: set[int], policy: Policy) -> "Rates":
        """Rates of some trucks; two queries, four where drift is counted in hours."""
        fallback, basis = policy.fallback_km_per_day, policy.usage_basis
        slow = fallback_of(basis, fallback)
        road = _uses(trucks, Basis.KM, fallback)
        return Rates(
            on_road=road,
            in_basis=road if basis == Basis.KM else _uses(trucks, Basis(basis), slow),
            unread_road=Use(km_per_day=fallback, source="fleet"),
            unread_basis=Use(km_per_day=slow, source="fleet"),
        )

    def road(self, truck: int) -> Use:
        return self.on_road.get(truck, self.unread_road)

    def drift(self, truck: int) -> Use:
        return self.in_basis.get(truck, self.unread_basis)


def _uses(trucks: set[int], basis: Basis, fallback: float) -> dict[int, Use]:
    column = COLUMNS[basis]
    read = MeterReading.objects.filter(truck__in=trucks, **{f"{column}__isnull": False})
    newest = read.order_by().values("truck").annotate(at=Max("read_at"))
    ends: dict[int, datetime] = {row["truck"]: row["at"] for row in newest}
    since = max(ends.values(), default=timezone.now()) - METERS_BACK
    # Of a truck that nobody has read for long only the last reading is fetched; it runs at the fleet's rate.
    wanted = Q(read_at__gte=since) | Q(read_at__in=[end for end in ends.values() if end < since])
    rows = read.filter(wanted).order_by("read_at").values_list("truck", "read_at", column, "replaced_meter")
    readings: dict[int, list[tuple[date, float]]] = {}
    for truck, at, meter, replaced in rows:
        before = readings.get(truck)
        if before and replaced and meter < before[-1][1]:
            readings[truck] = []
        readings.setdefault(truck, []).append((timezone.localtime(at).date(), meter))
    least = fallback_of(basis, LEAST_KM_PER_DAY)
    return {truck: use_of(found, fallback_km_per_day=fallback, least=least) for truck, found in readings.items()}
