"""Truck-month moments of trips: made once at import, added up for any question.

A row is one trip. Its columns (`COLUMNS`) are the logarithm of fuel use and what else moves it; its weight is its
distance. A cell is one truck in one calendar month. Columns are taken about the fixed `REFERENCE`, so that cells add
exactly and cross products do not cancel; float64 throughout.
"""

from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Floats, Ints

COLUMNS = ("log_fuel", "payload_t", "ascent_m_per_km", "speed_kmh", "speed2", "idle_share", "temperature_c")
# Round values near the middle of what heavy trucks do (common practice, no source); any others would be as exact.
REFERENCE = np.array([np.log(32.0), 12.0, 8.0, 55.0, 3025.0, 0.1, 12.0])
WIDTH = len(COLUMNS)


@dataclass(frozen=True, slots=True)
class Cells:
    """Moments of c cells, sorted by truck and month.

    truck, month : shape (c,); months count from year 0: 12 * year + month - 1.
    rows, weight : shape (c,), trips and km.
    sums : shape (c, p), weighted sums about `REFERENCE`.
    products : shape (c, p, p), weighted cross products about `REFERENCE`.
    litres : shape (c,), fuel used.
    """

    truck: Ints
    month: Ints
    rows: Ints
    weight: Floats
    sums: Floats
    products: Floats
    litres: Floats

    def where(self, keep: np.ndarray) -> "Cells":
        """The cells that `keep` (shape (c,), bool) picks."""
        return Cells(
            self.truck[keep],
            self.month[keep],
            self.rows[keep],
            self.weight[keep],
            self.sums[keep],
            self.products[keep],
            self.litres[keep],
        )


def columns_of(
    litres: Floats,
    distance_km: Floats,
    payload_t: Floats,
    ascent_m: Floats,
    duration_h: Floats,
    idle_h: Floats,
    temperature_c: Floats,
) -> Floats:
    """Rows about the reference, shape (n, p), from what a trip records; shapes (n,).

    Raises ValueError when a distance, a duration or litres are not above zero: such trips are refused at import.
    """
    if (distance_km <= 0).any() or (duration_h <= 0).any() or (litres <= 0).any():
        raise ValueError("distance, duration and litres must be above zero")
    speed = distance_km / duration_h
    table = np.stack(
        [
            np.log(100.0 * litres / distance_km),
            payload_t,
            ascent_m / distance_km,
            speed,
            speed**2,
            idle_h / duration_h,
            temperature_c,
        ],
        axis=1,
    )
    return np.asarray(table - REFERENCE)


def form_cells(truck: Ints, month: Ints, rows: Floats, weight: Floats, litres: Floats) -> Cells:
    """Moments of trips sorted by truck and start, so that a rebuild adds in the same order and gives the same bits.

    truck, month, weight, litres : shape (n,); rows : shape (n, p), as `columns_of` makes them.
    """
    if not len(truck):
        return Cells(truck, month, truck, weight, rows, np.zeros((0, WIDTH, WIDTH)), litres)
    fresh = np.flatnonzero((np.diff(truck, prepend=truck[0] - 1) != 0) | (np.diff(month, prepend=month[0]) != 0))
    ends = np.append(fresh[1:], len(truck))
    width = rows.shape[1]
    sums, products = np.empty((len(fresh), width)), np.empty((len(fresh), width, width))
    for cell, (begin, end) in enumerate(zip(fresh.tolist(), ends.tolist(), strict=True)):
        block = rows[begin:end]
        weighted = weight[begin:end, None] * block
        sums[cell] = weighted.sum(axis=0)
        products[cell] = block.T @ weighted
    return Cells(
        truck=truck[fresh],
        month=month[fresh],
        rows=ends - fresh,
        weight=np.add.reduceat(weight, fresh),
        sums=sums,
        products=products,
        litres=np.add.reduceat(litres, fresh),
    )
