"""Stratified two-by-two tables: the common odds ratio, its limits, and an exact answer where cells are small."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.special import gammaln
from scipy.stats import chi2, norm

from checks.rules.epochs import Floats

# Below this expected count the normal approximation is not trusted (common practice, no source).
SMALL_CELL = 5.0


@dataclass(frozen=True, slots=True)
class OddsRatio:
    """Common odds ratio over strata with its limits and two-sided p; ``method`` is 'Mantel-Haenszel' or 'exact'.

    ``estimate`` and ``high`` may be inf; all four are NaN where no stratum can tell.
    """

    estimate: float
    low: float
    high: float
    p: float
    method: str
    strata: int


def common_odds_ratio(tables: ArrayLike, confidence: float = 0.95) -> OddsRatio:
    """Exact where any expected count is small, Mantel-Haenszel otherwise.

    Parameters
    ----------
    tables : shape (k, 2, 2), counts [[exposed cases, exposed others], [unexposed cases, unexposed others]].

    Raises
    ------
    ValueError
        When the shape is wrong or a count is negative or not whole.
    """
    counts = np.asarray(tables, dtype=np.float64)
    if counts.ndim != 3 or counts.shape[1:] != (2, 2):
        raise ValueError("tables must have shape (k, 2, 2)")
    if (counts < 0).any() or (counts != np.round(counts)).any():
        raise ValueError("counts must be whole and not negative")
    rows, columns = counts.sum(axis=2), counts.sum(axis=1)
    telling = counts[(rows > 0).all(axis=1) & (columns > 0).all(axis=1)]
    if not len(telling):
        return OddsRatio(np.nan, np.nan, np.nan, np.nan, "exact", 0)
    whole = telling.sum(axis=0)
    expected = whole.sum(axis=1)[:, None] * whole.sum(axis=0) / whole.sum()
    if expected.min() < SMALL_CELL:
        return exact_odds_ratio(telling, confidence)
    return mantel_haenszel(telling, confidence)


def mantel_haenszel(tables: Floats, confidence: float = 0.95) -> OddsRatio:
    """Mantel and Haenszel (1959) with the variance of Robins, Breslow and Greenland (1986); p by the CMH test
    with continuity correction.
    """
    a, b, c, d = (tables[:, i, j].astype(np.float64) for i in (0, 1) for j in (0, 1))
    n = a + b + c + d
    r, s = a * d / n, b * c / n
    if r.sum() == 0 or s.sum() == 0:
        return exact_odds_ratio(tables, confidence)
    p, q = (a + d) / n, (b + c) / n
    variance = (p * r).sum() / (2 * r.sum() ** 2) + (q * s).sum() / (2 * s.sum() ** 2)
    variance += (p * s + q * r).sum() / (2 * r.sum() * s.sum())
    estimate, half = r.sum() / s.sum(), norm.ppf((1 + confidence) / 2) * np.sqrt(variance)
    excess = (a - (a + b) * (a + c) / n).sum()
    spread = ((a + b) * (c + d) * (a + c) * (b + d) / (n**2 * (n - 1))).sum()
    statistic = max(abs(excess) - 0.5, 0.0) ** 2 / spread
    return OddsRatio(
        float(estimate),
        float(estimate * np.exp(-half)),
        float(estimate * np.exp(half)),
        float(chi2.sf(statistic, 1)),
        "Mantel-Haenszel",
        len(tables),
    )


def exact_odds_ratio(tables: Floats, confidence: float = 0.95) -> OddsRatio:
    """Conditional maximum likelihood and exact limits given all margins (Mehta, Patel and Gray 1985).

    One stratum gives Fisher's exact test and the conditional odds ratio.
    """
    low, logs = _conditional_law(tables)
    total = int(tables[:, 0, 0].sum()) - low
    steps = np.arange(len(logs))
    tail = (1 - confidence) / 2

    def law(log_ratio: float) -> Floats:
        weights = logs + log_ratio * steps
        weights = np.exp(weights - weights.max())
        return np.asarray(weights / weights.sum())

    def solve(goal: float, value: str) -> float:
        def gap(x: float) -> float:
            p = law(x)
            if value == "mean":
                return float(p @ steps) - goal
            return float((p[total:] if value == "above" else p[: total + 1]).sum()) - goal

        return float(np.exp(brentq(gap, -60.0, 60.0, xtol=1e-12)))

    first, last = total == 0, total == len(logs) - 1
    null = law(0.0)
    p = float(null[null <= null[total] * (1 + 1e-7)].sum())
    if len(logs) == 1:
        return OddsRatio(np.nan, 0.0, np.inf, 1.0, "exact", len(tables))
    return OddsRatio(
        0.0 if first else np.inf if last else solve(float(total), "mean"),
        0.0 if first else solve(tail, "above"),
        np.inf if last else solve(tail, "below"),
        min(p, 1.0),
        "exact",
        len(tables),
    )


def _conditional_law(tables: Floats) -> tuple[int, Floats]:
    """Smallest possible sum of exposed cases, and the log weights of each possible sum at odds ratio 1."""
    low, weights = 0, np.ones(1)
    for table in np.asarray(tables, dtype=np.float64):
        (a, b), (c, d) = table
        rows, cases, n = a + b, a + c, a + b + c + d
        least, most = int(max(0, rows + cases - n)), int(min(rows, cases))
        x = np.arange(least, most + 1)
        each = -(gammaln(x + 1) + gammaln(rows - x + 1) + gammaln(cases - x + 1) + gammaln(n - rows - cases + x + 1))
        weights = np.convolve(weights, np.exp(each - each.max()))
        weights, low = weights / weights.max(), low + least
    with np.errstate(divide="ignore"):
        return low, np.log(weights)
