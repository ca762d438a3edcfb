"""Units that leave their window at a use drawn from a Weibull life of known truth, checked until they are outside."""

from dataclasses import dataclass

import numpy as np

from fleet.models import Turbocharger, TurbochargerModel
from tests.bay import make_bay
from tests.drifting_fleet import KM_PER_DAY, DriftingFleet

ETA_KM, SHAPE = 160_000.0, 2.0
B10_KM = ETA_KM * (-np.log(0.9)) ** (1 / SHAPE)
INSIDE_MM, LOW_MM = 1.5, 0.7
EVERY_DAYS, CHECKS = 90, 8


@dataclass
class LivingFleet:
    """``checked`` holds the units and the bay."""

    checked: DriftingFleet
    rng: np.random.Generator

    def add(self, units: int, *, eta_km: float = ETA_KM, **unit: object) -> list[Turbocharger]:
        """Units followed from their fitting on; the check that finds one outside is its last."""
        made = []
        for _ in range(units):
            one = self.checked.add_unit()
            Turbocharger.objects.filter(pk=one.pk).update(**unit)
            life, day = eta_km * self.rng.weibull(SHAPE), 0
            for _ in range(CHECKS):
                day += EVERY_DAYS + int(self.rng.integers(-20, 21))
                out = day * KM_PER_DAY > life
                self.checked.add_check(one, day, LOW_MM if out else INSIDE_MM, state="outside_low" if out else "inside")
                if out:
                    break
            made.append(one)
        return made


def make_living_fleet(*, seed: int = 5, model: TurbochargerModel | None = None) -> LivingFleet:
    """A depot without units yet, beside the one of its bay that was never checked."""
    return LivingFleet(DriftingFleet(make_bay(model=model)), np.random.default_rng(seed))
