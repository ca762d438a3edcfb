"""Fuel against travel, and what rests on it."""

from typing import Any

from checks.services.complaint_study import study_complaints
from checks.services.fuel import prepare_fuel, store_fuel
from checks.services.restoration import find_restorations
from fleet.jobs.registry import kinds
from fleet.jobs.requests import enqueue
from fleet.jobs.run import Run

AFTER_FUEL = ("restorations", "correlate-complaints")


def fit_fuel(run: Run) -> dict[str, Any]:
    """Fit the fleet's fuel against travel, then have done what rests on it."""
    run.beat(message="reading truck-months and travel")
    prepared = prepare_fuel()
    months = len(prepared.sheet.cells.truck) if prepared.sheet else 0
    with run.step(chunk=prepared.inputs, done=months, total=months, message=f"{months:,} truck-months"):
        fit = store_fuel(prepared)
    for kind in AFTER_FUEL:
        if kind in kinds():
            enqueue(kind=kind, arguments={}, key=kind)
    return {"fit": fit and fit.pk, "months": months}


def tell_restorations(run: Run) -> dict[str, Any]:
    """Find what was brought back into its window, and tell what that gave back in fuel."""
    with run.step(chunk="kept", done=1, total=1, message="restorations told"):
        return {"restorations": find_restorations()}


def correlate_complaints(run: Run) -> dict[str, Any]:
    """Set the fleet's fuel complaints against the travel of their trucks, at every lag."""
    with run.step(chunk="kept", done=1, total=1, message="complaints set against travel"):
        study = study_complaints()
    return {"study": study and study.pk, "complaints": len(study.complaints) if study else 0}
