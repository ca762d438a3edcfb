"""Many models at once: large ones by themselves, small ones with strength lent by the fleet.

With few units the variance parameters are poorly known and forecasts that take them as known are too sure. A small
model is therefore forecast by integrating over them: quasi-random draws around the mode, weighted by the posterior.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize
from scipy.special import gammaincinv, ndtri
from scipy.stats import multivariate_t, qmc

from checks.rules.drift import FEW_UNITS, DriftFit, VariancePrior, fit, free_parameters
from checks.rules.epochs import Epochs, Floats
from checks.rules.forecast import Forecast, forecast, mixture
from checks.rules.likelihood import L21, FixedPrior, Layout, log_likelihood, solve

DRAWS = 64
# Between models, logarithms of standard deviations are taken to differ by at least this much.
LEAST_SPREAD = 0.35
_FREEDOM = 5


@dataclass(frozen=True, slots=True)
class ModelDrift:
    """A model's fit, the forecast of its units, and how it was reached ('own' or 'pooled')."""

    fit: DriftFit
    forecast: Forecast
    route: str


@dataclass(frozen=True, slots=True)
class Known:
    """What one large model lends the small ones: its variance parameters, which of them its data told, shapes (5,),
    and its drift with that drift's variance, None where its readings lie at one usage.
    """

    theta: Floats
    told: np.ndarray
    drift: tuple[float, float] | None

    @staticmethod
    def of(one: DriftFit) -> "Known":
        told = free_parameters(one.layout, VariancePrior.none())
        return Known(one.theta, told, (one.beta[2], one.cov[2, 2]) if 2 in one.layout.columns else None)


def is_large(data: Epochs) -> bool:
    """Whether a model has units enough to tell its own variances."""
    return len(np.unique(data.unit)) >= FEW_UNITS


def fit_model(data: Epochs, lent: Sequence[Known]) -> ModelDrift:
    """Fit one model; ``lent`` by the fleet's large models is used where its own units are few.

    Raises ValueError when there is no reading at all.
    """
    if len(data.usage) and is_large(data):
        one = fit(data)
        return ModelDrift(one, forecast(one), "own")
    variance, fixed = variance_prior(lent), drift_prior(lent)
    one = fit(data, variance_prior=variance, fixed_prior=_wide(fixed, data))
    return ModelDrift(one, integrated_forecast(one, variance), "pooled")


def variance_prior(lent: Sequence[Known]) -> VariancePrior:
    """What the fleet's large models say of a small one's variances; weak where there is none."""
    if not lent:
        return VariancePrior.weak()
    told = np.array([one.told for one in lent])
    size = np.log(np.maximum(np.abs([one.theta for one in lent]), 1e-9))
    centre, spread = np.ones(5), np.full(5, np.inf)
    for j in range(5):
        rows = size[told[:, j], j]
        # The sign of l21 is free, so its logarithm cannot be pooled.
        if len(rows) and j != L21:
            centre[j] = np.exp(rows.mean())
            spread[j] = max(LEAST_SPREAD, float(rows.std(ddof=1)) if len(rows) > 1 else 2 * LEAST_SPREAD)
    weak = VariancePrior.weak()
    return VariancePrior(centre, spread, np.where(np.isinf(spread), weak.push, 0.0))


def drift_prior(lent: Sequence[Known]) -> tuple[float, float] | None:
    """Mean and standard deviation of drift between models (DerSimonian and Laird 1986), from three models on."""
    told = [one.drift for one in lent if one.drift is not None]
    if len(told) < 3:
        return None
    value, variance = np.array(told).T
    weight = 1.0 / variance
    mean = (weight * value).sum() / weight.sum()
    excess = (weight * (value - mean) ** 2).sum() - (len(told) - 1)
    between = max(0.0, excess / (weight.sum() - (weight**2).sum() / weight.sum()))
    share = 1.0 / (between + 1.0 / weight)
    return float((share * value).sum() / share.sum()), float(np.sqrt(between + 1.0 / share.sum()))


def _wide(drift: tuple[float, float] | None, data: Epochs) -> FixedPrior:
    """Prior on the fixed effects: the fleet's drift where known, and means left to the data."""
    if drift is None:
        return FixedPrior.flat()
    spread = 10.0 * max(float(np.ptp(data.travel_mm)), 0.1)
    centre = float(data.travel_mm.mean())
    return FixedPrior(np.array([centre, centre, drift[0]]), np.diag([spread**-2, spread**-2, drift[1] ** -2]))


def integrated_forecast(one: DriftFit, prior: VariancePrior, draws: int = DRAWS) -> Forecast:
    """Forecast averaged over the posterior of the variance parameters.

    Importance sampling from a multivariate t around the mode, on (log sigma, log s, log s, l21 / scale, log l22),
    with the scrambled Sobol points of a fixed seed, so that a rebuild gives the same numbers.
    """
    free = free_parameters(one.layout, prior)
    chart = _Chart(one.layout, one.fixed_prior, prior.only(free), free, _scale(one))
    mode = chart.climb(chart.locate(one.theta))
    covariance: Floats = np.linalg.inv(chart.curvature(mode)).astype(np.float64)
    points = _t_points(mode, covariance, draws)
    proposal = multivariate_t(mode, covariance, df=_FREEDOM)
    logs = np.array([chart.density(x) for x in points]) - np.atleast_1d(proposal.logpdf(points))
    weights = np.exp(logs - logs.max())
    keep = weights > 1e-4
    parts = [forecast(chart.fit_at(one, x)) for x in points[keep]]
    return mixture(parts, weights[keep])


def _scale(one: DriftFit) -> Floats:
    spread = max(float(np.std(one.layout.data.travel_mm)), 1e-4)
    reach = max(float(np.abs(one.layout.data.usage).max()), 1e-3)
    return np.array([spread, spread, spread, spread / reach, spread / reach])


def _t_points(centre: Floats, covariance: Floats, draws: int) -> Floats:
    """Quasi-random points of a multivariate t, shape (draws, p)."""
    sobol = qmc.Sobol(len(centre) + 1, seed=20260101).random(draws)
    normal = ndtri(np.clip(sobol[:, :-1], 1e-6, 1 - 1e-6)) @ np.linalg.cholesky(covariance).T
    chi = 2 * gammaincinv(_FREEDOM / 2, np.clip(sobol[:, -1], 1e-6, 1 - 1e-6))
    return np.asarray(centre + normal / np.sqrt(chi / _FREEDOM)[:, None])


@dataclass(frozen=True, slots=True)
class _Chart:
    """Coordinates in which the posterior of the variance parameters is close to normal."""

    layout: Layout
    fixed: FixedPrior
    prior: VariancePrior
    free: np.ndarray
    scale: Floats

    def locate(self, theta: Floats) -> Floats:
        low = 1e-3 * self.scale
        x = np.log(np.maximum(np.abs(theta), low) / self.scale)
        x[L21] = theta[L21] / self.scale[L21]
        return np.asarray(x[self.free])

    def theta(self, x: Floats) -> Floats:
        full = np.zeros(5)
        full[self.free] = x
        out = np.where(self.free, self.scale * np.exp(np.clip(full, -12.0, 4.0)), 0.0)
        out[L21] = full[L21] * self.scale[L21]
        return out

    def density(self, x: Floats) -> float:
        """Log posterior in these coordinates: likelihood, prior, and a half-Cauchy on what the prior leaves free.

        Source of the half-Cauchy: Gelman (2006), Bayesian Analysis 1, 515-534.
        """
        theta = self.theta(x)
        value = log_likelihood(self.layout, solve(self.layout, theta, self.fixed), self.fixed)
        told = replace(self.prior, push=np.zeros(5)).value(theta)
        ratio = theta / self.scale
        loose = self.free & np.isinf(self.prior.spread)
        vague = -np.log1p(ratio**2) + np.where(np.arange(5) == L21, 0.0, np.log(np.maximum(np.abs(ratio), 1e-300)))
        return float(value + told + vague[loose].sum())

    def slope(self, x: Floats) -> Floats:
        step = 1e-4
        return np.array(
            [(self.density(x + step * e) - self.density(x - step * e)) / (2 * step) for e in np.eye(len(x))]
        )

    def climb(self, x: Floats) -> Floats:
        return np.asarray(minimize(lambda at: -self.density(at), x, method="BFGS", options={"gtol": 1e-2}).x)

    def curvature(self, x: Floats) -> Floats:
        """Minus the Hessian at the mode, made safely positive: no direction wider than two logarithmic units."""
        step = 1e-3
        rows = [(self.slope(x + step * e) - self.slope(x - step * e)) / (2 * step) for e in np.eye(len(x))]
        values, vectors = np.linalg.eigh(-(np.array(rows) + np.array(rows).T) / 2)
        return np.asarray((vectors * np.maximum(values, 0.5)) @ vectors.T)

    def fit_at(self, one: DriftFit, x: Floats) -> DriftFit:
        theta = self.theta(x)
        solution = solve(self.layout, theta, self.fixed)
        return replace(one, theta=theta, beta=solution.beta, cov=solution.cov, solution=solution)
