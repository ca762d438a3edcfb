"""Which units that stood outside were brought back, by the records; and the truck-months that tell what it gave."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from checks.models import Amendment, Assessment, FuelMonth, Restoration
from checks.rules.epochs import Floats, Ints
from fleet.models import Fitment, Installation, User
from fleet.selectors.scope import visible_to

OUTSIDE = (Assessment.State.OUTSIDE_LOW, Assessment.State.OUTSIDE_HIGH)
INSIDE = Assessment.State.INSIDE
# Another unit that comes within so many days came in the place of the one that went.
SOON_DAYS = 14


@dataclass(frozen=True, slots=True)
class Visit:
    """A unit that stood outside and was brought back."""

    truck: int
    turbocharger: int
    day: date
    means: str
    check: int
    fitment: int | None
    side: str
    beyond_mm: float


@dataclass(frozen=True, slots=True)
class Months:
    """Adjusted log fuel use, km, litres, and whether a wastegate stood outside; shapes (trucks, months).

    ``trucks``: primary keys in order; ``first``: the first month, 12 * year + month - 1.
    """

    trucks: Ints
    first: int
    value: Floats
    weight: Floats
    litres: Floats
    outside: np.ndarray


@dataclass(frozen=True, slots=True)
class _Verdict:
    check: int
    day: date
    turned: bool
    moment: str
    state: str
    beyond_mm: float


def visits() -> tuple[list[Visit], dict[int, list[date]]]:
    """Every restoration on record, by day; and the days of every adjustment and swap of each truck. Four queries."""
    verdicts, trucks = _verdicts(), _Trucks()
    fitments = list(Fitment.objects.order_by("engine", "position", "fitted_on", "pk"))
    found: list[Visit] = []
    changed: dict[int, list[date]] = defaultdict(list)
    for place, fitment in enumerate(fitments):
        said = verdicts.get(fitment.pk, [])
        for day, visit in _turned(fitment, said, trucks):
            changed[trucks.of(fitment.engine_id, day)].append(day)
            found += [visit] if visit else []
        after = fitments[place + 1] if place + 1 < len(fitments) else None
        if after and (after.engine_id, after.position) == (fitment.engine_id, fitment.position):
            truck = trucks.of(after.engine_id, after.fitted_on)
            changed[truck].append(after.fitted_on)
            found += _swapped(fitment, after, said, verdicts.get(after.pk, []), truck)
    return sorted((v for v in found if v.truck), key=lambda v: (v.day, v.turbocharger)), dict(changed)


def _turned(fitment: Fitment, said: list[_Verdict], trucks: "_Trucks") -> Iterator[tuple[date, Visit | None]]:
    """Each adjustment, and the restoration that it was, if it was one: found outside, left inside."""
    left = {one.check: one for one in said if one.moment == "as_left"}
    for one in said:
        if one.moment != "as_found" or not one.turned:
            continue
        back = left.get(one.check)
        visit = None
        if one.state in OUTSIDE and back is not None and back.state == INSIDE:
            truck = trucks.of(fitment.engine_id, one.day)
            visit = Visit(truck, fitment.turbocharger_id, one.day, "turned", one.check, None, one.state, one.beyond_mm)
        yield one.day, visit


def _swapped(off: Fitment, on: Fitment, said: list[_Verdict], then: list[_Verdict], truck: int) -> Iterator[Visit]:
    """A unit last judged outside gave way to one that was inside when first looked at."""
    soon = off.removed_on is not None and 0 <= (on.fitted_on - off.removed_on).days <= SOON_DAYS
    if soon and said and said[-1].state in OUTSIDE and then and then[0].state == INSIDE:
        last = said[-1]
        yield Visit(truck, off.turbocharger_id, on.fitted_on, "swapped", last.check, on.pk, last.state, last.beyond_mm)


def _verdicts() -> dict[int, list[_Verdict]]:
    """Verdicts of each fitment in the order made, void ones left out; as found before as left."""
    amended = dict(
        Amendment.objects.filter(field="half_turns").order_by("made_at", "pk").values_list("check_made", "new_value")
    )
    rows = Assessment.objects.filter(is_current=True, stroke__check_made__fitment__isnull=False)
    columns = (
        "stroke__check_made", "stroke__check_made__fitment", "stroke__check_made__made_at",
        "stroke__check_made__half_turns", "stroke__moment", "state", "travel_mm",
        "specification__lower_mm", "specification__upper_mm",
    )  # fmt: skip
    out: dict[int, list[_Verdict]] = defaultdict(list)
    ordered = rows.order_by("stroke__check_made__made_at", "stroke__check_made", "stroke__moment")
    for check, fitment, made_at, turns, moment, state, travel, low, high in ordered.values_list(*columns):
        if state == Assessment.State.VOID or travel is None:
            continue
        turned = bool(amended[check]) and amended[check] not in ("0", 0) if check in amended else bool(turns)
        beyond = max(low - travel, travel - high, 0.0)
        out[fitment].append(_Verdict(check, made_at.date(), turned, moment, state, beyond))
    return out


class _Trucks:
    """Which truck an engine sat in on a day."""

    def __init__(self) -> None:
        self.stays: dict[int, list[tuple[date, date, int]]] = defaultdict(list)
        rows = Installation.objects.order_by("installed_on", "pk")
        for engine, truck, begin, end in rows.values_list("engine", "truck", "installed_on", "removed_on"):
            self.stays[engine].append((begin, end or date.max, truck))

    def of(self, engine: int, day: date) -> int:
        """Primary key of the truck, 0 where the engine sat in none."""
        return next((truck for begin, end, truck in reversed(self.stays[engine]) if begin <= day <= end), 0)


def truck_months() -> Months | None:
    """Every fitted truck-month; None before the first fit. One query."""
    columns = ("truck", "month", "log_fuel", "km", "litres", "travel")
    rows = np.array(list(FuelMonth.objects.order_by("truck", "month").values_list(*columns)), np.float64)
    if not len(rows):
        return None
    trucks, row = np.unique(rows[:, 0].astype(np.int64), return_inverse=True)
    month = rows[:, 1].astype(np.int64)
    first = int(month.min())
    shape = (len(trucks), int(month.max()) - first + 1)
    value, weight, litres = np.full(shape, np.nan), np.zeros(shape), np.zeros(shape)
    outside = np.zeros(shape, bool)
    at = (row, month - first)
    value[at], weight[at], litres[at] = rows[:, 2], rows[:, 3], rows[:, 4]
    outside[at] = rows[:, 5] > FuelMonth.Travel.INSIDE
    return Months(trucks, first, value, weight, litres, outside)


def restorations(user: User, **only: Any) -> Any:
    """Restorations of the trucks that `user` sees, latest first."""
    rows = visible_to(user, Restoration.objects.filter(**only), depot="truck__depot")
    return rows.select_related("truck__depot", "turbocharger__model")
