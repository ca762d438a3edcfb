"""Lives at 100,000 units: the Weibull fit beside the peer's interval fit, on the same data.

Run as ``python tests/bench/bench_life.py``; ``--coverage`` simulates the limits of B10 at length. Where lifelines is
installed it is the peer, else scipy's fit of censored data. lifelines 0.30.3 holds pandas below 3, so our lock is
without it; by hand it ran in an environment of its own (``pip install lifelines==0.30.3``, then this file by that
Python). On two busy shared cores, 100,000 units: ours 18 to 42 ms, lifelines 1.06 to 1.20 s, ratio 28 to 58; scipy
9 to 11 s.
"""

import os

for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)
os.environ["OPENBLAS_NUM_THREADS"] = "1"

import sys
import time
import warnings
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from scipy import stats

from checks.rules.life import Lives, fit_weibull
from checks.rules.life_told import tell

SMOKE = os.environ.get("BENCH_SMOKE") == "1"
ETA, SHAPE = 300.0, 1.8
B10 = ETA * (-np.log(0.9)) ** (1 / SHAPE)


def invent(units: int, seed: int = 1) -> Lives:
    """Checked every 60 or so until 360."""
    rng = np.random.default_rng(seed)
    life = ETA * rng.weibull(SHAPE, units)
    checks = np.cumsum(rng.uniform(40, 80, (units, 6)), axis=1)
    before = (checks < life[:, None]).sum(axis=1)
    padded = np.concatenate([np.zeros((units, 1)), checks, np.full((units, 1), np.inf)], axis=1)
    return Lives.of(padded[np.arange(units), before], padded[np.arange(units), before + 1])


def best_of(work, times: int = 3) -> tuple[float, object]:
    """Seconds of the quickest run, and what it gave."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        given = work()
        taken.append(time.perf_counter() - began)
    return min(taken), given


def peer(lives: Lives) -> tuple[str, float, float, float]:
    """Name, seconds, eta and shape of the peer."""
    warnings.simplefilter("ignore")
    try:
        import lifelines
    except ImportError:
        sample = _censored(lives)
        taken, found = best_of(lambda: stats.weibull_min.fit(sample, floc=0), 1)
        return "scipy weibull_min.fit", taken, found[2], found[0]
    taken, found = best_of(lambda: lifelines.WeibullFitter().fit_interval_censoring(lives.left, lives.right))
    return f"lifelines {lifelines.__version__}", taken, found.lambda_, found.rho_


def _censored(lives: Lives) -> stats.CensoredData:
    open_ = ~np.isfinite(lives.right)
    return stats.CensoredData(
        interval=np.stack([lives.left[~open_], lives.right[~open_]], axis=1), right=lives.left[open_]
    )


def coverage() -> None:
    """Share of samples whose 95 % limits hold B10."""
    for units, runs in ((20, 5_000), (50, 5_000), (200, 2_000)):
        held = told = 0
        for seed in range(runs):
            lives = invent(units, 1_000 * units + seed)
            if lives.events > 4:
                low, high = fit_weibull(lives).limits()
                held, told = held + (low < B10 < high), told + 1
        print(f"{units:>4} units: limits hold B10 in {100 * held / told:.1f} % of {told:,} samples")


def main() -> None:
    units = 2_000 if SMOKE else 100_000
    lives = invent(units)
    own, fit = best_of(lambda: fit_weibull(lives))
    name, taken, eta, shape = peer(lives)
    apart = max(abs(fit.eta / eta - 1), abs(fit.beta / shape - 1))
    print(f"{units:,} units: ours {1000 * own:.0f} ms, {name} {1000 * taken:,.0f} ms, ratio {taken / own:.0f}")
    print(f"eta and shape apart by {apart:.1e} relative")
    whole, _ = best_of(lambda: tell(lives), 1)
    print(f"with limits of eight shares and the steps: {whole:.2f} s")


if __name__ == "__main__":
    coverage() if "--coverage" in sys.argv else main()
