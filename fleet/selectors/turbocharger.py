"""Turbochargers and their models: the lists, and one turbocharger with where it was fitted."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery
from django.http import Http404

from fleet.models import Fitment, Installation, Note, Turbocharger, TurbochargerModel, User
from fleet.selectors.changes import Change, record_of_changes
from fleet.selectors.find import visible_row
from fleet.selectors.scope import visible_to


@dataclass(frozen=True, slots=True)
class TurbochargerRow:
    """A turbocharger in the list, with its place where it is fitted."""

    pk: int
    serial: str
    model: str
    origin: str
    depot: str
    engine: str
    position: str
    truck: str
    scrapped_on: date | None

    @property
    def place(self) -> str:
        """Where it is, in words."""
        if self.scrapped_on:
            return f"scrapped {self.scrapped_on:%-d %b %Y}"
        if not self.engine:
            return "in stock"
        at = f"truck {self.truck}" if self.truck else f"engine {self.engine}, in no truck"
        return at if self.position == Fitment.Position.SINGLE else f"{at}, {self.position}"


@dataclass(frozen=True, slots=True)
class FitmentRow:
    """One fitment, with the truck that the engine sits in now."""

    pk: int
    turbocharger_pk: int
    turbocharger: str
    model: str
    engine_pk: int
    engine: str
    position: str
    fitted_on: date
    fitted_odometer_km: float | None
    removed_on: date | None
    removed_odometer_km: float | None
    removal_reason: str


@dataclass(frozen=True, slots=True)
class TurbochargerDetail:
    """One turbocharger, as its register page shows it; `truck` is where it sits now."""

    turbocharger: Turbocharger
    truck: str
    truck_pk: int | None
    fitments: list[FitmentRow]
    notes: list[Note]
    changes: list[Change]

    @property
    def fitment(self) -> FitmentRow | None:
        return next((row for row in self.fitments if row.removed_on is None), None)


@dataclass(frozen=True, slots=True)
class ModelRow:
    pk: int
    name: str
    stimulus: str
    note: str
    held: int


@dataclass(frozen=True, slots=True)
class ModelDetail:
    """One model, with how many turbochargers of it the reader sees."""

    model: TurbochargerModel
    held: int
    changes: list[Change]


LATEST = 50
# What a list of turbochargers can be narrowed to.
PLACES = {"fitted": "fitted", "stock": "in stock", "scrapped": "scrapped"}


def turbochargers_for(
    user: User, *, find: str = "", depot: int | None = None, model: int | None = None, place: str = ""
) -> QuerySet[Turbocharger]:
    """Turbochargers that match; each carries what `turbocharger_row` needs."""
    fitted = Fitment.objects.filter(turbocharger=OuterRef("pk"), removed_on=None)
    seat = Installation.objects.filter(
        engine__fitments__turbocharger=OuterRef("pk"), engine__fitments__removed_on=None, removed_on=None
    )
    rows = visible_to(user, Turbocharger.objects.select_related("depot", "model")).annotate(
        engine_serial=Subquery(fitted.values("engine__serial")[:1]),
        position_now=Subquery(fitted.values("position")[:1]),
        truck_number=Subquery(seat.values("truck__unit_number")[:1]),
    )
    if depot:
        rows = rows.filter(depot=depot)
    if model:
        rows = rows.filter(model=model)
    if place == "scrapped":
        rows = rows.exclude(scrapped_on=None)
    elif place in PLACES:
        rows = rows.filter(Exists(fitted) if place == "fitted" else ~Exists(fitted), scrapped_on=None)
    if find:
        in_truck = Exists(seat.filter(truck__unit_number__icontains=find))
        rows = rows.filter(Q(serial__icontains=find) | Q(in_truck))
    return rows


def turbocharger_row(row: Any) -> TurbochargerRow:
    """A row of `turbochargers_for` as the list shows it."""
    return TurbochargerRow(
        row.pk, row.serial, row.model.name, row.get_origin_display(), row.depot.name, row.engine_serial or "",
        row.position_now or "", row.truck_number or "", row.scrapped_on,
    )  # fmt: skip


def turbocharger_detail(user: User, pk: int) -> TurbochargerDetail:
    """One turbocharger with its fitments and changes; six queries."""
    row = visible_row(user, Turbocharger.objects.select_related("depot", "model"), pk)
    fitments = fitment_rows(row.fitments.all())
    now = next((fitment.engine_pk for fitment in fitments if fitment.removed_on is None), None)
    seat = Installation.objects.filter(engine=now, removed_on=None).select_related("truck").first() if now else None
    return TurbochargerDetail(
        turbocharger=row,
        truck=seat.truck.unit_number if seat else "",
        truck_pk=seat.truck_id if seat else None,
        fitments=fitments,
        notes=list(row.notes.select_related("author")[:LATEST]),
        changes=record_of_changes(row.history.all(), Fitment.history.filter(turbocharger_id=pk)),
    )


def fitment_rows(rows: QuerySet[Fitment]) -> list[FitmentRow]:
    """Fitments as their lists show them; one query."""
    return [
        FitmentRow(
            row.pk, row.turbocharger_id, row.turbocharger.serial, row.turbocharger.model.name, row.engine_id,
            str(row.engine), row.position, row.fitted_on, row.fitted_odometer_km, row.removed_on,
            row.removed_odometer_km, row.removal_reason,
        )
        for row in rows.select_related("turbocharger__model", "engine")
    ]  # fmt: skip


def model_rows(user: User) -> list[ModelRow]:
    """Every model with how many turbochargers of it `user` sees; two queries."""
    mine = visible_to(user, Turbocharger.objects.order_by()).values_list("model").annotate(Count("pk"))
    held = dict(mine)
    return [
        ModelRow(row.pk, row.name, row.get_stimulus_display(), row.note, held.get(row.pk, 0))
        for row in TurbochargerModel.objects.order_by("name")
    ]


def model_detail(user: User, pk: int) -> ModelDetail:
    """One model with its changes; three queries. Models are shared by all depots."""
    model = TurbochargerModel.objects.filter(pk=pk).first()
    if model is None:
        raise Http404("No such turbocharger model.")
    held = visible_to(user, Turbocharger.objects.filter(model=model)).count()
    return ModelDetail(model, held, record_of_changes(model.history.all()))


def spare_serials(user: User, *, model: int, depot: int, most: int = 200) -> list[str]:
    """Serials of turbochargers in a depot's stock, of one model: suggestions for a swap; one query."""
    rows = turbochargers_for(user, depot=depot, model=model, place="stock")
    return list(rows.order_by("serial").values_list("serial", flat=True)[:most])
