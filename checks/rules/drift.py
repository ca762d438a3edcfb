"""Drift of travel with usage, fitted to all turbochargers of a model at once.

The model and its likelihood stand in `checks.rules.likelihood`; `checks.rules.forecast` looks ahead with the fit,
`checks.rules.pooling` fits many models and lends the small ones strength from the fleet.
"""

from dataclasses import dataclass, field

import numpy as np

from checks.rules.descent import Minimum, descend
from checks.rules.epochs import Epochs, Floats, every
from checks.rules.gradient import gradient
from checks.rules.likelihood import (
    L22,
    S_WORKSHOP,
    FixedPrior,
    Layout,
    Solution,
    lay_out,
    log_likelihood,
    solve,
)

# Fewer units than this cannot tell their own variances well: see `checks.rules.pooling`.
FEW_UNITS = 40
SAMPLE_UNITS = 2_000


@dataclass(frozen=True, slots=True)
class VariancePrior:
    """Normal prior on the logarithm of |theta|; ``spread`` of inf leaves a parameter free. Shapes (5,).

    The weak penalty of Chung et al. (2013), Psychometrika 78, 685-709, adds ``push`` * log|theta|, which keeps a
    standard deviation off zero and the correlation off +-1 and fades with the number of units.
    """

    centre: Floats
    spread: Floats
    push: Floats

    @staticmethod
    def none() -> "VariancePrior":
        return VariancePrior(np.ones(5), np.full(5, np.inf), np.zeros(5))

    @staticmethod
    def weak() -> "VariancePrior":
        return VariancePrior(np.ones(5), np.full(5, np.inf), np.array([0.1, 1.0, 1.0, 0.0, 1.0]))

    def only(self, free: np.ndarray) -> "VariancePrior":
        """The same prior, silent about parameters that are not free."""
        return VariancePrior(self.centre, np.where(free, self.spread, np.inf), np.where(free, self.push, 0.0))

    def value(self, theta: Floats) -> float:
        size = np.log(np.maximum(np.abs(theta), 1e-300))
        pull = ((size - np.log(self.centre)) / self.spread) ** 2
        return float((self.push * size - 0.5 * np.where(np.isinf(self.spread), 0.0, pull)).sum())

    def slope(self, theta: Floats) -> Floats:
        size = np.log(np.maximum(np.abs(theta), 1e-300))
        safe = np.where(theta == 0, 1e-300, theta)
        pull = np.where(np.isinf(self.spread), 0.0, (size - np.log(self.centre)) / self.spread**2)
        return np.asarray(np.where((self.push == 0) & (pull == 0), 0.0, (self.push - pull) / safe))


@dataclass(frozen=True, slots=True)
class Diagnostics:
    """What to know before trusting a fit: nothing is printed, everything is here.

    ``decrement`` is the log-likelihood still to be gained; ``condition`` that of the fixed effects' information;
    ``readings_per_unit`` the mean over units with readings.
    """

    converged: bool
    evaluations: int
    decrement: float
    condition: float
    units: int
    units_with_readings: int
    units_with_slope: int
    readings: int
    readings_per_unit: float
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DriftFit:
    """Estimates of one model: ``theta`` = (sigma, s_plant, s_workshop, l21, l22), ``beta`` = (m_plant, m_workshop,
    drift), in mm and mm per scaled usage, with the covariance ``cov`` of beta.
    """

    theta: Floats
    beta: Floats
    cov: Floats
    log_likelihood: float
    diagnostics: Diagnostics
    layout: Layout = field(repr=False)
    solution: Solution = field(repr=False)
    fixed_prior: FixedPrior = field(repr=False)

    @property
    def slope_sd(self) -> float:
        """Spread of drift between units, mm per scaled usage."""
        return float(np.hypot(self.theta[3], self.theta[4]))


def starting_point(data: Epochs) -> Floats:
    """Rough variance parameters from ordinary least squares, shape (5,)."""
    kind = data.kind[data.epoch]
    x = np.stack([kind == 0, kind == 1, data.usage], axis=1).astype(np.float64)
    residual = data.travel_mm - x @ np.linalg.lstsq(x, data.travel_mm, rcond=None)[0]
    # A line through as many readings as it has parameters leaves nothing but rounding.
    spread = max(float(np.sqrt(np.mean(residual**2))), 1e-3)
    reach = float(np.sqrt(np.mean(data.usage**2))) or 1.0
    return spread * np.array([0.4, 0.7, 0.7, 0.05 / reach, 0.4 / reach])


def free_parameters(layout: Layout, prior: VariancePrior) -> np.ndarray:
    """Which of the five parameters the data or the prior can tell, shape (5,) of bool."""
    kinds, moved = layout.data.kind, np.ptp(layout.data.usage) > 0
    told = np.array([True, (kinds == 0).any(), (kinds == 1).any(), moved, moved])
    return np.asarray(told | np.isfinite(prior.spread))


def fit(
    data: Epochs,
    *,
    fixed_prior: FixedPrior | None = None,
    variance_prior: VariancePrior | None = None,
    start: Floats | None = None,
) -> DriftFit:
    """Estimate the drift of one model by restricted maximum likelihood.

    Parameters
    ----------
    data : readings of its units, usage scaled to order one.
    fixed_prior, variance_prior : pooling toward the fleet; without them no prior and the weak penalty.
    start : variance parameters to begin from, shape (5,); a refit after one more check starts at the last fit.

    Raises
    ------
    ValueError
        When there is no reading at all.

    Source: Laird and Ware (1982); penalty of Chung et al. (2013).
    """
    if not len(data.usage):
        raise ValueError("a model without a single reading cannot be fitted")
    fixed = fixed_prior or FixedPrior.flat()
    prior = variance_prior or VariancePrior.weak()
    layout = lay_out(data)
    free = free_parameters(layout, prior)
    prior = prior.only(free)
    scale = starting_point(data)
    if start is not None:
        scale = np.where(start == 0, scale, np.abs(start))
    found = _climb(layout, fixed, prior, free, scale)
    theta = _upright(_expand(found.x, free, scale))
    solution = solve(layout, theta, fixed)
    return DriftFit(
        theta=theta,
        beta=solution.beta,
        cov=solution.cov,
        log_likelihood=log_likelihood(layout, solution, fixed),
        diagnostics=_diagnose(layout, solution, found, free),
        layout=layout,
        solution=solution,
        fixed_prior=fixed,
    )


def _climb(layout: Layout, fixed: FixedPrior, prior: VariancePrior, free: np.ndarray, scale: Floats) -> Minimum:
    """Maximise, in units of ``scale``."""

    def minus(x: Floats) -> tuple[float, Floats]:
        # A line search may stride far out, where the fixed effects can no longer be told from the random ones.
        if np.abs(x).max() > 1e3:
            return 1e100, np.sign(x) * 1e100
        theta = _expand(x, free, scale)
        solution = solve(layout, theta, fixed)
        value = log_likelihood(layout, solution, fixed) + prior.value(theta)
        return -value, -((gradient(layout, solution, theta) + prior.slope(theta)) * scale)[free]

    x, curve = np.ones(free.sum()), None
    step = max(1, layout.data.units // SAMPLE_UNITS)
    sample = lay_out(every(layout.data, step)) if step > 1 else layout
    if sample is not layout and bool((free_parameters(sample, prior) == free).all()):
        # A sample finds the neighbourhood and the curvature; all units then need few steps.
        near = _climb(sample, fixed, prior, free, scale)
        x, curve = near.x, near.curve * (len(sample.data.usage) / len(layout.data.usage))
    return descend(minus, x, curve=curve)


def _expand(x: Floats, free: np.ndarray, scale: Floats) -> Floats:
    theta = np.zeros(5)
    theta[free] = x * scale[free]
    return theta


def _upright(theta: Floats) -> Floats:
    """The same covariance with standard deviations that are not negative."""
    out = theta.copy()
    # (a, b) = L z: turning the sign of z's first component flips s and l21 together.
    if out[1] < 0 or (out[1] == 0 and out[3] < 0):
        out[3] = -out[3]
    out[[0, 1, 2, 4]] = np.abs(out[[0, 1, 2, 4]])
    return out


def _diagnose(layout: Layout, solution: Solution, found: Minimum, free: np.ndarray) -> Diagnostics:
    data = layout.data
    held = np.diag(solution.cov) > 0
    scale = np.sqrt(np.diag(solution.cov)[held])
    correlation = solution.cov[np.ix_(held, held)] / np.outer(scale, scale)
    spans = np.add.reduceat(solution.sums.tt - solution.sums.t**2 / solution.sums.o, layout.unit_starts)
    remarks = []
    if layout.units < FEW_UNITS:
        remarks.append(f"{layout.units} units with readings tell their variances poorly; pool them with other models.")
    if not free[S_WORKSHOP]:
        remarks.append("No reading after a workshop setting; its spread is taken from the plant's.")
    if not free[L22]:
        remarks.append("All readings lie at one usage; the drift cannot be told.")
    if data.units > layout.units:
        remarks.append(f"{data.units - layout.units} units without a reading are forecast from their model.")
    return Diagnostics(
        converged=found.decrement < 1e-6,
        evaluations=found.evaluations,
        decrement=found.decrement,
        condition=float(np.linalg.cond(correlation)),
        units=data.units,
        units_with_readings=layout.units,
        units_with_slope=int((spans > 1e-12 * solution.sums.o.max()).sum()),
        readings=len(data.usage),
        readings_per_unit=len(data.usage) / layout.units,
        remarks=tuple(remarks),
    )
