"""Drift: fit, forecasts and due usages by fleet size, with statsmodels MixedLM beside it in the same run.

Run as ``python tests/bench/bench_drift.py``. Each size runs in a process of its own, so that its memory is its own.
The peer can do only one epoch per unit and equal uncertainties, and gets such data; so does ours in that row.
"""

import os

for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)
os.environ["OPENBLAS_NUM_THREADS"] = "1"

import resource
import sys
import time
import warnings
from multiprocessing import get_context
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from checks.rules.drift import fit
from checks.rules.epochs import Epochs, epochs_from_readings
from checks.rules.forecast import due_usage, forecast


def invent(units: int, *, epochs: int = 3, equal: bool = False) -> Epochs:
    """About six readings a unit: two in each of up to three epochs, or six in one."""
    rng = np.random.default_rng(units)
    count = 1 if equal else rng.integers(1, epochs + 1, units)
    each = np.broadcast_to(count, units)
    size = 6 // each
    unit = np.repeat(np.arange(units), each * size)
    place = np.concatenate([np.repeat(np.arange(e), s) for e, s in zip(each, size, strict=True)])
    kind = np.minimum(place, 1)
    usage = rng.uniform(0, 2, len(unit))
    known = np.zeros(len(unit)) if equal else rng.uniform(0.005, 0.03, len(unit))
    own = rng.normal(size=(units, 2)) * [0.05, 0.03]
    set_ = rng.normal(size=(units, epochs)) * 0.08
    start = np.where(place == 0, own[unit, 0], set_[unit, place])
    travel = 1.5 + start + (0.04 + own[unit, 1]) * usage + rng.normal(size=len(unit)) * np.hypot(0.02, known)
    return epochs_from_readings(
        unit, place, kind, usage, travel, known, current_epoch=each - 1, current_kind=np.minimum(each - 1, 1)
    )


def ours(units: int) -> tuple[int, float, float, float, float]:
    data = invent(units)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    started = time.perf_counter()
    one = fit(data)
    fitted = time.perf_counter()
    due = due_usage(forecast(one), 1.3, 1.75, 0.05)
    ended = time.perf_counter()
    assert np.isfinite(due).any()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return one.diagnostics.evaluations, fitted - started, ended - fitted, peak, before


def against_mixedlm(units: int) -> tuple[float, float, float]:
    import statsmodels.api as sm

    data = invent(units, equal=True)
    started = time.perf_counter()
    one = fit(data)
    own = time.perf_counter() - started
    x = sm.add_constant(data.usage)
    started = time.perf_counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        peer = sm.MixedLM(data.travel_mm, x, groups=data.unit, exog_re=x).fit(reml=True)
    return own, time.perf_counter() - started, abs(one.log_likelihood / peer.llf - 1)


def main() -> None:
    print(f"{'units':>8} {'evaluations':>12} {'fit s':>8} {'ahead s':>8} {'peak MB':>8} {'us/unit':>8}")
    for units in (1_000, 3_000, 10_000, 30_000, 100_000):
        with get_context("spawn").Pool(1) as pool:
            evaluations, fitted, ahead, peak, _ = pool.apply(ours, (units,))
        cost = 1e6 * (fitted + ahead) / units
        print(f"{units:>8,} {evaluations:>12} {fitted:>8.3f} {ahead:>8.3f} {peak:>8.0f} {cost:>8.1f}")
    own, peer, apart = against_mixedlm(3_000)
    print(f"\n3,000 units, one epoch, equal uncertainties: ours {own:.3f} s, MixedLM {peer:.2f} s, ")
    print(f"ratio {peer / own:.0f}, log-likelihoods apart by {apart:.1e} relative")


if __name__ == "__main__":
    main()
