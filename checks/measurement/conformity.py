"""From travel and uncertainty to a verdict, and what verdicts of a policy will cost."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from checks.measurement.guard import require, require_between, require_positive
from checks.measurement.specification import State

ROOT_HALF = math.sqrt(0.5)
FAR = 8.3  # standard uncertainties beyond which a normal tail is below the rounding of 1


def normal_cdf(z: float) -> float:
    """Probability that a standard normal variable is at most ``z``."""
    return 0.5 * math.erfc(-z * ROOT_HALF)


def probabilities(travel: float, u: float, lower: float, upper: float) -> tuple[float, float, float]:
    """Probability that the true value is inside, below and above the window.

    Parameters
    ----------
    travel, u, lower, upper : all in one unit; ``u`` is a standard uncertainty, zero allowed

    Returns
    -------
    (inside, below, above), adding up to one

    Source
    ------
    JCGM 106:2012, 7.4, normal distribution.

    Examples
    --------
    >>> round(probabilities(-5.47, 0.05, -math.inf, -5.40)[0], 3)
    0.919
    """
    if u <= 0.0:
        below, above = float(travel < lower), float(travel > upper)
        return 1.0 - below - above, below, above
    below = normal_cdf((lower - travel) / u)
    above = normal_cdf((travel - upper) / u)
    return max(0.0, 1.0 - below - above), below, above


def judge(inside: float, below: float, above: float, level: float) -> State:
    """State for the probabilities: a state is given only where it is proven at the policy's ``level``.

    Where 'outside' is proven but not on which side (uncertainty far wider than the window), the reading is
    undecided: there would be nothing to act on.
    """
    if inside >= level:
        return State.INSIDE
    if below >= level:
        return State.OUTSIDE_LOW
    if above >= level:
        return State.OUTSIDE_HIGH
    return State.UNDECIDED


def acceptance_limits(u: float, lower: float, upper: float, level: float) -> tuple[float, float] | None:
    """The two readings between which the probability of being inside is at least ``level``.

    Both limits of the window count at both ends, so the result holds for wide and for narrow windows.

    Returns
    -------
    (low, high), or None where no reading could prove the window
    """
    if u <= 0.0:
        return lower, upper
    middle = 0.5 * (lower + upper)
    if probabilities(middle, u, lower, upper)[0] < level:
        return None
    half = 0.5 * (upper - lower)
    reach = _reach(half / u, level) * u
    return middle - reach, middle + reach


def _reach(half: float, level: float) -> float:
    """Distance from the middle at which P(inside) = level, both in standard uncertainties.

    log P is concave in the distance, so Newton's steps from outside the root come down to it and stay outside.
    """
    if 2.0 * half - _one_sided(level) > FAR:  # the far limit adds less than rounding
        return half - _one_sided(level)
    reach = half
    for _ in range(60):
        inside = normal_cdf(half - reach) - normal_cdf(-half - reach)
        slope = (math.exp(-0.5 * (half + reach) ** 2) - math.exp(-0.5 * (half - reach) ** 2)) / math.sqrt(2.0 * math.pi)
        if slope >= 0.0:
            return 0.0
        step = math.log(inside / level) * inside / slope
        if reach - step <= 0.0:
            return 0.0
        reach -= step
        if abs(step) < 1e-13 * half:
            break
    return reach


@lru_cache(maxsize=64)
def _one_sided(level: float) -> float:
    return float(ndtri(level))


def uncertainty_ratio(expanded_uncertainty: float, lower: float, upper: float) -> float:
    """Width of the window over twice the expanded uncertainty; ``inf`` for a perfect instrument."""
    return (upper - lower) / (2.0 * expanded_uncertainty) if expanded_uncertainty > 0.0 else math.inf


@dataclass(frozen=True, slots=True)
class Risks:
    """Joint probabilities over a population: of being outside and accepted, and of being inside and rejected."""

    consumer: float
    producer: float
    accepted: float
    inside: float


def risks(
    *,
    population_mean: float,
    population_sd: float,
    u: float,
    lower: float,
    upper: float,
    accept_low: float,
    accept_high: float,
) -> Risks:
    """Consumer's and producer's risk of accepting readings from ``accept_low`` to ``accept_high``.

    Parameters
    ----------
    population_mean, population_sd : of the true values, normal
    u : standard uncertainty of one reading
    lower, upper : window; all in one unit

    Source
    ------
    JCGM 106:2012, 9.5 (global risks), checked against the example of 9.5.3.
    """
    require_positive(population_sd, "population_sd")
    require_positive(u, "u")
    require(lower < upper, "window_not_ordered", "upper", "The lower limit must lie below the upper limit.")
    require(accept_low <= accept_high, "window_not_ordered", "accept_high", "The acceptance limits must rise.")
    require_between(population_mean, -1e9, 1e9, "population_mean")
    spread = math.hypot(population_sd, u)
    accepted = _between(accept_low, accept_high, population_mean, spread)
    inside = _between(lower, upper, population_mean, population_sd)
    both = _inside_and_accepted(population_mean, population_sd, u, (lower, upper), (accept_low, accept_high))
    return Risks(max(0.0, accepted - both), max(0.0, inside - both), accepted, inside)


def _between(low: float, high: float, mean: float, sd: float) -> float:
    return normal_cdf((high - mean) / sd) - normal_cdf((low - mean) / sd)


def _inside_and_accepted(
    mean: float, sd: float, u: float, window: tuple[float, float], accept: tuple[float, float]
) -> float:
    """Integral over the window of prior times acceptance, in Gauss-Legendre panels no wider than either spread."""
    low, high = max(window[0], mean - 9.0 * sd), min(window[1], mean + 9.0 * sd)
    if low >= high:
        return 0.0
    panels = min(2000, math.ceil((high - low) / min(sd, u)))
    nodes, weights = np.polynomial.legendre.leggauss(12)
    edges = np.linspace(low, high, panels + 1)
    half = 0.5 * np.diff(edges)[:, None]
    true = 0.5 * (edges[:-1] + edges[1:])[:, None] + half * nodes
    prior = np.exp(-0.5 * ((true - mean) / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))
    taken = ndtr((accept[1] - true) / u) - ndtr((accept[0] - true) / u)
    return float((prior * taken * half * weights).sum())
