"""Trips as people look at them: what each depot has, the months that lack, the list."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any

import numpy as np
from django.db import connection
from django.db.models import Count, Max, Min, OuterRef, QuerySet, Subquery, Sum

from fleet.models import Depot, Trip, Truck, User
from fleet.selectors.clock import clock_at, day_in
from fleet.selectors.scope import depots_of, visible_to
from fleet.selectors.trips import month_begins, month_of

# The months of depots that have no trip. The least start after a month's first second is one step in the primary key,
# whatever the number of trips; a plain comparison would let the database read them all.
_LACKING = (
    "SELECT s.column1, s.column2 FROM (VALUES {rows}) s WHERE NOT EXISTS ("
    "SELECT 1 FROM fleet_truck k WHERE k.depot_id = s.column1 AND ("
    "SELECT MIN(t.started_s) FROM fleet_trip t WHERE t.truck_id = k.id AND t.started_s >= s.column2) < s.column3)"
)


@dataclass(frozen=True, slots=True)
class DepotTrips:
    """Trips on record of the trucks that a depot has now; days in the depot's time zone, months in UTC."""

    pk: int
    name: str
    trucks: int
    trips: int
    first_on: date | None
    last_on: date | None
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TripRow:
    """One trip in the list. ``started_at`` is in the depot's time zone."""

    truck_pk: int
    unit_number: str
    started_at: datetime
    zone: str
    duration_s: float
    distance_km: float
    fuel_l: float
    payload_t: float | None
    ascent_m: float | None
    idle_s: float | None
    temperature_c: float | None
    odometer_km: float | None

    @property
    def start(self) -> str:
        return f"{self.started_at:%-d %b %Y, %H:%M}"

    @property
    def duration(self) -> str:
        return time_words(self.duration_s)

    @property
    def idling(self) -> str:
        return "—" if self.idle_s is None else time_words(self.idle_s)

    @property
    def litres_per_100_km(self) -> float:
        return 100 * self.fuel_l / self.distance_km


def depot_trips(user: User) -> list[DepotTrips]:
    """What trips each of the user's depots has; three queries. Counting reads an index of all their trips once."""
    depots = list(depots_of(user).annotate(truck_count=Count("trucks", distinct=True)).order_by("name"))
    of_truck = Trip.objects.filter(truck=OuterRef("pk"))
    # First and last are one step each in the primary key; only the number reads it through.
    trucks = visible_to(user, Truck.objects.order_by()).annotate(
        trip_count=Subquery(of_truck.order_by().values("truck").annotate(n=Count("started_s")).values("n")),
        first=Subquery(of_truck.order_by("started_s").values("started_s")[:1]),
        last=Subquery(of_truck.order_by("-started_s").values("started_s")[:1]),
    )
    sums = trucks.values("depot").annotate(n=Sum("trip_count"), low=Min("first"), high=Max("last"))
    counts = {row["depot"]: (row["n"], row["low"], row["high"]) for row in sums if row["n"]}
    lacking = _lacking([(pk, first, last) for pk, (_, first, last) in counts.items()])
    return [_depot_row(depot, counts.get(depot.pk), lacking.get(depot.pk, ())) for depot in depots]


def trips_for(
    user: User, *, truck: str = "", depot: int | None = None, since: date | None = None, until: date | None = None,
    first_truck: int = 0,
) -> QuerySet[Trip]:  # fmt: skip
    """Trips at the user's depots that begin between two days of UTC, both included.

    A page in the midst of the order of trucks names its `first_truck`, so that those before it are not read.
    """
    trucks = visible_to(user, Truck.objects.order_by())
    if truck:
        trucks = trucks.filter(unit_number__iexact=truck.strip())
    if depot is not None:
        trucks = trucks.filter(depot=depot)
    if first_truck:
        trucks = trucks.filter(pk__gte=first_truck)
    # Without a join the database walks its primary key and sorts nothing, however many trips there are.
    rows = Trip.objects.prefetch_related("truck__depot").filter(truck__in=trucks)
    if since:
        rows = rows.filter(started_s__gte=_first_second(since))
    if until:
        rows = rows.filter(started_s__lt=_first_second(until) + 86_400)
    return rows


def trip_row(trip: Trip) -> TripRow:
    """A trip that came with its truck and depot."""
    zone = trip.truck.depot.time_zone
    return TripRow(
        trip.truck_id, trip.truck.unit_number, clock_at(zone, trip.started_at), zone, trip.duration_s,
        trip.distance_km, trip.fuel_l, trip.payload_t, trip.ascent_m, trip.idle_s, trip.temperature_c,
        trip.odometer_km,
    )  # fmt: skip


def time_words(seconds: float) -> str:
    """A duration in hours and minutes; below an hour in minutes, with a decimal below ten."""
    if seconds < 600:
        return f"{seconds / 60:.3g} min"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def _depot_row(depot: Any, counts: tuple[int, int, int] | None, lacking: tuple[str, ...]) -> DepotTrips:
    trips, first, last = counts or (0, None, None)
    return DepotTrips(
        depot.pk, depot.name, depot.truck_count, trips, _day_of(first, depot), _day_of(last, depot), lacking
    )


def _day_of(second: int | None, depot: Depot) -> date | None:
    if second is None:
        return None
    return day_in(depot.time_zone, datetime.fromtimestamp(second, UTC))


def _first_second(day: date) -> int:
    return int(datetime.combine(day, time(), UTC).timestamp())


def _lacking(spans: Sequence[tuple[int, int, int]]) -> dict[int, tuple[str, ...]]:
    """Names of the months between a depot's first and last trip in which none of its trucks made one; one query."""
    rows: list[int] = []
    for depot, first, last in spans:
        months = np.arange(*month_of(np.array([first, last])).tolist(), dtype=np.int64)[1:]
        for begin, end in zip(month_begins(months).tolist(), month_begins(months + 1).tolist(), strict=True):
            rows += [depot, begin, end]
    if not rows:
        return {}
    marks = ", ".join(["(%s, %s, %s)"] * (len(rows) // 3))
    found: dict[int, tuple[str, ...]] = {}
    with connection.cursor() as cursor:
        cursor.execute(_LACKING.format(rows=marks), rows)
        for depot, begin in sorted(cursor.fetchall()):
            found[depot] = (*found.get(depot, ()), f"{datetime.fromtimestamp(begin, UTC):%b %Y}")
    return found
