"""Engines: the list, and one engine with its trucks and turbochargers."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from fleet.models import Engine, Fitment, Installation, User
from fleet.selectors.changes import Change, record_of_changes
from fleet.selectors.find import visible_row
from fleet.selectors.scope import visible_to
from fleet.selectors.truck import InstallationRow, installation_rows
from fleet.selectors.turbocharger import FitmentRow, fitment_rows

SEATS = {Engine.Layout.SINGLE: ("single",), Engine.Layout.TWIN: ("front", "rear")}


@dataclass(frozen=True, slots=True)
class EngineRow:
    """An engine in the list; `fitted` of its `seats` positions hold a turbocharger."""

    pk: int
    serial: str
    model: str
    layout: str
    depot: str
    truck: str
    fitted: int
    seats: int


@dataclass(frozen=True, slots=True)
class EngineDetail:
    """One engine, as its page shows it."""

    engine: Engine
    installations: list[InstallationRow]
    fitments: list[FitmentRow]
    changes: list[Change]

    @property
    def installation(self) -> InstallationRow | None:
        return next((row for row in self.installations if row.removed_on is None), None)

    @property
    def seats(self) -> list[tuple[str, FitmentRow | None]]:
        """Each position with the turbocharger it holds now."""
        held = {row.position: row for row in self.fitments if row.removed_on is None}
        return [(position, held.get(position)) for position in SEATS[Engine.Layout(self.engine.layout)]]


def engines_for(user: User, *, find: str = "", depot: int | None = None) -> QuerySet[Engine]:
    """Engines that match; each carries what `engine_row` needs."""
    rows = visible_to(user, Engine.objects.select_related("depot"))
    if depot:
        rows = rows.filter(depot=depot)
    seat = Installation.objects.filter(engine=OuterRef("pk"), removed_on=None).values("truck__unit_number")[:1]
    fitted = Fitment.objects.filter(engine=OuterRef("pk"), removed_on=None).order_by().values("engine")
    rows = rows.annotate(
        truck_number=Subquery(seat), fitted_now=Subquery(fitted.annotate(held=Count("pk")).values("held"))
    )
    if find:
        rows = rows.filter(Q(serial__icontains=find) | Q(model__icontains=find) | Q(truck_number__icontains=find))
    return rows


def engine_row(row: Any) -> EngineRow:
    """A row of `engines_for` as the list shows it."""
    return EngineRow(
        row.pk, row.serial, row.model, row.get_layout_display(), row.depot.name, row.truck_number or "",
        row.fitted_now or 0, len(SEATS[Engine.Layout(row.layout)]),
    )  # fmt: skip


def engine_detail(user: User, pk: int) -> EngineDetail:
    """One engine with its trucks, turbochargers and changes; six queries."""
    engine = visible_row(user, Engine.objects.select_related("depot"), pk)
    return EngineDetail(
        engine=engine,
        installations=installation_rows(engine.installations.all()),
        fitments=fitment_rows(engine.fitments.all()),
        changes=record_of_changes(
            engine.history.all(), Installation.history.filter(engine_id=pk), Fitment.history.filter(engine_id=pk)
        ),
    )
