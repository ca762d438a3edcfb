"""Were units that came together set alike? Their travel when fitted, batch by batch, against the model's others."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import norm, t

from checks.rules.epochs import Floats

# Beyond this many standard errors a batch departs; 0.27 % of well-set batches do by chance.
DEPARTS = 3.0
# Fewer units are units of their own, not a batch.
FEWEST_UNITS = 3


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch: mean travel when fitted and its standard error; ``departure_mm`` from the mean of the units it
    is compared with, ``z`` that departure in its standard errors. ``departs`` is never true of fewer than three.
    """

    label: str
    units: int
    mean_mm: float
    se_mm: float
    departure_mm: float
    z: float

    @property
    def departs(self) -> bool:
        return self.units >= FEWEST_UNITS and abs(self.z) > DEPARTS


def intercepts(
    unit: ArrayLike, usage: ArrayLike, travel_mm: ArrayLike, u_mm: ArrayLike, *, slope_mm: float, theta: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    """Travel of each unit at the start of the epoch whose readings are given, by the model's slope.

    Parameters
    ----------
    unit, usage, travel_mm, u_mm : shape (n,), readings of plant-set epochs; usage scaled
    slope_mm : the model's drift per scaled usage
    theta : sigma, s_plant, s_workshop, l21, l22 of the fit

    Returns
    -------
    The units that have a reading, their intercepts (mm) and the variances of these about the model's mean (mm^2):
    spread of settings, of drift times usage, and of the readings. The unit's reading of least variance is taken, since
    a later one tells more of drift than of the setting.
    """
    who, run, y, u = (np.asarray(column, dtype=np.float64) for column in (unit, usage, travel_mm, u_mm))
    sigma, plant, _, l21, l22 = np.asarray(theta, dtype=np.float64)
    variance = (plant + l21 * run) ** 2 + (l22 * run) ** 2 + sigma**2 + u**2
    order = np.lexsort((variance, who))
    first = order[np.flatnonzero(np.diff(who[order], prepend=-1.0))]
    return who[first], y[first] - slope_mm * run[first], variance[first]


def batches(label: ArrayLike, intercept_mm: ArrayLike, variance_mm2: ArrayLike) -> tuple[Batch, ...]:
    """Compare the mean of every batch with that of the units outside it; batches in the order of their labels.

    A batch set apart would widen the spread by which it is judged, and shift the mean. So the spread is taken from the
    units outside the batch (``variance_mm2`` says only how units differ in it), and batches that depart are taken out
    of the comparison one after another, the farthest first.

    Parameters
    ----------
    label, intercept_mm, variance_mm2 : shape (n,), per unit

    Source
    ------
    For one unit the statistic is the externally studentised residual of Cook and Weisberg (1982), Residuals and
    Influence in Regression, 2.2.1; t is turned into the normal z of the same tail.
    """
    names, place = np.unique(np.asarray(label, dtype=str), return_inverse=True)
    value, variance = (np.asarray(column, dtype=np.float64) for column in (intercept_mm, variance_mm2))
    sums = np.stack([np.bincount(place, each, len(names)) for each in _moments(value, variance)]).astype(np.float64)
    sound = np.ones(len(names), dtype=bool)
    while True:
        departure, z = _against(sums, sound)
        doubtful = sound & (sums[0] >= FEWEST_UNITS) & (np.abs(z) > DEPARTS)
        if not doubtful.any():
            break
        sound[np.argmax(np.where(doubtful, np.abs(z), 0.0))] = False
    count, total, _, spread, _, _ = sums
    rows = zip(names, count, total / count, np.sqrt(spread) / count, departure, z, strict=True)
    return tuple(Batch(str(row[0]), int(row[1]), *(float(number) for number in row[2:])) for row in rows)


def _moments(value: Floats, variance: Floats) -> list[Floats]:
    """Per unit: 1, value, weight, variance, and weighted value and square; a batch's statistics are sums of these."""
    weight = 1.0 / variance
    return [np.ones_like(value), value, weight, variance, weight * value, weight * value**2]


def _against(sums: Floats, sound: np.ndarray) -> tuple[Floats, Floats]:
    """Departure of every batch from the sound units outside it, and that as a normal z."""
    rest = (sums * sound).sum(axis=1, keepdims=True) - sums * sound
    own, others = sums[0], rest[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        departure = sums[1] / own - rest[1] / others
        centre = rest[4] / rest[2]
        scale = np.maximum(rest[5] - rest[2] * centre**2, 0.0) / (others - 1)
        statistic = departure / np.sqrt(scale * (sums[3] / own**2 + rest[3] / others**2))
        z = -np.sign(statistic) * norm.ppf(t.sf(np.abs(statistic), others - 1))
    known = others >= FEWEST_UNITS
    return np.where(known, departure, 0.0), np.where(known & np.isfinite(z), z, np.sign(departure) * 38.0 * known)
