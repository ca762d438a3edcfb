"""Forming the months of the trucks."""

from typing import Any

from checks.services.fuel_request import request_fuel_fit
from checks.services.moments import form_stale, next_cells
from fleet.jobs.run import Run


def form_moments(run: Run) -> dict[str, Any]:
    """Form the moments of every truck-month whose trips changed; marks set meanwhile are taken along."""
    done = run.chunk or 0
    while cells := next_cells():
        done += len(cells)
        with run.step(chunk=done, done=done, message=f"{done:,} truck-months formed"):
            form_stale(cells)
    request_fuel_fit()
    return {"cells": done}
