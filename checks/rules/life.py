"""Life until outside, seen only at checks: interval-censored Weibull, and the estimate without a shape beside it.

A unit left its window at some time in (left, right]: between the last check that found it inside and the first that
found it outside. Right is inf while it is still inside; left is 0 when the first check found it outside; left = right
where the moment itself is known. A unit followed only from some usage on, because it was inside then, enters there:
those that had left before would not be among the lives (left truncation).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.stats import chi2, norm

from checks.rules.epochs import Floats
from checks.rules.life_likelihood import Logs, derivatives

# With fewer units seen outside limits come from the profile of the likelihood, since log-Wald limits under-cover there.
FEW_EVENTS = 50
# A fit beyond these ran away: the lives tell no shape.
SHAPES = (0.02, 200.0)
# More units than this are first fitted by a tenth of so many of them.
MANY = 20_000
NO_SHAPE = "the lives tell no shape; more units must be seen outside"


@dataclass(frozen=True, slots=True)
class Lives:
    """Intervals of n units: ``left``, ``right`` and ``entry``, shape (n,), in one unit of usage; entry 0 from new."""

    left: Floats
    right: Floats
    entry: Floats

    @staticmethod
    def of(left: ArrayLike, right: ArrayLike, entry: ArrayLike | None = None) -> "Lives":
        """Raises ValueError for lengths that differ, NaN, or what breaks 0 <= entry <= left <= right, entry < right."""
        low, high = np.asarray(left, dtype=np.float64), np.asarray(right, dtype=np.float64)
        since = np.zeros(low.shape) if entry is None else np.asarray(entry, dtype=np.float64)
        if not low.shape == high.shape == since.shape or low.ndim != 1:
            raise ValueError("left, right and entry must have one length")
        if not ((since >= 0) & (since <= low) & (low <= high) & (since < high)).all():
            raise ValueError("each unit needs 0 <= entry <= left <= right, and right above entry")
        return Lives(low, high, since)

    def only(self, rows: NDArray[np.bool_]) -> "Lives":
        """Some of them; ``rows`` of shape (n,)."""
        return Lives(self.left[rows], self.right[rows], self.entry[rows])

    @staticmethod
    def joined(groups: Sequence["Lives"]) -> "Lives":
        """All groups as one."""
        return Lives(*(np.concatenate([getattr(g, name) for g in groups]) for name in ("left", "right", "entry")))

    @property
    def events(self) -> int:
        """Units seen outside."""
        return int(np.isfinite(self.right).sum())


@dataclass(frozen=True, slots=True)
class WeibullFit:
    """``eta`` (usage at which 63 % have left) and ``beta`` (shape); ``cov`` of (log eta, log beta)."""

    eta: float
    beta: float
    cov: Floats
    log_likelihood: float
    lives: Lives

    def quantile(self, share: float = 0.1) -> float:
        """Usage by which ``share`` of the units have left their window; B10 for 0.1."""
        return float(self.eta * (-np.log1p(-share)) ** (1 / self.beta))

    def shape_limits(self, confidence: float = 0.95) -> tuple[float, float]:
        """Limits of the shape, from the curvature by its logarithm."""
        half = float(norm.ppf((1 + confidence) / 2) * np.sqrt(self.cov[1, 1]))
        return self.beta * float(np.exp(-half)), self.beta * float(np.exp(half))

    def limits(self, share: float = 0.1, confidence: float = 0.95) -> tuple[float, float]:
        """Limits of the quantile: profile likelihood below `FEW_EVENTS` events, log-Wald above."""
        if self.lives.events < FEW_EVENTS:
            return profile_limits(self, share, confidence)
        centre = np.log(self.quantile(share))
        slope = np.array([1.0, -np.log(-np.log1p(-share)) / self.beta])
        half = float(norm.ppf((1 + confidence) / 2) * np.sqrt(slope @ self.cov @ slope))
        return float(np.exp(centre - half)), float(np.exp(centre + half))


def fit_weibull(lives: Lives) -> WeibullFit:
    """Maximum likelihood by Newton's method with the exact Hessian in a and b, where log H(t) = a + b log t.

    Raises ValueError when no unit was seen outside, or where one usage lies in every interval: then no shape is told.

    Source: Meeker and Escobar (1998), Statistical Methods for Reliability Data, chapters 7 and 8.
    """
    if lives.events == 0:
        raise ValueError("no unit was seen outside; a life cannot be estimated yet")
    if lives.left.max() <= lives.right.min():
        raise ValueError(NO_SHAPE)
    logs, theta = Logs.of(lives.left, lives.right, lives.entry), _start(lives)
    if len(lives.left) > MANY:
        # A first look at some of many saves most of the steps over all.
        some = lives.only(np.arange(len(lives.left)) % (len(lives.left) // (MANY // 10)) == 0)
        if some.events:
            near = _climb(Logs.of(some.left, some.right, some.entry), theta)[0]
            theta = near if SHAPES[0] < near[1] < SHAPES[1] else theta
    theta, value, curve = _climb(logs, theta)
    a, b = theta
    if not SHAPES[0] < b < SHAPES[1]:
        raise ValueError(NO_SHAPE)
    # (log eta, log beta) = (-a / b, log b)
    jacobian = np.array([[-1 / b, a / b**2], [0.0, 1 / b]])
    cov = jacobian @ np.linalg.inv(_negative(curve)) @ jacobian.T
    return WeibullFit(float(np.exp(-a / b)), float(b), cov, value, lives)


def _climb(logs: Logs, theta: Floats) -> tuple[Floats, float, Floats]:
    """Newton's steps, halved until they gain: where they end, value and Hessian."""
    value, slope, curve = derivatives(logs, theta)
    for _ in range(100):
        step = np.linalg.solve(_negative(curve), slope)
        if abs(slope @ step) < 1e-10:
            break
        share = 1.0
        while share > 1e-9:
            new = theta + share * step
            found = derivatives(logs, new) if new[1] > 1e-3 else None
            if found and found[0] >= value - 1e-12 * abs(value):
                break
            share /= 2
        else:
            break
        theta, (value, slope, curve) = new, found
    return theta, value, curve


def _start(lives: Lives) -> Floats:
    """Shape one, and the level that gives the number of units seen outside."""
    middle = np.where(np.isfinite(lives.right), (lives.left + np.minimum(lives.right, 1e300)) / 2, lives.left)
    return np.array([np.log(lives.events / max(float(middle.sum()), 1e-300)), 1.0])


def _negative(curve: Floats) -> Floats:
    """Minus the Hessian, made positive definite where the likelihood is not concave."""
    values, vectors = np.linalg.eigh(-curve)
    return np.asarray((vectors * np.maximum(values, 1e-6 * max(values.max(), 1e-12))) @ vectors.T)


def profile_limits(fit: WeibullFit, share: float = 0.1, confidence: float = 0.95) -> tuple[float, float]:
    """Where twice the loss of log-likelihood, maximised over the shape, reaches the chi-square quantile.

    A side that the data do not bound is 0 or inf.
    """
    level, c = chi2.ppf(confidence, 1) / 2, np.log(-np.log1p(-share))
    centre = np.log(fit.quantile(share))
    logs = Logs.of(fit.lives.left, fit.lives.right, fit.lives.entry)
    near = float(np.log(fit.beta))

    def loss(log_quantile: float) -> float:
        # The best shape moves little from one quantile to the next.
        nonlocal near
        value, near = _best_shape(logs, c, log_quantile, near)
        return fit.log_likelihood - value - float(level)

    found = []
    for side in (-1.0, 1.0):
        reach = 0.25
        while loss(centre + side * reach) < 0 and reach < 40:
            reach *= 2
        if reach >= 40:
            found.append(-np.inf if side < 0 else np.inf)
            continue
        found.append(brentq(loss, *sorted((centre, centre + side * reach)), xtol=1e-7))
    return float(np.exp(found[0])), float(np.exp(found[1]))


def _best_shape(logs: Logs, c: float, log_quantile: float, log_b: float) -> tuple[float, float]:
    """Largest log-likelihood over the shape with one quantile held, and its log b; by safeguarded Newton from log b."""

    def at(log_b: float) -> tuple[float, float, float]:
        b = float(np.exp(log_b))
        value, slope, curve = derivatives(logs, np.array([c - b * log_quantile, b]))
        way = np.array([-b * log_quantile, b])
        return value, float(slope @ way), float(way @ curve @ way + slope @ way)

    value, slope, curve = at(log_b)
    for _ in range(60):
        step = slope / -curve if curve < 0 else np.sign(slope) * 0.5
        step = float(np.clip(step, -1.0, 1.0))
        while abs(step) > 1e-10:
            found = at(log_b + step)
            if found[0] >= value:
                break
            step /= 2
        else:
            break
        log_b += step
        gained, (value, slope, curve) = found[0] - value, found
        if gained < 1e-11 and abs(step) < 1e-6:
            break
    return value, log_b
