"""Trucks of which some stood outside and were restored, with months of fuel of known truth."""

from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from checks.models import FuelFit, FuelMonth
from fleet.models import Fitment, Truck, Turbocharger
from tests.bay import make_bay
from tests.drifting_fleet import FITTED, DriftingFleet

FIRST, MONTHS = 12 * 2024, 24
LOW, INSIDE_MM = 0.70, 1.50
GAIN = -0.04


def month_of(day: date) -> int:
    return 12 * day.year + day.month - 1


@dataclass
class RestoredFleet:
    """``restored``: unit to the day on which it was restored."""

    checked: DriftingFleet
    restored: dict[int, date] = field(default_factory=dict)

    def truck_of(self, unit: Turbocharger) -> Truck:
        return Fitment.objects.filter(turbocharger=unit).earliest("fitted_on").engine.installations.get().truck

    def restore(self, day: int, *, left_mm: float = INSIDE_MM, state: str = "outside_low") -> Turbocharger:
        """A unit found outside so many days after 1 January 2024, and its rod turned."""
        unit = self.checked.add_unit()
        self.checked.add_check(unit, day, LOW, left_mm=left_mm, state=state)
        self.restored[unit.pk] = FITTED + timedelta(days=day)
        return unit

    def burn(self, *, seed: int = 1) -> None:
        """Two years of months for every truck: those restored burn 4 % less afterwards."""
        rng = np.random.default_rng(seed)
        fit = FuelFit.objects.create(
            code_version="1", first_month=FIRST, last_month=FIRST + MONTHS - 1, trucks=1, cells=1, trips=1,
            weight_km=1.0, columns="", residual_variance=1.0, estimates={}, plain={}, inputs="",
        )  # fmt: skip
        rows = []
        for unit in self.checked.units:
            day, level = self.restored.get(unit.pk), 3.4 + rng.normal(0, 0.03)
            for month in range(FIRST, FIRST + MONTHS):
                back = day is not None and month > month_of(day)
                rows.append(
                    FuelMonth(
                        fit=fit,
                        truck=self.truck_of(unit),
                        month=month,
                        litres=3000.0,
                        km=9000.0 + 100 * (month % 7),
                        log_fuel=level + GAIN * back + rng.normal(0, 0.006),
                        standard_error=0.004,
                        travel=FuelMonth.Travel.OUTSIDE_LOW if day and not back else FuelMonth.Travel.INSIDE,
                        turbocharger=unit,
                        shortfall_mm=0.2 if day and not back else 0.0,
                        excess_mm=0.0,
                    )
                )
        FuelMonth.objects.bulk_create(rows, batch_size=200)


def make_restored_fleet(*, others: int = 12) -> RestoredFleet:
    """Trucks without a change, to compare with."""
    fleet = RestoredFleet(DriftingFleet(make_bay()))
    for _ in range(others):
        unit = fleet.checked.add_unit()
        fleet.checked.add_check(unit, 200, INSIDE_MM)
    return fleet
