"""What restored units gave back: event by event, and all together."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.stats import t as student

from checks.models import FuelFit, Restoration
from checks.rules.restoration import Pooled, random_effects
from checks.selectors.fuel import Amount, current_fit
from checks.selectors.restoration import restorations
from fleet.models import Depot, User
from reports.selectors.depots import depots_by_name


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """One truck brought back. ``change`` is a share of fuel (-0.03 is 3 % less), None with a ``reason``.

    ``saved_litres`` since then, from the fuel burnt since.
    """

    truck: int
    unit_number: str
    turbocharger: int
    serial: str
    depot: str
    model: str
    day: date
    check: int
    means: str
    units: int
    side: str
    beyond_mm: float
    months_before: int
    months_after: int
    controls: int
    log_change: float | None
    log_error: float | None
    change: Amount | None
    saved_litres: Amount | None
    reason: str

    @property
    def weight(self) -> float:
        """Its share in a mean grows with this."""
        return 1 / self.log_error**2 if self.log_error else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RestoredPage:
    """Everything that the page shows: ``told`` events, ``untold`` ones with their reasons, and their mean."""

    fit: FuelFit | None
    told: list[Restored]
    untold: list[Restored]
    pooled: Pooled | None
    mean: Amount | None
    saved_litres: Amount | None
    depots: list[Depot]


def restored_page(*, user: User, depot: int | None = None) -> RestoredPage:
    """The page as `user` may see it; three queries."""
    rows = list(restored_rows(user=user, depot=depot))
    told = [row for row in rows if row.change]
    pooled, mean = mean_of(told)
    return RestoredPage(
        fit=current_fit(),
        told=told,
        untold=[row for row in rows if not row.change],
        pooled=pooled,
        mean=mean,
        saved_litres=saved_together(told),
        depots=depots_by_name(user),
    )


def restored_rows(*, user: User, depot: int | None = None) -> Iterator[Restored]:
    """Every restoration, latest first; one query."""
    for row in restorations(user, **({"truck__depot": depot} if depot else {})):
        yield restored_of(row)


def restored_of(row: Restoration) -> Restored:
    """One restoration with its limits."""
    change = saved = None
    if row.change is not None and row.standard_error is not None and row.dof is not None:
        half = float(student.ppf(0.975, row.dof)) * row.standard_error
        logs = (row.change, row.change - half, row.change + half)
        change = Amount(*(float(np.expm1(x)) for x in logs))
        # Without it the same months would have burnt exp(-change) as much.
        saved = Amount(*(row.litres_since * float(np.expm1(-x)) for x in (logs[0], logs[2], logs[1])))
    return Restored(
        truck=row.truck_id, unit_number=row.truck.unit_number, turbocharger=row.turbocharger_id,
        serial=row.turbocharger.serial, depot=row.truck.depot.name, model=row.turbocharger.model.name, day=row.day,
        check=row.check_made_id, means=row.get_means_display(), units=row.units, side=row.side,
        beyond_mm=row.beyond_mm, months_before=row.months_before, months_after=row.months_after,
        controls=row.controls, log_change=row.change, log_error=row.standard_error, change=change,
        saved_litres=saved, reason=row.reason,
    )  # fmt: skip


def mean_of(told: list[Restored]) -> tuple[Pooled | None, Amount | None]:
    """The mean change of events that can be told, and the same as a share; None of fewer than two."""
    if len(told) < 2:
        return None, None
    pooled = random_effects([row.log_change or 0.0 for row in told], [(row.log_error or 0.0) ** 2 for row in told])
    return pooled, Amount(*(float(np.expm1(x)) for x in (pooled.mean, pooled.low, pooled.high)))


def saved_together(told: list[Restored]) -> Amount | None:
    """Sum over events, each with its own error; events share controls, which the page says."""
    amounts = [row.saved_litres for row in told if row.saved_litres]
    if not amounts:
        return None
    total = sum(amount.value for amount in amounts)
    half = float(np.sqrt(sum(((amount.high - amount.low) / 2) ** 2 for amount in amounts)))
    return Amount(total, total - half, total + half)
