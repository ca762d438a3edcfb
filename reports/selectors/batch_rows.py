"""Batches of a model as its pages show them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from django.core.cache import cache

from checks.display import length
from checks.models import DriftFit
from checks.rules.batches import Batch
from checks.selectors.batches import PlantSet, plant_set
from checks.selectors.drift import model_history
from reports.charts.batches import BatchMark
from reports.words.drift import drift_text

KEPT_SECONDS = 3600
BEGINS, ENDS = ("", "Jan", "Apr", "Jul", "Oct"), ("", "Mar", "Jun", "Sep", "Dec")


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchRow:
    """A batch over the whole fleet; the units named are those of the viewer's depots."""

    batch: Batch
    name: str
    began: date
    departure: str
    mean: str
    units: list[PlantSet] = field(default_factory=list)


def batches_kept(fit: DriftFit) -> list[Batch]:
    """Batches as they were judged with the fit."""
    return [Batch(**row) for row in fit.diagnostics.get("batches", [])]


def batches_with_units(fit: DriftFit, depots: set[int], unit: str) -> list[BatchRow]:
    """Batches with the units at `depots`. What was read is dear to walk through, so it is kept for the fit's life."""
    key = f"plant-set-{fit.pk}-{fit.inputs[:16]}"
    found: list[PlantSet] | None = cache.get(key)
    if found is None:
        history = model_history(fit.turbocharger_model)
        found = plant_set(history, slope_mm=fit.estimates["beta"][2], theta=fit.estimates["theta"])
        cache.set(key, found, KEPT_SECONDS)
    by_batch: dict[str, list[PlantSet]] = {}
    for one in found:
        if one.depot in depots:
            by_batch.setdefault(one.batch, []).append(one)
    return [batch_row(batch, unit, by_batch.get(batch.label, [])) for batch in batches_kept(fit)]


def batch_row(batch: Batch, unit: str, units: Sequence[PlantSet] = ()) -> BatchRow:
    """A batch in the viewer's unit, with the units of it that they may see."""
    year, quarter, origin = batch.label.split("-", 2)
    reach = abs(batch.departure_mm / batch.z) if batch.z else batch.se_mm
    return BatchRow(
        batch=batch,
        name=f"{origin}, received {BEGINS[int(quarter)]} to {ENDS[int(quarter)]} {year}",
        began=date(int(year), 3 * int(quarter) - 1, 15 if origin == "new" else 25),
        departure=drift_text(batch.departure_mm, reach, unit),
        mean=drift_text(batch.mean_mm, batch.se_mm, unit).removeprefix("+"),
        units=sorted(units, key=lambda one: one.serial),
    )


def batch_mark(row: BatchRow, unit: str) -> BatchMark:
    """A batch as the chart draws it."""
    return BatchMark(
        label=row.name,
        began=row.began,
        mean=length(row.batch.mean_mm, unit),
        reach=length(3 * row.batch.se_mm, unit),
        departs=row.batch.departs,
        units=[(one.serial, length(one.travel_mm, unit)) for one in row.units],
    )
