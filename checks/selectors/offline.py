"""What a technician takes along without a network: units, specifications, instruments, and sets of them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery

from checks.models import Instrument, SpecificationRevision, Standing
from checks.selectors.fit_sets import sets_of
from checks.selectors.fitness import Tools
from checks.selectors.place import places_of
from checks.selectors.specification import revisions_in_force
from fleet.models import Complaint, Depot, Membership, MeterReading, Turbocharger, User
from fleet.selectors.scope import depots_of, visible_to

# What a tablet holds and a slow line carries; the rest is found with a network.
UNITS_MOST = 1_000
SETS_MOST = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class OfflineUnit:
    """A unit that may be checked, with all that its check needs to know of it; ``last_made_at``: of its last check."""

    turbocharger: Turbocharger
    unit_number: str
    position: str
    specification: SpecificationRevision | None
    standing: Standing | None
    last_made_at: datetime | None
    complaints: tuple[Complaint, ...]
    meter: MeterReading | None


def depots_to_work_at(user: User, code: str = "") -> list[Depot]:
    """Depots where `user` may make checks, or the one named `code`; one query."""
    depots = depots_of(user, role=Membership.Role.TECHNICIAN).order_by("name")
    return list(depots.filter(code=code) if code else depots)


def offline_units(user: User, depots: Iterable[Depot], *, on: date) -> tuple[list[OfflineUnit], int]:
    """Units of `depots`, the soonest due first, and how many more there are; six queries."""
    rows = visible_to(user, Turbocharger.objects.all(), role=Membership.Role.TECHNICIAN)
    rows = rows.filter(depot__in=list(depots), scrapped_on__isnull=True)
    taken = list(_taken(rows)[: UNITS_MOST + 1])
    more = rows.count() - UNITS_MOST if len(taken) > UNITS_MOST else 0
    taken = taken[:UNITS_MOST]
    places = places_of([row.pk for row in taken])
    trucks = {truck for _, _, truck in places.values()}
    complaints, meters = _complaints(trucks), _meters(trucks)
    revisions = revisions_in_force({row.model_id: row.model for row in taken}.values(), on)
    units = []
    for row in taken:
        number, position, truck = places.get(row.pk, ("", "", 0))
        standing = getattr(row, "standing", None)
        shown = standing.shown if standing else None
        units.append(
            OfflineUnit(
                turbocharger=row,
                unit_number=number,
                position=position,
                specification=revisions.get(row.model_id),
                standing=standing,
                last_made_at=shown.stroke.check_made.made_at if shown else None,
                complaints=tuple(complaints.get(truck, ())),
                meter=meters.get(truck),
            )
        )
    return units, more


def offline_instruments(user: User, depots: Iterable[Depot]) -> list[Instrument]:
    """Instruments in use at `depots`, with their certificates; three queries."""
    rows = visible_to(user, Instrument.objects.filter(withdrawn_on__isnull=True, depot__in=list(depots)))
    return list(rows.order_by("depot", "label").prefetch_related("certificates__points"))


def offline_sets(specification: SpecificationRevision, instruments: Iterable[Instrument]) -> list[Tools]:
    """Sets of instruments of one depot that a check by `specification` may be made with; no query."""
    by_depot: dict[int, list[Instrument]] = defaultdict(list)
    for row in instruments:
        by_depot[row.depot_id].append(row)
    return [one for rows in by_depot.values() for one in sets_of(specification, rows)[:SETS_MOST]]


def _taken(rows: QuerySet[Turbocharger]) -> QuerySet[Turbocharger]:
    shown = ("standing__shown__stroke__check_made",)
    ordered = rows.order_by(F("standing__due_on").asc(nulls_last=True), "serial")
    return ordered.select_related("model", "depot", *shown).defer("standing__shown__result", "standing__rules")


def _complaints(trucks: set[int]) -> dict[int, list[Complaint]]:
    found: dict[int, list[Complaint]] = defaultdict(list)
    for row in Complaint.objects.filter(truck__in=trucks, closed_on__isnull=True):
        found[row.truck_id].append(row)
    return found


def _meters(trucks: set[int]) -> dict[int, MeterReading]:
    """The newest reading of each truck's meters."""
    newest = MeterReading.objects.filter(truck=OuterRef("truck")).order_by("-read_at", "-pk").values("pk")[:1]
    rows: Any = MeterReading.objects.filter(truck__in=trucks, pk=Subquery(newest))
    return {row.truck_id: row for row in rows}
