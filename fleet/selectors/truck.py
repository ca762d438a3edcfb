"""Trucks: the list, and one truck with all that happened to it."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Count, IntegerField, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from fleet.models import Complaint, Fitment, Installation, MeterReading, Truck, User
from fleet.models.vin import VinWord, word_for
from fleet.selectors.changes import Change, record_of_changes
from fleet.selectors.find import visible_row
from fleet.selectors.scope import visible_to
from fleet.selectors.turbocharger import FitmentRow, fitment_rows

LATEST = 20


@dataclass(frozen=True, slots=True)
class TruckRow:
    """A truck in the list; the odometer is the latest known, in km."""

    pk: int
    unit_number: str
    depot: str
    description: str
    vin: str
    vin_word: str
    engine: str
    odometer_km: float | None
    open_complaints: int
    retired_on: date | None


@dataclass(frozen=True, slots=True)
class MeterRow:
    read_at: datetime
    odometer_km: float | None
    odometer_typed: str
    engine_hours: float | None
    replaced_meter: bool
    source: str
    who: str


@dataclass(frozen=True, slots=True)
class ComplaintRow:
    pk: int
    kind: str
    raised_on: date
    raised_by: str
    text: str
    finding: str
    closed_on: date | None


@dataclass(frozen=True, slots=True)
class InstallationRow:
    engine_pk: int
    engine: str
    truck_pk: int
    truck: str
    installed_on: date
    removed_on: date | None


@dataclass(frozen=True, slots=True)
class TruckDetail:
    """One truck, as its page shows it."""

    truck: Truck
    vin: VinWord
    installations: list[InstallationRow]
    fitted: list[FitmentRow]
    meters: list[MeterRow]
    complaints: list[ComplaintRow]
    changes: list[Change]

    @property
    def engine(self) -> InstallationRow | None:
        return next((row for row in self.installations if row.removed_on is None), None)

    @property
    def open_complaints(self) -> int:
        return sum(row.closed_on is None for row in self.complaints)


def trucks_for(user: User, *, find: str = "", depot: int | None = None, retired: bool = False) -> QuerySet[Truck]:
    """Trucks in service (or retired) that match; each carries what `truck_row` needs."""
    rows = visible_to(user, Truck.objects.filter(retired_on__isnull=not retired)).select_related("depot")
    if depot:
        rows = rows.filter(depot=depot)
    if find:
        rows = rows.filter(Q(unit_number__icontains=find) | Q(vin__icontains=find) | Q(description__icontains=find))
    engine = Installation.objects.filter(truck=OuterRef("pk"), removed_on=None).values("engine__serial")[:1]
    km = MeterReading.objects.filter(truck=OuterRef("pk"), odometer_km__isnull=False).order_by("-read_at")
    open_ones = Complaint.objects.filter(truck=OuterRef("pk"), closed_on=None).order_by().values("truck")
    counted = Subquery(open_ones.annotate(held=Count("pk")).values("held"), output_field=IntegerField())
    return rows.annotate(
        engine_serial=Subquery(engine),
        latest_km=Subquery(km.values("odometer_km")[:1]),
        complaints_open=Coalesce(counted, 0),
    )


def truck_row(truck: Any) -> TruckRow:
    """A row of `trucks_for` as the list shows it."""
    word = word_for(truck.vin, check_digit_required=truck.check_digit == Truck.CheckDigit.REQUIRED).word
    return TruckRow(
        truck.pk, truck.unit_number, truck.depot.name, truck.description, truck.vin, word, truck.engine_serial or "",
        truck.latest_km, truck.complaints_open, truck.retired_on,
    )  # fmt: skip


def truck_detail(user: User, pk: int) -> TruckDetail:
    """One truck with its engines, turbochargers, meters, complaints and changes; nine queries."""
    truck = visible_row(user, Truck.objects.select_related("depot"), pk)
    installations = installation_rows(truck.installations.all())
    now = [row.engine_pk for row in installations if row.removed_on is None]
    return TruckDetail(
        truck=truck,
        vin=word_for(truck.vin, check_digit_required=truck.check_digit == Truck.CheckDigit.REQUIRED),
        installations=installations,
        fitted=fitment_rows(Fitment.objects.filter(engine__in=now, removed_on=None).order_by("position")),
        meters=[_meter(row) for row in truck.meter_readings.select_related("recorded_by")[:LATEST]],
        complaints=[_complaint(row) for row in truck.complaints.all()],
        changes=record_of_changes(
            truck.history.all(),
            Installation.history.filter(truck_id=pk),
            MeterReading.history.filter(truck_id=pk),
            Complaint.history.filter(truck_id=pk),
        ),
    )


def installation_rows(rows: QuerySet[Installation]) -> list[InstallationRow]:
    """Which engine sat in which truck, latest first; one query."""
    return [
        InstallationRow(
            row.engine_id, str(row.engine), row.truck_id, row.truck.unit_number, row.installed_on, row.removed_on
        )
        for row in rows.select_related("engine", "truck").order_by("-installed_on", "-pk")
    ]


def _meter(row: MeterReading) -> MeterRow:
    who = row.recorded_by.display_name if row.recorded_by else ""
    return MeterRow(
        row.read_at, row.odometer_km, row.odometer_typed, row.engine_hours, row.replaced_meter, row.source, who
    )


def _complaint(row: Complaint) -> ComplaintRow:
    return ComplaintRow(
        row.pk, row.get_kind_display(), row.raised_on, row.raised_by, row.text, row.finding, row.closed_on
    )
