"""How the turbochargers of one model drift: the fit, what stands out, and the units of the viewer's depots."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.http import Http404

from checks.display import chance_text, length
from checks.models import DriftFit, Forecast
from checks.selectors.specification import revisions_in_force
from checks.selectors.usage import SCALES
from fleet.models import TurbochargerModel, User
from fleet.selectors.scope import depots_of
from reports.charts.batches import batches_figure
from reports.charts.model import UnitLine, Units, slopes_figure, units_figure
from reports.selectors.batch_rows import BatchRow, batch_mark, batches_kept, batches_with_units
from reports.selectors.estimates import Estimate, estimates, remarks
from reports.selectors.left_out import LeftOut, left_out
from reports.selectors.models_drift import drift_u
from reports.selectors.places import Place, places_of
from reports.words.drift import PER, drift_text, rests_on

# The table names those at most risk; the board has them all.
LISTED = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitDrift:
    """One unit of the viewer's depots in the table of a model."""

    pk: int
    name: str
    drift: str
    rests_on: str
    chance: str
    jumped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelPage:
    """Everything that the page of a model shows; without a fit only the model."""

    model: TurbochargerModel
    fit: DriftFit | None
    per: str
    drift: str = ""
    units: int = 0
    figure: dict[str, Any] | None = None
    slopes: dict[str, Any] | None = None
    batches: dict[str, Any] | None = None
    batch_rows: list[BatchRow] = field(default_factory=list)
    estimates: list[Estimate] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    at_risk: list[UnitDrift] = field(default_factory=list)
    jumps: list[UnitDrift] = field(default_factory=list)

    @property
    def apart(self) -> list[BatchRow]:
        return [row for row in self.batch_rows if row.batch.departs]


def model_page(*, user: User, pk: int, today: date) -> ModelPage:
    """One model. A constant number of queries.

    Raises
    ------
    Http404 : no such model.
    """
    model = TurbochargerModel.objects.filter(pk=pk).first()
    if model is None:
        raise Http404
    fit = DriftFit.objects.filter(turbocharger_model=model, is_current=True).first()
    if fit is None:
        return ModelPage(model=model, fit=None, per=PER["km"])
    depots = set(depots_of(user).values_list("pk", flat=True))
    held = revisions_in_force([model], today).get(model.pk)
    rows = _forecasts(fit, depots)
    places = places_of([row["turbocharger"] for row in rows])
    unit, drift_mm = user.length_unit, fit.estimates["beta"][2]
    batch_rows = batches_with_units(fit, depots, unit) if batches_kept(fit) else []
    return ModelPage(
        model=model,
        fit=fit,
        per=PER[fit.basis],
        drift=drift_text(drift_mm, drift_u(fit), unit),
        units=len(rows),
        figure=units_figure(_units(rows, places, fit, held, unit)) if rows else None,
        slopes=_slopes(rows, drift_mm, fit, unit),
        batches=batches_figure([batch_mark(row, unit) for row in batch_rows], unit) if batch_rows else None,
        batch_rows=batch_rows,
        estimates=estimates(fit, unit),
        remarks=remarks(fit),
        left_out=left_out(fit, depots),
        at_risk=[_unit(row, places, unit) for row in rows[:LISTED]],
        jumps=[_unit(row, places, unit) for row in rows if row["jumped"]],
    )


def _forecasts(fit: DriftFit, depots: set[int]) -> list[dict[str, Any]]:
    """Forecasts of units in use at `depots`, highest chance outside first. One query."""
    rows = Forecast.objects.filter(
        fit=fit, turbocharger__depot__in=depots, turbocharger__scrapped_on__isnull=True
    ).values(
        "turbocharger", "turbocharger__serial", "usage_now", "travel_now_mm", "drift_mm", "drift_u_mm", "readings",
        "p_below_now", "p_above_now", "jumped",
    )  # fmt: skip
    return sorted(map(dict, rows), key=lambda row: (-_chance(row), row["turbocharger__serial"]))


def _chance(row: dict[str, Any]) -> float:
    return min(1.0, float(row["p_below_now"] + row["p_above_now"]))


def _name(row: dict[str, Any], places: dict[int, Place]) -> str:
    place = places.get(row["turbocharger"])
    return f"{place.unit_number}, {row['turbocharger__serial']}" if place and place.unit_number else str(
        row["turbocharger__serial"]
    )  # fmt: skip


def _units(rows: Sequence[dict[str, Any]], places: dict[int, Place], fit: DriftFit, held: Any, unit: str) -> Units:
    scale = SCALES[fit.basis]  # type: ignore[index]
    lines = [
        UnitLine(
            name=_name(row, places),
            run=round(row["usage_now"]),
            began=round(length(row["travel_now_mm"] - row["drift_mm"] * row["usage_now"] / scale, unit), 5),
            now=round(length(row["travel_now_mm"], unit), 5),
            chance=_chance(row),
            address=f"/units/{row['turbocharger']}/",
        )
        for row in rows
    ]
    plant, _, drift = fit.estimates["beta"]
    window = held and tuple(length(mm, unit) for mm in (held.lower_mm, held.nominal_mm, held.upper_mm))
    return Units(
        lines=lines,
        mean=(length(plant, unit), length(drift, unit) / scale),
        window=window,
        length_unit=unit,
        usage_unit="km" if fit.basis == "km" else "h",
    )


def _slopes(rows: Sequence[dict[str, Any]], mean_mm: float, fit: DriftFit, unit: str) -> dict[str, Any] | None:
    if len(rows) < 3:
        return None
    slopes = [length(row["drift_mm"], unit) for row in rows]
    return slopes_figure(slopes, length(mean_mm, unit), f"{unit} per {PER[fit.basis]}")


def _unit(row: dict[str, Any], places: dict[int, Place], unit: str) -> UnitDrift:
    return UnitDrift(
        pk=row["turbocharger"],
        name=_name(row, places),
        drift=drift_text(row["drift_mm"], row["drift_u_mm"], unit),
        rests_on=rests_on(row["readings"]),
        chance=chance_text(_chance(row)),
        jumped=row["jumped"],
    )
