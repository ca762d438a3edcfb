"""The closed forms against matrices written down in full."""

import numpy as np
import pytest

from checks.rules.drift import VariancePrior, fit
from checks.rules.epochs import epochs_from_readings
from checks.rules.forecast import forecast
from checks.rules.gradient import gradient
from checks.rules.likelihood import FixedPrior, lay_out, log_likelihood, solve
from tests.rules.drifting import THETA, dense_covariance, design, simulate

FLAT = FixedPrior.flat()
CASES = [THETA, THETA * [1, 0, 1, 0, 1], THETA * [1, 1, 0, 1, 0], np.array([0.05, 0.3, 0.01, -0.2, 0.001])]


def dense_reml(data, theta):
    v, x = dense_covariance(data, theta), design(data)
    inverse = np.linalg.inv(v)
    information = x.T @ inverse @ x
    beta = np.linalg.solve(information, x.T @ inverse @ data.travel_mm)
    rest = data.travel_mm - x @ beta
    dets = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1]
    return -0.5 * (dets + rest @ inverse @ rest + (len(rest) - 3) * np.log(2 * np.pi)), beta


@pytest.mark.parametrize("theta", CASES)
def test_the_likelihood_equals_the_dense_one(theta):
    """Unequal uncertainties and several epochs. Source: the definition of REML, dense linear algebra of numpy."""
    data = simulate(np.random.default_rng(1), 12).data
    layout = lay_out(data)
    solution = solve(layout, theta, FLAT)
    expected, beta = dense_reml(data, theta)
    assert log_likelihood(layout, solution, FLAT) == pytest.approx(expected, rel=1e-11)
    assert solution.beta == pytest.approx(beta, rel=1e-9)


def test_the_likelihood_with_a_prior_equals_the_dense_one_with_the_effects_integrated_out():
    """Source: the normal density of scipy at covariance V + X A X'."""
    from scipy.stats import multivariate_normal

    data = simulate(np.random.default_rng(2), 9).data
    spread, centre = np.diag([0.2, 0.3, 0.1]) ** 2, np.array([1.4, 1.6, 0.05])
    prior = FixedPrior(centre, np.linalg.inv(spread))
    x = design(data)
    expected = multivariate_normal(x @ centre, dense_covariance(data, THETA) + x @ spread @ x.T).logpdf(data.travel_mm)
    layout = lay_out(data)
    assert log_likelihood(layout, solve(layout, THETA, prior), prior) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("theta", CASES)
@pytest.mark.parametrize("prior", [FLAT, FixedPrior(np.array([1.4, 1.6, 0.05]), np.diag([4.0, 9.0, 100.0]))])
def test_the_gradient_equals_central_differences(theta, prior):
    layout = lay_out(simulate(np.random.default_rng(3), 15).data)

    def value(at):
        return log_likelihood(layout, solve(layout, at, prior), prior)

    step = 1e-6
    numeric = [(value(theta + step * e) - value(theta - step * e)) / (2 * step) for e in np.eye(5)]
    exact = gradient(layout, solve(layout, theta, prior), theta)
    assert exact == pytest.approx(np.array(numeric), rel=1e-5, abs=1e-3)


@pytest.mark.parametrize("usage", [0.0, 1.7, 5.0])
def test_the_forecast_equals_the_dense_predictor(usage):
    """Mean and full variance of the best linear unbiased predictor (Henderson 1975), with dense matrices."""
    simulated = simulate(np.random.default_rng(4), 12)
    data, one = simulated.data, fit(simulated.data)
    ahead = forecast(one)
    v, x = dense_covariance(data, one.theta), design(data)
    inverse = np.linalg.inv(v)
    cov = np.linalg.inv(x.T @ inverse @ x)
    beta = cov @ x.T @ inverse @ data.travel_mm
    mean, sd = ahead.mean_mm(np.full(12, usage)), ahead.sd_mm(np.full(12, usage))
    for unit in range(12):
        share, prior = _covariance_with_line(data, one.theta, unit, usage)
        at = np.array([0.0, 0.0, usage])
        at[data.current_kind[unit]] = 1.0
        missing = at - x.T @ inverse @ share
        variance = prior - share @ inverse @ share + missing @ cov @ missing + one.theta[0] ** 2
        assert mean[unit] == pytest.approx(at @ beta + share @ inverse @ (data.travel_mm - x @ beta), rel=1e-9)
        assert sd[unit] == pytest.approx(np.sqrt(variance), rel=1e-7)


def _covariance_with_line(data, theta, unit, usage):
    """Covariance of the readings with the random part of the unit's line at ``usage``, and that part's variance."""
    share, prior = np.zeros(len(data.usage)), 0.0
    for place, epoch in enumerate(np.unique(data.epoch[data.unit == unit])):
        now, spread = data.current_epoch[unit] == epoch, theta[1 + data.kind[epoch]]
        one = (data.epoch == epoch).astype(float)
        if place:
            share += now * one * spread**2
            prior += now * spread**2
        else:
            low = np.array([[spread, 0], [theta[3], theta[4]]])
            z = np.stack([one, np.where(data.unit == unit, data.usage, 0.0)], axis=1)
            weight = np.array([float(now), usage])
            share, prior = share + z @ low @ low.T @ weight, prior + weight @ low @ low.T @ weight
    return share, prior


def test_without_penalty_a_variance_of_zero_is_reached_without_failing():
    rng = np.random.default_rng(5)
    data = simulate(rng, 60, theta=np.array([0.03, 0.0, 0.0, 0.0, 0.0])).data
    one = fit(data, variance_prior=VariancePrior.none())
    assert one.diagnostics.converged
    assert one.theta[1] < 0.02
    assert one.slope_sd < 0.02


@pytest.mark.parametrize("kinds", [(0, 1), (0, 0)], ids=["one reading of each kind of setting", "two of one kind"])
def test_two_readings_that_a_line_meets_exactly_are_fitted_and_forecast(kinds):
    """With one reading of each kind the drift cannot be told from the difference between the kinds."""
    data = epochs_from_readings(
        [0, 0], [0, 1], kinds, [2.64, 0.0], [2.2, 1.7], [0.015, 0.015], current_epoch=[1], current_kind=[kinds[1]]
    )
    one = fit(data)
    assert list(one.layout.columns) == ([0, 1] if kinds == (0, 1) else [0, 2])
    assert np.isfinite(one.theta).all()
    assert np.isfinite(one.cov).all()
