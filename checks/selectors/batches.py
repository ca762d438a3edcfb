"""Travel of a model's units when the plant had set them, and the batches in which they came."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from checks.rules.batches import Batch, batches, intercepts
from checks.rules.epochs import Epochs, Floats, Setting
from checks.selectors.drift import ModelHistory
from fleet.models import Turbocharger


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantSet:
    """One unit in use: its travel when set by the plant, mm, with the variance about the model's mean, mm^2."""

    turbocharger: int
    serial: str
    depot: int
    batch: str
    travel_mm: float
    variance_mm2: float


def plant_set(history: ModelHistory, *, slope_mm: float, theta: Sequence[float]) -> list[PlantSet]:
    """Units read since the plant set them. One query."""
    data = history.epochs
    keys = np.array([life.turbocharger if life else -1 for life in history.lives], dtype=np.int64)
    unit, usage, travel, u = _first_setting(data)
    who, value, variance = intercepts(unit, usage, travel, u, slope_mm=slope_mm, theta=theta)
    known = {
        pk: (serial, depot, batch_label(received_on, origin))
        for pk, serial, depot, received_on, origin in Turbocharger.objects.filter(model=history.model).values_list(
            "pk", "serial", "depot", "received_on", "origin"
        )
    }
    found = zip(keys[who.astype(np.int64)].tolist(), value.tolist(), variance.tolist(), strict=True)
    return [
        PlantSet(
            turbocharger=pk,
            serial=known[pk][0],
            depot=known[pk][1],
            batch=known[pk][2],
            travel_mm=at,
            variance_mm2=spread,
        )
        for pk, at, spread in found
        if pk in known
    ]


def batches_of(units: Sequence[PlantSet]) -> tuple[Batch, ...]:
    """Judge the batches of a model over all its units."""
    return batches(
        [unit.batch for unit in units], [unit.travel_mm for unit in units], [unit.variance_mm2 for unit in units]
    )


def batch_label(received_on: date, origin: str) -> str:
    """Quarter and origin, in words that sort in the order of time, such as ``2025-4-reconditioned``."""
    return f"{received_on.year}-{(received_on.month + 2) // 3}-{origin}"


def _first_setting(data: Epochs) -> tuple[Floats, Floats, Floats, Floats]:
    """Readings of each unit's first epoch, where the plant set it."""
    first = data.first_epoch[data.unit] == data.epoch
    held = first & (data.kind[data.epoch] == Setting.PLANT)
    return data.unit[held].astype(np.float64), data.usage[held], data.travel_mm[held], data.u_mm[held]
