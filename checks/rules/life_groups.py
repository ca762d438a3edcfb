"""Do groups share one life? By Weibull lives, and by ranks alone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2

from checks.rules.epochs import Floats
from checks.rules.life import Lives, fit_weibull
from checks.rules.survival import thinned, turnbull


@dataclass(frozen=True, slots=True)
class Comparison:
    """``statistic`` is chi-square with ``dof`` where the groups share one life."""

    statistic: float
    dof: int
    p: float

    @staticmethod
    def of(statistic: float, dof: int) -> "Comparison":
        held = max(0.0, float(statistic))
        return Comparison(held, dof, float(chi2.sf(held, dof)))


def compare(groups: Sequence[Lives]) -> Comparison:
    """Likelihood-ratio test of one Weibull life for all groups against one for each.

    Raises ValueError with fewer than two groups, or where one of them cannot be fitted by itself.
    """
    if len(groups) < 2:
        raise ValueError("a comparison needs at least two groups")
    apart = sum(fit_weibull(group).log_likelihood for group in groups)
    together = fit_weibull(Lives.joined(groups)).log_likelihood
    return Comparison.of(2 * (apart - together), 2 * (len(groups) - 1))


def compare_by_scores(groups: Sequence[Lives]) -> Comparison:
    """Score test of proportional hazards in the form of a permutation test, which assumes no shape.

    Raises ValueError with fewer than two groups, for late entries, or where nobody was seen outside.

    Source: Finkelstein (1986), Biometrics 42, 845-854, with the permutation variance of Fay and Shih (1998), Journal
    of the American Statistical Association 93, 387-396.
    """
    if len(groups) < 2:
        raise ValueError("a comparison needs at least two groups")
    whole = Lives.joined(groups)
    if (whole.entry > 0).any() or not whole.events:
        raise ValueError("scores need lives followed from the beginning, of which some ended")
    score, sizes = _scores(thinned(whole)), np.array([len(group.left) for group in groups])
    place = np.repeat(np.arange(len(groups)), sizes)
    sums = np.bincount(place, weights=score - score.mean())
    spread = score.var(ddof=1)
    # Of the sums' covariance, spread * (diag(sizes) - sizes sizes' / n), diag(1 / sizes) is a generalised inverse.
    return Comparison.of(float((sums**2 / sizes).sum() / spread), len(groups) - 1)


def _scores(lives: Lives) -> Floats:
    """Derivative of each unit's log-likelihood by a log hazard ratio, at the common estimate."""
    common = turnbull(lives)
    after = np.concatenate([[1.0], common.survival_after()])
    exact = lives.left == lives.right
    low = np.searchsorted(common.end, lives.left, side="right")
    high = np.searchsorted(common.end, lives.right, side="right")
    low = np.where(exact, high - 1, low)
    chance = after[low] - after[high]
    slope = _x_log_x(after[low]) - _x_log_x(after[high])
    return np.asarray(slope / np.maximum(chance, 1e-300))


def _x_log_x(x: Floats) -> Floats:
    return np.asarray(np.where(x > 1e-12, x * np.log(np.maximum(x, 1e-300)), 0.0))
