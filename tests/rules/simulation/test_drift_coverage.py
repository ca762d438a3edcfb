"""Simulation with known truth: do the intervals hold what they promise?"""

import numpy as np
import pytest
from scipy.stats import binomtest

from checks.rules.chart import innovations
from checks.rules.drift import VariancePrior, fit
from checks.rules.forecast import due_usage, forecast
from checks.rules.pooling import Known, fit_model, integrated_forecast
from tests.rules.drifting import THETA, simulate


def covered(ahead, simulated, usage, rng):
    truth = simulated.intercept + simulated.slope * usage + THETA[0] * rng.normal(size=len(usage))
    return (ahead.quantile_mm(usage, 0.025) < truth) & (truth < ahead.quantile_mm(usage, 0.975))


def test_forecast_intervals_of_a_large_model_cover_95_percent():
    rng = np.random.default_rng(21)
    simulated = simulate(rng, 4000)
    share = covered(forecast(fit(simulated.data)), simulated, rng.uniform(0.5, 4, 4000), rng).mean()
    assert 0.93 < share < 0.97


@pytest.mark.parametrize(("units", "runs"), [(5, 200), (10, 100), (20, 50)])
def test_forecast_intervals_of_small_models_cover_95_percent(units, runs):
    """Variance parameters taken as known would cover 0.90, 0.92 and 0.93.

    1,000 units in all per size: the binomial standard error is 0.007, so the limits stand 2.9 of it from 0.95.
    """
    rng, inside = np.random.default_rng(units), 0
    for _ in range(runs):
        simulated = simulate(rng, units)
        ahead = integrated_forecast(fit(simulated.data), VariancePrior.weak())
        inside += covered(ahead, simulated, rng.uniform(0.5, 4, units), rng).sum()
    assert 0.93 < inside / (units * runs) < 0.97


def test_the_share_outside_at_the_due_usage_is_the_policy_level():
    rng = np.random.default_rng(22)
    simulated = simulate(rng, 6000)
    due = due_usage(forecast(fit(simulated.data)), 1.3, 1.75, 0.05)
    drawn = (due > 0) & np.isfinite(due)
    truth = simulated.intercept + simulated.slope * due + THETA[0] * rng.normal(size=6000)
    outside = ((truth < 1.3) | (truth > 1.75))[drawn].sum()
    low, high = binomtest(int(outside), int(drawn.sum())).proportion_ci(0.99)
    assert drawn.sum() > 3000
    assert low < 0.05 < high


def test_jumps_by_chance_are_as_rare_as_the_normal_law_says():
    """0.27 % of readings lie beyond three standard deviations (normal law)."""
    simulated = simulate(np.random.default_rng(23), 8000)
    found = innovations(fit(simulated.data))
    low, high = binomtest(int(found.jumps.sum()), int(found.comparable.sum())).proportion_ci(0.999)
    assert low < 0.0027 < high
    assert found.z.std() == pytest.approx(1.0, abs=0.02)


def test_a_planted_jump_is_found():
    rng = np.random.default_rng(24)
    simulated = simulate(rng, 300, epochs=(1, 2), readings=(5, 6))
    data = simulated.data
    struck = np.flatnonzero(data.unit == 7)[-1]
    data.travel_mm[struck] += 0.3
    assert innovations(fit(data)).jumps[struck]


def test_small_models_borrow_from_large_ones_and_keep_their_own_mean():
    rng = np.random.default_rng(25)
    large = [fit_model(simulate(rng, 150).data, ()) for _ in range(3)]
    few = simulate(rng, 6, beta=np.array([3.0, 3.0, 0.04])).data
    small = fit_model(few, [Known.of(one.fit) for one in large])
    assert [one.route for one in (*large, small)] == ["own", "own", "own", "pooled"]
    assert small.fit.beta[0] == pytest.approx(3.0, abs=0.1)
    assert small.fit.cov[2, 2] < fit(few).cov[2, 2]


def test_a_rebuild_gives_the_same_bits():
    data = simulate(np.random.default_rng(26), 8).data
    first, again = (fit_model(data, ()).forecast for _ in range(2))
    assert (first.intercept == again.intercept).all()
    assert (first.weights == again.weights).all()
