"""How fast strokes are judged, beside GTC on the same inputs in the same run: python tests/bench/bench_assess.py.

Not collected by pytest: a timing is a report, not a claim that holds on every machine.
"""

import cProfile
import gc
import math
import os
import pstats
import resource
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median

# Left alone these pick kernels for a machine that may not be this one; one thread, so that runs compare.
for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import GTC
import numpy as np

from checks.measurement.assess import assess, assess_many
from checks.measurement.budget import budgets, combine_lines
from checks.measurement.result import Assessment, BudgetLine
from checks.measurement.workings import Case
from tests.measurement.making import random_instruments, random_stroke, specification

STROKES = 10_000
SETS = 40


ORDINARY = ((130.0, 175.0), (1.0, 2.2))
STEEP = ((155.0, 175.0), (1.8, 2.5))


def cases(count: int, stimulus_u: float, shape: tuple[tuple[float, float], tuple[float, float]]) -> list[Case]:
    """Realistic strokes with a few gauges and dials, as a fleet has them."""
    rng = np.random.default_rng(20260601)
    spec = specification()
    sets = [random_instruments(rng, stimulus_u) for _ in range(SETS)]
    return [Case(random_stroke(rng, *shape), spec, sets[i % SETS]) for i in range(count)]


def timed(work: Callable[[], object], repeat: int = 5) -> float:
    """Median seconds of ``repeat`` runs after one to warm up."""
    work()
    seconds = []
    for _ in range(repeat):
        gc.collect()
        begin = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - begin)
    return median(seconds)


def cpu(work: Callable[[], object]) -> float:
    """Processor seconds of one run: what it costs when others share the cores."""
    gc.collect()
    begin = resource.getrusage(resource.RUSAGE_SELF)
    work()
    end = resource.getrusage(resource.RUSAGE_SELF)
    return end.ru_utime + end.ru_stime - begin.ru_utime - begin.ru_stime


def gtc_budget(lines: Sequence[BudgetLine]) -> tuple[float, float, float]:
    """The same budget by GTC: standard uncertainty, degrees of freedom, coverage factor."""
    total = sum(line.sensitivity * GTC.ureal(0.0, line.standard_uncertainty, line.dof) for line in lines)
    return GTC.uncertainty(total), GTC.dof(total), GTC.reporting.k_factor(min(GTC.dof(total), 1e6))


def own_budgets(results: Sequence[Assessment]) -> Callable[[], object]:
    """All budgets as arrays of shape (lines, strokes), ready for one call."""
    u = np.array([[line.standard_uncertainty for line in r.budget] for r in results]).T.copy()
    c = np.array([[line.sensitivity for line in r.budget] for r in results]).T.copy()
    dof = np.array([[line.dof for line in r.budget] for r in results]).T.copy()
    return lambda: budgets(u, c, dof, 0.95)


def row(name: str, value: float, unit: str, bar: str = "") -> None:
    print(f"{name:<58} {value:>10.3f} {unit:<4} {bar}")


def report_single(some: Sequence[Case]) -> None:
    single = []
    for case in some:
        begin = time.perf_counter()
        assess(case.stroke, case.specification, case.instruments)
        single.append(1e3 * (time.perf_counter() - begin))
    results = assess_many(some)
    share = 100.0 * sum(r.method == "monte_carlo" for r in results) / len(results)
    row(f"assess one stroke, median ({share:.0f} % bent)", median(single), "ms", "bar 2")
    row("assess one stroke, slowest in a hundred", float(np.percentile(single, 99)), "ms")


def report_budgets(results: Sequence[Assessment]) -> None:
    some = [r.budget for r in results[:1000]]
    own = timed(lambda: [combine_lines(lines, 0.95) for lines in some]) / len(some)
    peer = timed(lambda: [gtc_budget(lines) for lines in some]) / len(some)
    worst = max(abs(combine_lines(lines, 0.95).standard_uncertainty / gtc_budget(lines)[0] - 1.0) for lines in some)
    row("one budget, ours", 1e3 * own, "ms", f"bar: GTC's {1e3 * peer:.3f} ms")
    row("one budget, GTC on the same lines", 1e3 * peer, "ms", f"largest relative difference {worst:.1e}")
    many = timed(own_budgets(results), 15)
    row(f"{len(results)} budgets in one call", 1e3 * many, "ms", "")
    row("times faster than a GTC loop", peer * len(results) / many, "x", "bar 100")


def report_profile(work: Callable[[], object]) -> None:
    profile = cProfile.Profile()
    profile.runcall(work)
    stats = pstats.Stats(profile)
    own: dict[str, float] = {}
    for (path, _, _), (_, _, inside, _, _) in stats.stats.items():  # type: ignore[attr-defined]
        place = Path(path).name if "measurement" in path else "numpy, scipy, interpreter"
        own[place] = own.get(place, 0.0) + inside
    total = math.fsum(own.values())
    print("\nwhere the time goes (profiled, share of own time)")
    for place, seconds in sorted(own.items(), key=lambda item: -item[1])[:12]:
        print(f"  {place:<30} {100.0 * seconds / total:5.1f} %")


def main() -> None:
    for name, shape, stimulus_u in (("ordinary", ORDINARY, 0.5), ("ordinary", ORDINARY, 1.5), ("steep", STEEP, 1.5)):
        print(f"{name} strokes, gauge with u_p about {stimulus_u} kPa")
        made = cases(STROKES, stimulus_u, shape)
        report_single(made[:1000])
        seconds = timed(lambda made=made: assess_many(made), 3)  # type: ignore[misc]
        results = assess_many(made)
        share = 100.0 * sum(r.method == "monte_carlo" for r in results) / len(results)
        row(f"assess {STROKES} strokes in one call ({share:.0f} % bent)", seconds, "s", "bar 2")
        row("  of which processor time", cpu(lambda made=made: assess_many(made)), "s")  # type: ignore[misc]
        print()
    report_budgets(results)
    report_profile(lambda: assess_many(made))


if __name__ == "__main__":
    main()
