"""Simulated trips with a known effect of the wastegate, as rows and as truck-month moments."""

from dataclasses import dataclass

import numpy as np

from checks.rules.moments import Cells, columns_of, form_cells

# payload, ascent, speed, speed^2, idle, temperature, shortfall and excess (per mm), in log fuel.
EFFECT = np.array([0.012, 0.015, -0.009, 0.00009, 0.35, -0.002, 0.10, 0.06])


@dataclass(frozen=True)
class Trips:
    truck: np.ndarray
    month: np.ndarray
    rows: np.ndarray
    weight: np.ndarray
    cells: Cells
    shortfall: np.ndarray  # per cell
    excess: np.ndarray


def simulate_trips(
    rng, trucks, *, months=12, per_month=6, effect=EFFECT, bad=0.4, clustering=0.01, quick=False
) -> Trips:
    """A share `bad` of the trucks leaves its window at some month; errors are shared within truck and month.

    ``quick`` adds up all cells at once, for many runs: the same sums but for the order in which they are rounded.
    """
    cell_truck, cell_month = np.repeat(np.arange(trucks), months), np.tile(np.arange(months), trucks)
    drift = (
        np.maximum(0, cell_month - rng.integers(0, months, trucks)[cell_truck])
        * rng.uniform(0.02, 0.08, trucks)[cell_truck]
    )
    kind = rng.choice([0, 1, 2], trucks, p=[1 - bad, bad * 0.6, bad * 0.4])[cell_truck]
    shortfall, excess = np.where(kind == 1, drift, 0.0), np.where(kind == 2, drift, 0.0)
    cell = np.repeat(np.arange(len(cell_truck)), per_month)
    n = len(cell)
    distance, hours = rng.uniform(40, 400, n), rng.uniform(1, 6, n)
    hours = np.maximum(hours, distance / 85)
    values = [rng.uniform(0, 26, n), rng.uniform(0, 15, n) * distance, hours, rng.uniform(0, 0.3, n) * hours]
    weather = 12 + 9 * np.sin(cell_month[cell] / 12 * 2 * np.pi) + rng.normal(0, 3, n)
    blank = columns_of(np.ones(n), distance, values[0], values[1], hours, values[3], weather)
    level = rng.normal(0, 0.05, trucks)[cell_truck[cell]] + rng.normal(0, clustering, len(cell_truck))[cell]
    z = np.stack([shortfall[cell], excess[cell]], axis=1)
    log_fuel = level + blank[:, 1:] @ effect[:6] + z @ effect[6:] + rng.normal(0, 0.03, n)
    rows = np.concatenate([log_fuel[:, None], blank[:, 1:]], axis=1)
    litres = np.exp(log_fuel + np.log(32.0)) * distance / 100
    form = even_cells if quick else form_cells
    cells = form(cell_truck[cell], cell_month[cell], rows, distance, litres)
    return Trips(cell_truck[cell], cell_month[cell], rows, distance, cells, shortfall, excess)


def even_cells(truck, month, rows, weight, litres) -> Cells:
    """`form_cells` of cells with as many trips each."""
    fresh = np.flatnonzero((np.diff(truck, prepend=-1) != 0) | (np.diff(month, prepend=-1) != 0))
    each = rows.reshape(len(fresh), -1, rows.shape[1])
    weighed = weight.reshape(len(fresh), -1, 1) * each
    return Cells(
        truck=truck[fresh],
        month=month[fresh],
        rows=np.full(len(fresh), each.shape[1]),
        weight=np.add.reduceat(weight, fresh),
        sums=weighed.sum(axis=1),
        products=each.transpose(0, 2, 1) @ weighed,
        litres=np.add.reduceat(litres, fresh),
    )
