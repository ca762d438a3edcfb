"""How fresh the data of each depot is, and what was last derived from it: for those who run the installation."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import connection
from django.db.models import Max, OuterRef, Subquery

from checks.models import ComplaintStudy, DriftFit, FuelFit, Standing
from fleet.models import Depot, Trip, Truck
from fleet.selectors.upkeep import last_done

# What the beat does each day by itself.
DAILY = ("sweep", "morning-mail")


@dataclass(frozen=True, slots=True)
class DepotRow:
    """When a depot last sent something, and when its units were last planned; None is never."""

    name: str
    checked_at: datetime | None
    drove_at: datetime | None
    planned_at: datetime | None


@dataclass(frozen=True, slots=True)
class FitRow:
    """A derived thing that is current: of what, since when, from how much."""

    what: str
    made_at: datetime
    made_from: str


def fresh_depots() -> list[DepotRow]:
    """Every depot by name; three queries. A truck's last trip is one step in the primary key."""
    last_trip = Trip.objects.filter(truck=OuterRef("pk")).order_by("-started_s").values("started_s")[:1]
    trucks = Truck.objects.order_by().annotate(last=Subquery(last_trip)).values("depot")
    drove: dict[int, int] = dict(trucks.annotate(latest=Max("last")).values_list("depot", "latest"))
    standings = Standing.objects.order_by().values("turbocharger__depot")
    planned = dict(standings.annotate(latest=Max("derived_at")).values_list("turbocharger__depot", "latest"))
    depots: Any = Depot.objects.annotate(checked_at=Max("checks__recorded_at")).order_by("name")
    return [
        DepotRow(depot.name, depot.checked_at, _moment(drove.get(depot.pk)), planned.get(depot.pk)) for depot in depots
    ]


def current_fits() -> list[FitRow]:
    """The fits and studies that pages show now; three queries."""
    drift = DriftFit.objects.filter(is_current=True).select_related("turbocharger_model")
    rows = [FitRow(f"drift of {fit.turbocharger_model}", fit.made_at, f"{fit.readings:,} readings") for fit in drift]
    rows.sort(key=lambda row: row.what)
    for fuel in FuelFit.objects.filter(is_current=True):
        rows.append(FitRow("fuel use", fuel.made_at, f"{fuel.cells:,} truck-months"))
    for study in ComplaintStudy.objects.filter(is_current=True):
        rows.append(FitRow("complaints against travel", study.made_at, f"{len(study.complaints):,} complaints"))
    return rows


def daily_work() -> list[tuple[str, datetime | None]]:
    """When each of the day's own jobs was last done; one query."""
    done = last_done(list(DAILY))
    return [(kind, done.get(kind)) for kind in DAILY]


def database_version() -> str:
    """Which database this is; SQLite is asked for nothing, PostgreSQL said it when it was reached."""
    version = connection.pg_version if connection.vendor == "postgresql" else connection.Database.sqlite_version  # type: ignore[attr-defined]
    words = f"{version // 10_000}.{version % 10_000}" if connection.vendor == "postgresql" else version
    return f"{connection.display_name} {words}"


def _moment(seconds: int | None) -> datetime | None:
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)
