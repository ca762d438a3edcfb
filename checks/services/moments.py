"""Truck-month moments of trips: formed of touched cells only, each in one transaction with its mark."""

from typing import Any

import numpy as np
from django.db import connection, transaction
from django.db.models import F

from checks.models import TruckMonth
from checks.rules.epochs import Floats
from checks.rules.moments import COLUMNS, REFERENCE, WIDTH, Cells, columns_of, form_cells
from fleet.imports.trips.store import lock_trips
from fleet.jobs.requests import enqueue
from fleet.models import Job, StaleCell, Trip
from fleet.selectors.trips import Ints, Trips, month_begins, month_of, stale_cells, trips_within

KIND = "form-moments"
NAMES = ",".join(COLUMNS)
# Some hundred trips each: a few tens of thousands of rows in memory, and a step well below a second.
CELLS_AT_ONCE = 200
_KEPT = ("rows", "weight_km", "litres", "moments", "columns")
_UPSERT = (
    f"INSERT INTO checks_truckmonth (truck_id, month, {', '.join(_KEPT)}) VALUES (%s, %s, %s, %s, %s, %s, %s) "  # noqa: S608 only our names
    f"ON CONFLICT (truck_id, month) DO UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in _KEPT)}"
)
PLACE = {name: place for place, name in enumerate(COLUMNS)}


def form_stale(cells: list[tuple[int, int]]) -> int:
    """Form the moments of truck-months anew and take away their marks; return the trips read. Call in a transaction.

    A mark set meanwhile by another writer waits for the lock and is set after we are done, so none is lost.
    """
    if not cells:
        return 0
    lock_trips()
    asked = np.array(sorted(cells), np.int64)
    for month in np.unique(asked[:, 1]).tolist():
        trucks = asked[asked[:, 1] == month, 0].tolist()
        StaleCell.objects.filter(month=month, truck__in=trucks).delete()
    trips = trips_within(_stretches(asked))
    formed = moments_of(trips)
    _keep(formed)
    _clear_empty(asked, formed)
    return len(trips)


def form_whole(trips: Trips) -> None:
    """Form truck-months that have these trips, sorted by truck and start, and no others. Call in their transaction."""
    _keep(moments_of(trips))


def moments_of(trips: Trips) -> Cells:
    """Moments of trips sorted by truck and start. What a source does not record counts as the reference."""
    share = {name: REFERENCE[place] for name, place in PLACE.items()}
    distance, duration = trips["distance_km"], trips["duration_s"]
    rows = columns_of(
        trips["fuel_l"],
        distance,
        _known_or(trips["payload_t"], share["payload_t"]),
        _known_or(trips["ascent_m"], share["ascent_m_per_km"] * distance),
        duration / 3600,
        _known_or(trips["idle_s"], share["idle_share"] * duration) / 3600,
        _known_or(trips["temperature_c"], share["temperature_c"]),
    )
    return form_cells(trips["truck"], month_of(trips["started_s"]), rows, distance, trips["fuel_l"])


def mark_all() -> int:
    """Mark every truck-month that has trips or moments; return how many are marked."""
    kept = TruckMonth.objects.order_by("truck", "month").values_list("truck", "month")
    with transaction.atomic():
        lock_trips()
        cells = set(kept) | _cells_with_trips()
        marks = (StaleCell(truck_id=truck, month=month) for truck, month in sorted(cells))
        StaleCell.objects.bulk_create(marks, ignore_conflicts=True, batch_size=400)
    return len(cells)


def form_if_stale() -> Job | None:
    """Ask for the job where marks wait; quick where there are none."""
    return enqueue(kind=KIND, arguments={}, key=KIND) if StaleCell.objects.exists() else None


def next_cells() -> list[tuple[int, int]]:
    """The next truck-months to form."""
    return stale_cells(CELLS_AT_ONCE)


def _stretches(cells: Ints) -> Ints:
    return np.stack([cells[:, 0], month_begins(cells[:, 1]), month_begins(cells[:, 1] + 1) - 1], axis=1)


def _known_or(values: Floats, reference: Any) -> Floats:
    return np.where(np.isnan(values), reference, values)


def _keep(cells: Cells) -> None:
    flat = cells.products.reshape(len(cells.weight), WIDTH * WIDTH)
    blobs = [row.tobytes() for row in np.concatenate([cells.sums, flat], axis=1).astype("<f8")]
    columns = (cells.truck, cells.month, cells.rows, cells.weight, cells.litres)
    rows = zip(*(column.tolist() for column in columns), blobs, [NAMES] * len(blobs), strict=True)
    with connection.cursor() as cursor:
        cursor.executemany(_UPSERT, list(rows))


def _clear_empty(asked: Ints, formed: Cells) -> None:
    """Take away the moments of truck-months whose trips are all gone."""
    left = set(map(tuple, asked.tolist())) - set(zip(formed.truck.tolist(), formed.month.tolist(), strict=True))
    for truck, month in left:
        TruckMonth.objects.filter(truck=truck, month=month).delete()


def _cells_with_trips() -> set[tuple[int, int]]:
    """By day in the database, since only whole days can be grouped without its calendar."""
    days = Trip.objects.annotate(day=F("started_s") / 86_400).order_by().values_list("truck", "day").distinct()
    found = np.array(list(days), np.int64).reshape(-1, 2)
    return set(zip(found[:, 0].tolist(), month_of(found[:, 1] * 86_400).tolist(), strict=True))
