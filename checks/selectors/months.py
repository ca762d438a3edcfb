"""Truck-months as the rules want them."""

import numpy as np
from django.db.models import QuerySet

from checks.models import TruckMonth
from checks.rules.moments import COLUMNS, WIDTH, Cells


def cells_from(rows: QuerySet[TruckMonth]) -> Cells:
    """Moments of stored truck-months, by truck and month; those of other columns are left out until formed again."""
    rows = rows.filter(columns=",".join(COLUMNS)).order_by("truck", "month")
    found = list(rows.values_list("truck", "month", "rows", "weight_km", "litres", "moments"))
    blob = np.frombuffer(b"".join(bytes(row[5]) for row in found), "<f8").reshape(len(found), WIDTH + WIDTH * WIDTH)
    whole = np.array([row[:3] for row in found], np.int64).reshape(-1, 3)
    floats = np.array([row[3:5] for row in found], np.float64).reshape(-1, 2)
    return Cells(
        truck=whole[:, 0],
        month=whole[:, 1],
        rows=whole[:, 2],
        weight=floats[:, 0],
        sums=blob[:, :WIDTH].copy(),
        products=blob[:, WIDTH:].reshape(-1, WIDTH, WIDTH).copy(),
        litres=floats[:, 1],
    )
