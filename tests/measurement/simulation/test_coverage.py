"""Strokes with a known truth: does the verdict keep what it promises?

Every instrument is given errors drawn from what its certificate and its scale declare, the rod a true curve, and the
readings are made through them. Source: the definition of a coverage interval (JCGM 101, 3.12) and of a conformance
probability (JCGM 106, 3.3.7); the generator shares nothing with the core but its input types.
"""

from functools import cache

import numpy as np
import pytest

from checks.measurement.assess import assess_many
from checks.measurement.calibration import Geometry
from checks.measurement.result import Assessment
from checks.measurement.specification import Policy, State
from checks.measurement.workings import Case
from tests.measurement.bench import Bench, made


def outcomes(bench: Bench, travels: np.ndarray, seed: int) -> list[tuple[float, Assessment]]:
    rng = np.random.default_rng(seed)
    return list(zip(travels, assess_many([made(rng, bench, float(x)) for x in travels]), strict=True))


BENCHES = {
    "ordinary": Bench(),
    "rough gauge": Bench(pressure_expanded=5.0),
    "rough dial": Bench(dial_expanded=0.08),
    "dial on a point of the rod, tilted": Bench(geometry=Geometry.ROD_POINT, angle_max=12.0),
    "steep curve": Bench(pressure_expanded=4.0, power=2.2),
    "slope of the model": Bench(pooled=True),
}


@cache
def across_the_window(name: str) -> list[tuple[float, Assessment]]:
    """2,000 strokes with truths all over and beyond the window."""
    return outcomes(BENCHES[name], np.random.default_rng(6).uniform(0.6, 2.4, 2000), 7)


@pytest.mark.parametrize("name", BENCHES)
def test_95_percent_intervals_hold_the_truth_at_least_as_often(name):
    """2,000 strokes each; three binomial standard errors below the nominal 0.95 are granted."""
    held = [low <= x <= high for x, result in across_the_window(name) for low, high in [result.interval_mm]]
    assert 0.935 <= np.mean(held) <= 0.995


@pytest.mark.parametrize("name", BENCHES)
def test_the_estimate_is_not_biased(name):
    """Mean error over 2,000 strokes, against its own standard error and a tenth of the mean uncertainty."""
    found = across_the_window(name)
    errors = np.array([result.travel_mm - x for x, result in found])
    allowed = 0.1 * np.mean([result.standard_uncertainty_mm for _, result in found])
    assert abs(errors.mean()) < allowed + 3.0 * errors.std() / np.sqrt(len(errors))


@pytest.mark.parametrize("name", ["ordinary", "rough gauge", "steep curve"])
def test_of_readings_called_inside_few_are_not(name):
    """Wrong calls of inside stay below 5 % of those called inside; a wrong side is never called."""
    found = across_the_window(name)
    inside = [x for x, result in found if result.state is State.INSIDE]
    assert len(inside) > 500
    assert np.mean([not 1.0 <= x <= 2.0 for x in inside]) < 0.05
    assert not [x for x, result in found if result.state is State.OUTSIDE_LOW and x > 1.5]
    assert not [x for x, result in found if result.state is State.OUTSIDE_HIGH and x < 1.5]


@pytest.mark.parametrize(("low", "high"), [(0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 0.95)])
def test_a_stated_probability_is_a_frequency(low, high):
    """Of readings with about the same P(inside) that share is inside; truths spread evenly about a limit."""
    bench = Bench(pressure_expanded=4.0)
    travels = np.random.default_rng(8).uniform(0.85, 1.15, 4000)
    some = [
        (x, r.p_inside) for x, r in outcomes(bench, travels, 9) if r.p_inside is not None and low <= r.p_inside < high
    ]
    assert len(some) > 200
    share = np.mean([x >= 1.0 for x, _ in some])
    assert share == pytest.approx(np.mean([p for _, p in some]), abs=0.1)


def test_an_assumed_slope_covers_more_than_it_promises():
    """Without curve or model the stated assumption is steep, so the interval is wide rather than wrong."""
    rng = np.random.default_rng(10)
    cases = []
    for _ in range(1000):
        plain = made(rng, Bench(pooled=True, pressure_expanded=3.0), 1.5)
        cases.append(Case(plain.stroke, plain.specification, plain.instruments, Policy()))
    results = assess_many(cases)
    assert {result.slope_source for result in results} == {"assumed"}
    assert np.mean([low <= 1.5 <= high for r in results for low, high in [r.interval_mm]]) > 0.97
