"""Looking ahead with a drift fit: travel at any usage, its uncertainty, and when it may leave the window."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from checks.rules.drift import DriftFit
from checks.rules.epochs import Floats, Ints
from checks.rules.likelihood import (
    Layout,
    Solution,
    effects_of_fixed,
    effects_of_residual,
    factors,
)

# Far below what is kept of a path, so that its digits do not depend on how units are taken together.
_STILL_MM = 1e-10


@dataclass(frozen=True, slots=True)
class Forecast:
    """True travel of each unit at scaled usage t since the start of its present epoch.

    A mixture over ``weights``, shape (draws,), one draw when the variance parameters are taken as known. Arrays of
    shape (draws, units): mean = ``intercept`` + ``slope`` t; variance = ``v0`` + 2 ``v1`` t + ``v2`` t^2, which holds
    the uncertainty of the fixed effects and of the unit's own effects, + ``process``, shape (draws, 1), the variance
    (sigma^2) about the line. Usages are given per unit, shape (units,); answers have the same shape.
    """

    intercept: Floats
    slope: Floats
    v0: Floats
    v1: Floats
    v2: Floats
    process: Floats
    weights: Floats

    @property
    def units(self) -> int:
        return int(self.slope.shape[1])

    def mean_mm(self, usage: Floats) -> Floats:
        return np.asarray(self.weights @ self._mean(usage))

    def sd_mm(self, usage: Floats) -> Floats:
        mean = self._mean(usage)
        spread = self.weights @ (self._sd(usage) ** 2 + (mean - self.weights @ mean) ** 2)
        return np.asarray(np.sqrt(spread))

    def slope_mm(self) -> tuple[Floats, Floats]:
        """Drift per scaled usage of each unit and its standard uncertainty."""
        mean = self.weights @ self.slope
        return mean, np.sqrt(self.weights @ (self.v2 + (self.slope - mean) ** 2))

    def p_outside(self, usage: Floats, lower_mm: float | Floats, upper_mm: float | Floats) -> Floats:
        """Chance that the true travel lies outside the window."""
        low, high = self.p_outside_by_side(usage, lower_mm, upper_mm)
        return low + high

    def p_outside_by_side(
        self, usage: Floats, lower_mm: float | Floats, upper_mm: float | Floats
    ) -> tuple[Floats, Floats]:
        """The same, split into below the lower and above the upper limit."""
        mean, sd = self._mean(usage), self._sd(usage)
        return self.weights @ ndtr((lower_mm - mean) / sd), self.weights @ ndtr((mean - upper_mm) / sd)

    def quantile_mm(self, usage: Floats, probability: float) -> Floats:
        """Travel below which the true one lies with ``probability``.

        Newton's steps, each unit's until its own stands still, halving where a step would leave what is known.
        """
        mean, sd = self._mean(usage), self._sd(usage)
        each = mean + ndtri(probability) * sd
        low, high = each.min(axis=0), each.max(axis=0)
        at = (low + high) / 2
        moving = high - low > _STILL_MM
        while moving.any():
            z = (at[moving] - mean[:, moving]) / sd[:, moving]
            excess = self.weights @ ndtr(z) - probability
            density = self.weights @ (np.exp(-(z**2) / 2) / sd[:, moving]) / np.sqrt(2 * np.pi)
            low[moving] = np.where(excess < 0, at[moving], low[moving])
            high[moving] = np.where(excess < 0, high[moving], at[moving])
            with np.errstate(divide="ignore", invalid="ignore"):
                to = at[moving] - excess / density
            to = np.where((low[moving] < to) & (to < high[moving]), to, (low[moving] + high[moving]) / 2)
            still = np.abs(to - at[moving]) < _STILL_MM
            at[moving] = to
            moving[moving] = ~still
        return np.asarray(at)

    def _mean(self, usage: Floats) -> Floats:
        return np.asarray(self.intercept + self.slope * usage)

    def _sd(self, usage: Floats) -> Floats:
        line = self.v0 + 2 * self.v1 * usage + self.v2 * usage**2
        return np.asarray(np.sqrt(np.maximum(line + self.process, 1e-18)))


def mixture(parts: Sequence[Forecast], weights: Floats) -> Forecast:
    """Forecasts of the same units under several variance parameters, weighted."""
    share = np.asarray(weights, dtype=np.float64) / np.sum(weights)

    def stack(name: str) -> Floats:
        return np.concatenate([getattr(part, name) for part in parts])

    return Forecast(
        intercept=stack("intercept"),
        slope=stack("slope"),
        v0=stack("v0"),
        v1=stack("v1"),
        v2=stack("v2"),
        process=stack("process"),
        weights=share,
    )


def forecast(fit: DriftFit) -> Forecast:
    """Best linear unbiased prediction for every unit, with its full variance.

    With Z = (1 over the first epoch, t, 1 over the present epoch if later) and G its prior covariance, the effects
    are G Z'V^-1 r, their error covariance G - G H G with H = Z'V^-1 Z, and the error of the fixed effects enters
    through d = x - X'V^-1 Z G z (Henderson 1975, Biometrics 31, 423-447).
    """
    layout, units = fit.layout, fit.layout.data.units
    kind = layout.data.current_kind
    g, h, f, pull = _effects(fit)
    posterior = g - g @ h @ g
    effect = (g @ pull[:, :, None])[:, :, 0]
    # Weights of the three effects in the intercept and in the slope of the line: a is the present epoch's.
    later = _is_later(layout)
    z0 = np.stack([~later, np.zeros(units), later], axis=1).astype(np.float64)
    z1 = np.tile([0.0, 1.0, 0.0], (units, 1))
    beta, cov = completed(fit)
    x0 = np.eye(3)[kind]
    x1 = np.tile([0.0, 0.0, 1.0], (units, 1))
    gf = g @ f
    d0 = x0 - np.einsum("ua,uap->up", z0, gf)
    d1 = x1 - gf[:, 1, :]

    def product(left: Floats, middle: Floats, right: Floats) -> Floats:
        return np.asarray(((left[:, None, :] @ middle)[:, 0, :] * right).sum(axis=1))

    return Forecast(
        intercept=(beta[kind] + (z0 * effect).sum(axis=1))[None],
        slope=(beta[2] + effect[:, 1])[None],
        v0=(product(z0, posterior, z0) + product(d0, cov, d0))[None],
        v1=(product(z0, posterior, z1) + product(d0, cov, d1))[None],
        v2=(product(z1, posterior, z1) + product(d1, cov, d1))[None],
        process=np.array([[fit.theta[0] ** 2]]),
        weights=np.ones(1),
    )


def completed(fit: DriftFit) -> tuple[Floats, Floats]:
    """Fixed effects and covariance with what the data could not tell filled in.

    A setting without a reading takes the other's mean, with that setting's spread as extra uncertainty; a drift
    without movement is zero within one spread of the readings per unit usage.
    """
    beta, cov = fit.beta.copy(), fit.cov.copy()
    if fit.fixed_prior.informs:
        return beta, cov
    for missing, other in ((0, 1), (1, 0)):
        if missing not in fit.layout.columns and other in fit.layout.columns:
            beta[missing] = beta[other]
            cov[missing], cov[:, missing] = cov[other], cov[:, other]
            cov[missing, missing] = cov[other, other] + spreads(fit)[other] ** 2
    if 2 not in fit.layout.columns:
        cov[2, 2] = spreads(fit).max() ** 2
    return beta, cov


def spreads(fit: DriftFit) -> Floats:
    """Spread of the intercept per setting, shape (2,); a setting without readings takes the other's."""
    s = fit.theta[1:3].copy()
    for missing, other in ((0, 1), (1, 0)):
        if missing not in fit.layout.columns and s[missing] == 0:
            s[missing] = s[other]
    return s


def _is_later(layout: Layout) -> np.ndarray:
    """Units whose present epoch is not the first one with readings."""
    data = layout.data
    first = data.first_epoch
    return np.asarray((first >= 0) & (data.current_epoch != first))


def _effects(fit: DriftFit) -> tuple[Floats, Floats, Floats, Floats]:
    """G (units, 3, 3), H = Z'V^-1 Z (units, 3, 3), Z'V^-1 X (units, 3, 3) and Z'V^-1 r (units, 3)."""
    layout, solution, data = fit.layout, fit.solution, fit.layout.data
    units, read = data.units, data.epoch_unit[fit.layout.unit_starts]
    of_x, of_r = effects_of_fixed(layout, solution), effects_of_residual(layout, solution)
    s = spreads(fit)
    low = factors(np.array([0.0, s[0], s[1], fit.theta[3], fit.theta[4]]))
    first_kind = data.current_kind.copy()
    first_kind[read] = data.kind[layout.unit_starts]
    g, h, f = np.zeros((units, 3, 3)), np.zeros((units, 3, 3)), np.zeros((units, 3, 3))
    pull = np.zeros((units, 3))
    g[:, :2, :2] = (low @ low.transpose(0, 2, 1))[first_kind]
    g[:, 2, 2] = s[data.current_kind] ** 2
    m, k = solution.m, solution.k
    h[read, :2, :2] = m - m @ k @ m
    f[read, :2], pull[read, :2] = of_x.g, of_r.g[:, :, 0]
    _add_present(layout, solution, h, f, pull, of_x.pull, of_r.pull[:, 0])
    return g, h, f, pull


def _add_present(
    layout: Layout, solution: Solution, h: Floats, f: Floats, pull: Floats, x_pull: Floats, r_pull: Floats
) -> None:
    """Fill in the third effect, the intercept of a present epoch that is later and has readings."""
    data = layout.data
    unit: Ints = np.flatnonzero(_is_later(layout) & (data.current_epoch >= 0))
    epoch = data.current_epoch[unit]
    inside = layout.unit_of_epoch[epoch]
    sums, c = solution.sums, solution.c
    j1 = (sums.o - c * sums.o**2)[epoch]
    j1t = (sums.t - c * sums.o * sums.t)[epoch]
    m, k = solution.m[inside], solution.k[inside]
    # U'V^-1 1 = (I - M K)(0, j1t)'
    cross = j1t[:, None] * (np.array([0.0, 1.0]) - (m @ k)[:, :, 1])
    h[unit, 2, 2] = j1 - j1t**2 * k[:, 1, 1]
    h[unit, :2, 2] = h[unit, 2, :2] = cross
    f[unit, 2] = x_pull[epoch]
    pull[unit, 2] = r_pull[epoch]


def due_usage(
    forecast_: Forecast,
    lower_mm: float | Floats,
    upper_mm: float | Floats,
    level: float,
    *,
    earliest: float | Floats = 0.0,
    latest: float = 20.0,
    steps: int = 48,
) -> Floats:
    """Earliest scaled usage, from ``earliest`` on, at which P_out reaches ``level``; shape (units,), inf where never.

    A coarse scan brackets the first crossing of every unit at once, bisection closes in to 1e-6 of the bracket.
    """
    begin = np.broadcast_to(np.asarray(earliest, dtype=np.float64), (forecast_.units,)).copy()
    low, high = begin.copy(), np.full(begin.shape, np.inf)
    reached = forecast_.p_outside(begin, lower_mm, upper_mm) >= level
    high[reached] = begin[reached]
    grid = np.linspace(0.0, 1.0, steps + 1)[1:] ** 2
    for share in grid:
        at = begin + share * (latest - begin)
        fresh = np.isinf(high) & (forecast_.p_outside(at, lower_mm, upper_mm) >= level)
        high[fresh] = at[fresh]
        still = np.isinf(high)
        low[still] = at[still]
    found = np.isfinite(high) & ~reached
    for _ in range(22):
        middle = np.where(found, (low + high) / 2, 0.0)
        above = forecast_.p_outside(middle, lower_mm, upper_mm) >= level
        high = np.where(found & above, middle, high)
        low = np.where(found & ~above, middle, low)
    return high
