"""Truck-months with their fuel complaints, as the rules set them against travel, and the study kept of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from django.utils import timezone

from checks.models import ComplaintStudy, FuelMonth
from checks.rules.complaints import Travel, TruckMonths
from checks.rules.epochs import Ints
from checks.selectors.days import month_of
from fleet.models import Complaint, Truck, Turbocharger

KIND = Complaint.Kind.FUEL


@dataclass(frozen=True, slots=True)
class StudyTable:
    """Every truck of the study in every month of it, sorted by truck and month.

    ``unit``: turbocharger of each row, 0 where not known; ``strata``: (model, depot) by number of `months.stratum`,
    primary keys, 0 where the model is not known; ``complaints``: (complaint, truck, row), row -1 before the study.
    """

    months: TruckMonths
    unit: Ints
    strata: tuple[tuple[int, int], ...]
    complaints: tuple[tuple[int, int, int], ...]
    fit: int | None


def current_study() -> ComplaintStudy | None:
    """The study that counts; one query."""
    return ComplaintStudy.objects.filter(is_current=True).first()


def study_is_stale() -> bool:
    """Whether complaints changed since the study; two queries. Without truck-months there is nothing to study."""
    study = current_study()
    if study is None:
        return FuelMonth.objects.exists()
    changed = Complaint.history.order_by("-history_id").values_list("history_date", flat=True).first()
    return changed is not None and changed > study.made_at


def study_table() -> StudyTable | None:
    """Read what the study is made of; five queries. None without truck-months."""
    columns = ("truck", "month", "travel", "thirsty", "turbocharger", "fit")
    rows = list(FuelMonth.objects.order_by("truck", "month").values_list(*columns))
    if not rows:
        return None
    found = np.array([(*row[:4], row[4] or 0) for row in rows], np.int64)
    said = list(Complaint.objects.filter(kind=KIND).order_by("pk").values_list("pk", "truck", "raised_on"))
    trucks = np.unique([*found[:, 0], *(truck for _, truck, _ in said)])
    this_month = month_of(timezone.localdate())
    first, last = int(found[:, 1].min()), int(found[:, 1].max())
    last = max([last, *(m for m in (month_of(day) for _, _, day in said) if m <= this_month)])
    grid = _grid(trucks, first, last)
    place = np.searchsorted(_key(grid), _key(found))
    travel = np.full(len(grid), int(Travel.UNKNOWN))
    thirsty, unit = np.zeros(len(grid), bool), np.zeros(len(grid), np.int64)
    fits = (place < len(grid)) & (_key(grid)[np.minimum(place, len(grid) - 1)] == _key(found))
    travel[place[fits]], thirsty[place[fits]], unit[place[fits]] = found[fits, 2], found[fits, 3] > 0, found[fits, 4]
    complaints = _placed(said, grid, first)
    complained = np.zeros(len(grid), bool)
    complained[[row for _, _, row in complaints if row >= 0]] = True
    strata, stratum = _strata(trucks, found, grid)
    months = TruckMonths(grid[:, 0], grid[:, 1], stratum, travel, complained, thirsty)
    return StudyTable(months, unit, strata, complaints, rows[0][5])


def _grid(trucks: Ints, first: int, last: int) -> Ints:
    """Each truck with each of its months in service."""
    served = {pk: (begun, ended) for pk, begun, ended in Truck.objects.values_list("pk", "in_service_on", "retired_on")}
    rows = []
    for truck in trucks.tolist():
        begun, ended = served[truck]
        low, high = max(first, month_of(begun)), min(last, month_of(ended) if ended else last)
        months = np.arange(low, high + 1)
        rows.append(np.stack([np.full(len(months), truck), months], axis=1))
    return np.concatenate(rows)


def _key(rows: Ints) -> Ints:
    return np.asarray(rows[:, 0] * 1_000_000 + rows[:, 1])


def _placed(said: Sequence[tuple[int, int, date]], grid: Ints, first: int) -> tuple[tuple[int, int, int], ...]:
    keys, out = _key(grid), []
    for pk, truck, day in said:
        key = truck * 1_000_000 + month_of(day)
        row = int(np.searchsorted(keys, key))
        held = month_of(day) >= first and row < len(keys) and keys[row] == key
        out.append((pk, truck, row if held else -1))
    return tuple(out)


def _strata(trucks: Ints, found: Ints, grid: Ints) -> tuple[tuple[tuple[int, int], ...], Ints]:
    """Strata by the truck: the model of its latest known turbocharger, and its depot, so that they hang on no month."""
    models = dict(Turbocharger.objects.order_by().values_list("pk", "model"))
    depots = dict(Truck.objects.order_by().values_list("pk", "depot"))
    latest = {truck: unit for truck, _, _, _, unit in found.tolist() if unit}
    of_truck = {truck: (models.get(latest.get(truck, 0), 0), depots[truck]) for truck in trucks.tolist()}
    strata = tuple(sorted(set(of_truck.values())))
    number = {name: i for i, name in enumerate(strata)}
    by_truck = np.array([number[of_truck[truck]] for truck in trucks.tolist()], np.int64)
    return strata, by_truck[np.searchsorted(trucks, grid[:, 0])]
