"""A fleet with checks of known truth, written row by row without strokes of its own: for drift, plans and jobs."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

import numpy as np

from checks.models import Assessment, Check, Stroke
from fleet.models import Fitment, Turbocharger
from tests.bay import Bay, make_bay
from tests.factories import EngineFactory, FitmentFactory, InstallationFactory, TruckFactory, TurbochargerFactory

FITTED = date(2024, 1, 1)
KM_PER_DAY = 300.0
U_MM = 0.015


@dataclass
class DriftingFleet:
    """A model's units with the bay in which they are checked; ``drift_mm`` is the truth per 100,000 km."""

    bay: Bay
    units: list[Turbocharger] = field(default_factory=list)
    drift_mm: float = 0.1

    def add_unit(self, *, meters: bool = True, **fitting) -> Turbocharger:
        """One more unit, fitted on 1 January 2024 at 1,000 km (40 h) to a truck of its own."""
        truck, engine = TruckFactory(depot=self.bay.depot), EngineFactory(depot=self.bay.depot)
        InstallationFactory(truck=truck, engine=engine, installed_on=date(2023, 12, 1))
        unit = TurbochargerFactory(depot=self.bay.depot, model=self.bay.turbocharger.model)
        given = {"fitted_odometer_km": 1000.0, "fitted_engine_hours": 40.0} if meters else {}
        FitmentFactory(turbocharger=unit, engine=engine, **({"fitted_on": FITTED} | given | fitting))
        self.units.append(unit)
        return unit

    def add_check(
        self, unit: Turbocharger, day: int, travel_mm: float, *, left_mm: float | None = None, **changes
    ) -> Check:
        """A check so many days after fitting; with ``left_mm`` the rod was turned."""
        bay, hours = self.bay, changes.pop("hours", False)
        state = changes.pop("state", "inside")
        at = datetime.combine(FITTED + timedelta(days=day), datetime.min.time(), UTC) + timedelta(hours=15)
        run = KM_PER_DAY * (day + 0.125)
        meters = {"odometer_km": 1000.0 + run} if not hours else {"engine_hours": 40.0 + run / 50.0}
        row = {
            "turbocharger": unit, "fitment": Fitment.objects.filter(turbocharger=unit).order_by("-fitted_on").first(),
            "depot": bay.depot, "specification": bay.specification, "technician": bay.technician,
            "reason": "scheduled", "made_at": at, "dial": bay.dial, "stimulus_instrument": bay.gauge,
            "cautions_read_at": at, "half_turns": None if left_mm is None else 2, **meters,
        }  # fmt: skip
        check = Check.objects.create(**(row | changes))
        self._judge(check, "as_found", travel_mm, state)
        if left_mm is not None:
            self._judge(check, "as_left", left_mm, "inside")
        return check

    def _judge(self, check: Check, moment: str, travel_mm: float, state: str) -> None:
        void = state == "void"
        Assessment.objects.create(
            stroke=Stroke.objects.create(check_made=check, moment=moment), specification=self.bay.specification,
            state=state, travel_mm=None if void else travel_mm, standard_uncertainty_mm=None if void else U_MM,
            expanded_uncertainty_mm=None if void else 2 * U_MM, p_inside=None if void else 0.99, result={},
            code_version="1",
        )  # fmt: skip


def make_fleet(
    units: int, *, seed: int = 1, drift_mm: float = 0.1, checks: int = 3, hours: bool = False, **model
) -> DriftingFleet:
    """Units checked every 120 days, with a spread of 0.05 mm at the start and 0.03 mm in drift."""
    rng = np.random.default_rng(seed)
    fleet = DriftingFleet(make_bay(**model), drift_mm=drift_mm)
    for _ in range(units):
        unit = fleet.add_unit()
        start, drift = 1.45 + 0.05 * rng.normal(), drift_mm + 0.03 * rng.normal()
        for nth in range(checks):
            day = 100 + 120 * nth + int(rng.integers(0, 20))
            travel = start + drift * KM_PER_DAY * day / 100_000 + 0.01 * rng.normal()
            fleet.add_check(unit, day, travel, hours=hours)
    return fleet
