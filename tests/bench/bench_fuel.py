"""Fuel fit from stored moments, with forming them counted, and pyfixest on the rows in the same run.

Run as ``python tests/bench/bench_fuel.py [trips] [--no-peer]``; 1,000,000 trips without an argument, 10,000,000 is the
other size of interest (about 60,000 truck-months; the peer then needs some 12 GB and is left out unless ``--peer``).
"""

import os

for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)
os.environ["OPENBLAS_NUM_THREADS"] = "1"

import gc
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from checks.rules.fuel import EXCESS, SHORTFALL, TERMS, FuelFit, adjusted_fuel, fit_fuel
from checks.rules.moments import Cells, columns_of, form_cells

EFFECT = np.array([0.012, 0.015, -0.009, 0.00009, 0.35, -0.002, 0.10, 0.06])
MONTHS = 24
TRIPS_A_MONTH = 167


class Rows:
    """Trips sorted by truck and start, with travel per truck-month."""

    def __init__(self, trips: int) -> None:
        rng = np.random.default_rng(20261125)
        trucks = max(60, round(trips / (MONTHS * TRIPS_A_MONTH)))
        each = trips // (trucks * MONTHS)
        cells = trucks * MONTHS
        self.cell = np.repeat(np.arange(cells), each)
        self.truck, self.month = self.cell // MONTHS, self.cell % MONTHS
        n = len(self.cell)
        kind = rng.choice([0, 1, 2], trucks, p=[0.6, 0.24, 0.16]).repeat(MONTHS)
        drift = (
            np.maximum(0, np.tile(np.arange(MONTHS), trucks) - rng.integers(0, MONTHS, trucks).repeat(MONTHS)) * 0.02
        )
        self.shortfall, self.excess = np.where(kind == 1, drift, 0.0), np.where(kind == 2, drift, 0.0)
        self.km, hours = rng.uniform(40, 400, n), rng.uniform(1, 6, n)
        hours = np.maximum(hours, self.km / 85)
        idle = rng.uniform(0, 0.3, n) * hours
        self.columns = columns_of(
            np.ones(n),
            self.km,
            rng.uniform(0, 26, n),
            rng.uniform(0, 15, n) * self.km,
            hours,
            idle,
            rng.normal(12, 8, n),
        )
        out = EFFECT[6] * self.shortfall + EFFECT[7] * self.excess + rng.normal(0, 0.01, cells)
        self.columns[:, 0] = rng.normal(0, 0.05, trucks)[self.truck] + self.columns[:, 1:] @ EFFECT[:6] + out[self.cell]
        self.columns[:, 0] += rng.normal(0, 0.03, n)

    def formed(self) -> Cells:
        """Moments of all trips."""
        return form_cells(self.truck, self.month, self.columns, self.km, self.km)

    def newest(self) -> tuple[np.ndarray, ...]:
        """The trips of the newest month, as `form_cells` takes them."""
        keep = self.month == MONTHS - 1
        return self.truck[keep], self.month[keep], self.columns[keep], self.km[keep], self.km[keep]


def timed(work: Callable[[], object], times: int = 5) -> float:
    """The best of some runs, in seconds."""
    best = np.inf
    for _ in range(times):
        gc.collect()
        begun = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begun)
    return best


def same_bits(one: FuelFit, other: FuelFit) -> bool:
    return all(
        getattr(one, name).tobytes() == getattr(other, name).tobytes() for name in ("beta", "cov", "cov_cluster")
    )


def peer(rows: Rows, ours: FuelFit) -> float:
    """pyfixest on the rows: seconds; prints how far the two are apart."""
    import pandas as pd
    import pyfixest

    table = pd.DataFrame(rows.columns[:, 1:], columns=list(TERMS[:-2]))
    table["shortfall_mm"], table["excess_mm"] = rows.shortfall[rows.cell], rows.excess[rows.cell]
    table["y"], table["truck"], table["km"] = rows.columns[:, 0], rows.truck, rows.km
    formula = f"y ~ {' + '.join(TERMS)} | truck"

    def run() -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return pyfixest.feols(formula, data=table, weights="km", vcov={"CRV1": "truck"}, fixef_tol=1e-10)

    run()  # what is compiled at the first call is not counted
    begun = time.perf_counter()
    found = run()
    seconds = time.perf_counter() - begun
    n, k = len(table), len(TERMS)
    beta = np.abs(found.coef().to_numpy() / ours.beta - 1).max()
    error = np.sqrt(np.diag(ours.cov_cluster) * (n - k) / (n - k - 1))
    print(
        f"  coefficients apart by {beta:.1e}, clustered errors by {np.abs(found.se().to_numpy() / error - 1).max():.1e}"
    )
    return seconds


def main(trips: int, with_peer: bool) -> None:
    rows = Rows(trips)
    forming = timed(rows.formed, 2)
    cells = rows.formed()
    ours = fit_fuel(cells, rows.shortfall, rows.excess)
    fitting = timed(lambda: fit_fuel(cells, rows.shortfall, rows.excess))
    adjusting = timed(lambda: adjusted_fuel(cells, ours))
    print(f"{len(rows.cell):,} trips, {ours.trucks:,} trucks, {len(cells.truck):,} truck-months")
    for name, term in (("shortfall", SHORTFALL), ("excess", EXCESS)):
        told = ours.effect(term)
        print(f"  {name}: {told.slope:.5f} ({told.low:.5f} to {told.high:.5f}) per mm, planted {EFFECT[term]}")
    print(f"  forming moments {forming:.2f} s, fit from stored moments {fitting:.4f} s, adjusted use {adjusting:.4f} s")
    again = fit_fuel(rows.formed(), rows.shortfall, rows.excess)
    print(f"  two rebuilds give the same bits: {same_bits(ours, again)}")
    newest = rows.newest()
    month = timed(lambda: form_cells(*newest))
    share = f"{month / forming:.1%} of all, where its share of the trips is {len(newest[0]) / len(rows.cell):.1%}"
    print(f"  forming the newest month alone {month:.4f} s: {share}")
    if with_peer:
        seconds = peer(rows, ours)
        print(
            f"  pyfixest on the rows {seconds:.2f} s: {seconds / fitting:,.0f} times the fit from moments, "
            f"{seconds / (forming + fitting):.1f} times with forming them counted"
        )


if __name__ == "__main__":
    given = [word for word in sys.argv[1:] if not word.startswith("--")]
    size = int(given[0]) if given else 20_000 if os.environ.get("BENCH_SMOKE") else 1_000_000
    main(size, "--peer" in sys.argv or (size <= 2_000_000 and "--no-peer" not in sys.argv))
