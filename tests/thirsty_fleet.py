"""Trucks whose wastegates leave their window and burn more for it: checks and truck-months of known truth."""

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from checks.models import TruckMonth
from checks.rules.moments import COLUMNS, columns_of, form_cells
from checks.services.drift import refit
from fleet.models import Truck, Turbocharger
from tests.bay import make_bay
from tests.drifting_fleet import FITTED, DriftingFleet

MONTHS = 12
EFFECT = np.array([0.012, 0.015, -0.009, 0.00009, 0.35, -0.002])


@dataclass
class ThirstyFleet:
    """Units by how they stand, with the truck of each; ``per_mm`` is the planted effect of shortfall and of excess."""

    checked: DriftingFleet
    per_mm: tuple[float, float] = (0.20, 0.15)
    trucks: dict[int, Truck] = field(default_factory=dict)
    lines: dict[int, tuple[float, float]] = field(default_factory=dict)

    @property
    def window(self) -> tuple[float, float]:
        row = self.checked.bay.specification
        return row.lower_mm, row.upper_mm

    def add(self, start_mm: float, per_year_mm: float, *, checks: int = 4) -> Turbocharger:
        """A unit that begins at a travel and moves so much a year."""
        unit = self.checked.add_unit()
        self.lines[unit.pk] = (start_mm, per_year_mm)
        self.trucks[unit.pk] = unit.fitments.get().engine.installations.get().truck
        for day in np.linspace(60, 700, checks).astype(int).tolist():
            self.checked.add_check(unit, day, start_mm + per_year_mm * day / 365, state="inside")
        return unit

    def travel(self, unit: Turbocharger, day: float) -> float:
        start, per_year = self.lines[unit.pk]
        return start + per_year * day / 365

    def drive(
        self, *, months: int = MONTHS, per_month: int = 20, seed: int = 1, first: date = date(2025, 1, 1)
    ) -> None:
        """Write truck-months, ``first`` one and on, of trips that burn what load, climb and the wastegate ask."""
        rng = np.random.default_rng(seed)
        low, high = self.window
        truck, month, rows, weight, litres = [], [], [], [], []
        begin = 12 * first.year + first.month - 1
        for pk, one in sorted(self.trucks.items(), key=lambda pair: pair[1].pk):
            level = rng.normal(0, 0.05)
            for nth in range(months):
                middle = date((begin + nth) // 12, (begin + nth) % 12 + 1, 15)
                travel = self.lines[pk][0] + self.lines[pk][1] * (middle - FITTED).days / 365
                out = self.per_mm[0] * max(0.0, low - travel) + self.per_mm[1] * max(0.0, travel - high)
                block, km = trips(rng, per_month, level + out + rng.normal(0, 0.003))
                truck += [one.pk] * per_month
                month += [begin + nth] * per_month
                rows.append(block)
                weight.append(km)
                litres.append(np.exp(block[:, 0] + np.log(32.0)) * km / 100)
        cells = form_cells(np.array(truck), np.array(month), *(np.concatenate(part) for part in (rows, weight, litres)))
        keep_cells(cells)


def trips(rng, n: int, level: float) -> tuple[np.ndarray, np.ndarray]:
    """Columns and km of trips whose fuel is known but for noise of 2 %."""
    km, hours = rng.uniform(80, 400, n), rng.uniform(2, 6, n)
    hours = np.maximum(hours, km / 85)
    made = (rng.uniform(5, 26, n), rng.uniform(0, 15, n) * km, hours, rng.uniform(0, 0.3, n) * hours)
    rows = columns_of(np.ones(n), km, made[0], made[1], made[2], made[3], rng.uniform(-5, 25, n))
    rows[:, 0] = level + rows[:, 1:] @ EFFECT + rng.normal(0, 0.02, n)
    return rows, km


def keep_cells(cells) -> None:
    """Store moments as the job that forms them does."""
    flat = cells.products.reshape(len(cells.weight), -1)
    blobs = np.concatenate([cells.sums, flat], axis=1).astype("<f8")
    TruckMonth.objects.bulk_create(
        (
            TruckMonth(
                truck_id=truck, month=month, rows=rows, weight_km=km, litres=litres, columns=",".join(COLUMNS),
                moments=blob.tobytes(),
            )
            for truck, month, rows, km, litres, blob in zip(
                cells.truck.tolist(), cells.month.tolist(), cells.rows.tolist(), cells.weight.tolist(),
                cells.litres.tolist(), blobs, strict=True,
            )
        ),
        batch_size=500,
    )  # fmt: skip


def make_thirsty_fleet(*, inside: int = 20, low: int = 8, high: int = 6, seed: int = 1, **bay) -> ThirstyFleet:
    """Units that stay inside, that sink below, and that rise above their window within two years; drift is fitted."""
    rng = np.random.default_rng(seed)
    fleet = ThirstyFleet(DriftingFleet(make_bay(**bay)))
    lower, upper = fleet.window
    middle = (lower + upper) / 2
    for _ in range(inside):
        fleet.add(middle + 0.03 * rng.normal(), 0.02 * rng.normal())
    for _ in range(low):
        fleet.add(lower + 0.25 + 0.05 * rng.normal(), -0.22 - 0.05 * rng.random())
    for _ in range(high):
        fleet.add(upper - 0.25 + 0.05 * rng.normal(), 0.22 + 0.05 * rng.random())
    refit()
    return fleet
