"""Where a turbocharger sits today, and which ones a person may check."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from fleet.models import Complaint, Fitment, Installation, Membership, Truck, Turbocharger, User
from fleet.selectors.scope import visible_to


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a turbocharger is fitted; everything None or empty while it is on the shelf."""

    fitment: Fitment | None = None
    truck: Truck | None = None
    position: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRow:
    """A turbocharger that may be checked, with what tells it from the others."""

    pk: int
    serial: str
    unit_number: str
    position: str
    model: str
    depot: str
    state: str
    due_on: date | None
    why: str
    safety_flag: str


def place_of(turbocharger: Turbocharger) -> Place:
    """The open fitment of `turbocharger` and the truck that carries it; two queries."""
    fitments = Fitment.objects.select_related("engine")
    fitment = fitments.filter(turbocharger=turbocharger, removed_on__isnull=True).first()
    if fitment is None:
        return Place()
    installed = (
        Installation.objects.filter(engine=fitment.engine_id, removed_on__isnull=True).select_related("truck").first()
    )
    return Place(fitment=fitment, truck=installed.truck if installed else None, position=fitment.position)


def open_complaints(truck: Truck | None) -> list[Complaint]:
    """Complaints of `truck` that still wait for a finding; one query."""
    return list(Complaint.objects.filter(truck=truck, closed_on__isnull=True)) if truck else []


def _checkable(user: User) -> QuerySet[Turbocharger]:
    rows = Turbocharger.objects.filter(scrapped_on__isnull=True)
    return visible_to(user, rows, role=Membership.Role.TECHNICIAN)


def units_found(user: User, text: str, *, limit: int = 25) -> list[UnitRow]:
    """Units whose number or serial contains `text`, exact ones first; two queries."""
    fitted = Q(
        fitments__removed_on__isnull=True,
        fitments__engine__installations__removed_on__isnull=True,
        fitments__engine__installations__truck__unit_number__icontains=text,
    )
    rows = _checkable(user).filter(fitted | Q(serial__icontains=text)).distinct()
    found = _rows(rows.order_by("serial")[: 4 * limit])
    exact = text.casefold()

    def order(row: UnitRow) -> tuple[bool, str, str]:
        return exact not in (row.unit_number.casefold(), row.serial.casefold()), row.unit_number, row.serial

    return sorted(found, key=order)[:limit]


def units_due(user: User, *, limit: int = 12) -> list[UnitRow]:
    """Units of own depots to be seen soonest, those overdue first; two queries."""
    rows = _checkable(user).filter(standing__due_on__isnull=False).order_by("standing__due_on", "pk")
    return _rows(rows[:limit])


def _rows(turbochargers: QuerySet[Turbocharger]) -> list[UnitRow]:
    rows = list(turbochargers.select_related("model", "depot", "standing"))
    placed = places_of([row.pk for row in rows])
    return [_row(row, *placed.get(row.pk, ("", "", 0))[:2]) for row in rows]


def places_of(pks: list[int]) -> dict[int, tuple[str, str, int]]:
    """Unit number, position and truck of each turbocharger that is fitted in one today; one query."""
    fitted = Fitment.objects.filter(
        turbocharger__in=pks, removed_on__isnull=True, engine__installations__removed_on__isnull=True
    )
    truck = "engine__installations__truck"
    rows = fitted.values_list("turbocharger", f"{truck}__unit_number", "position", truck)
    return {pk: (number or "", position, truck or 0) for pk, number, position, truck in rows}


def _row(row: Turbocharger, unit_number: str, position: str) -> UnitRow:
    standing = getattr(row, "standing", None)
    return UnitRow(
        pk=row.pk,
        serial=row.serial,
        unit_number=unit_number,
        position=position,
        model=row.model.name,
        depot=row.depot.name,
        state=standing.state if standing else "never_checked",
        due_on=standing.due_on if standing else None,
        why=standing.sentence if standing else "",
        safety_flag=row.safety_flag,
    )
