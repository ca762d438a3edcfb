"""Where one turbocharger was, stay by stay."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch

from checks.display import distance_text
from fleet.models import Fitment, Installation, Truck, Turbocharger
from reports.selectors.usage import Stay


@dataclass(frozen=True, slots=True, kw_only=True)
class FitmentRow:
    """One stay on an engine; odometers in the viewer's unit, empty where not read."""

    pk: int
    engine: str
    position: str
    fitted_on: date
    removed_on: date | None
    fitted_at: str
    removed_at: str
    removal_reason: str
    trucks: tuple[Truck, ...]
    truck_now: Truck | None
    stay: Stay


def fitment_rows(unit: Turbocharger, *, distance_unit: str) -> list[FitmentRow]:
    """Stays of `unit`, latest first, with the trucks that carried the engine meanwhile. Two queries."""
    installations = Installation.objects.select_related("truck").order_by("installed_on")
    fitments = unit.fitments.select_related("engine").prefetch_related(
        Prefetch("engine__installations", installations, to_attr="held")
    )
    return [_row(fitment, distance_unit) for fitment in fitments]


def _row(fitment: Fitment, unit: str) -> FitmentRow:
    held = _overlapping(fitment)
    now = next((row.truck for row in held if row.removed_on is None), None)
    return FitmentRow(
        pk=fitment.pk,
        engine=str(fitment.engine),
        position=fitment.get_position_display(),
        fitted_on=fitment.fitted_on,
        removed_on=fitment.removed_on,
        fitted_at=_read(fitment.fitted_odometer_km, unit),
        removed_at=_read(fitment.removed_odometer_km, unit),
        removal_reason=fitment.removal_reason,
        trucks=tuple(row.truck for row in held),
        truck_now=now if fitment.removed_on is None else None,
        stay=Stay(
            fitment=fitment.pk,
            began=fitment.fitted_on,
            from_km=fitment.fitted_odometer_km,
            to_km=fitment.removed_odometer_km,
        ),
    )


def _overlapping(fitment: Fitment) -> list[Installation]:
    """Installations of the engine while the turbocharger was on it."""
    held: list[Installation] = fitment.engine.held  # type: ignore[attr-defined]
    end = fitment.removed_on or date.max
    return [row for row in held if row.installed_on <= end and (row.removed_on or date.max) >= fitment.fitted_on]


def _read(km: float | None, unit: str) -> str:
    return distance_text(km, unit) if km is not None else ""
