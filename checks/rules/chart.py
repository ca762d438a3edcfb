"""One reading at a time: how far from its forecast? Innovations, jumps, and the EWMA chart for small shifts."""

from dataclasses import dataclass

import numpy as np

from checks.rules.drift import DriftFit
from checks.rules.epochs import Floats, Ints
from checks.rules.forecast import completed, spreads

# Beyond this many standard deviations a reading is a jump; 0.27 % of readings are by chance alone.
JUMP = 3.0


@dataclass(frozen=True, slots=True)
class Innovations:
    """Per reading, in the order of the fit's data, shape (n,).

    ``z``: (reading - forecast from the unit's earlier readings) / its standard deviation.
    ``comparable``: whether the same epoch has an earlier reading, so that a jump can be told from the setting.
    """

    z: Floats
    predicted_mm: Floats
    sd_mm: Floats
    comparable: np.ndarray

    @property
    def jumps(self) -> np.ndarray:
        return np.asarray(self.comparable & (np.abs(self.z) > JUMP))


def rank_within(group: Ints) -> Ints:
    """Place of each row in its run of equal ``group`` values, counted from 0; shape (n,)."""
    starts = np.flatnonzero(np.diff(group, prepend=-1))
    return np.arange(len(group)) - np.repeat(starts, np.diff(starts, append=len(group)))


def innovations(fit: DriftFit) -> Innovations:
    """Filter every unit forward through its readings, all units abreast.

    The state (a, b) of the present epoch is updated reading by reading (Kalman filter); at a new epoch a starts
    afresh and b is kept. Variance and fixed effects are those of the fit, the fixed effects' error is added.
    """
    data, s2 = fit.layout.data, spreads(fit) ** 2
    beta, cov = completed(fit)
    kind = data.kind[data.epoch]
    x = np.stack([kind == 0, kind == 1, data.usage], axis=1).astype(np.float64)
    expected, noise = x @ beta, fit.theta[0] ** 2 + data.u_mm**2 + ((x @ cov) * x).sum(axis=1)
    state, spread = np.zeros((data.units, 2)), np.zeros((data.units, 3))
    spread[:, 2] = fit.theta[3] ** 2 + fit.theta[4] ** 2
    mean, sd = np.empty(len(kind)), np.empty(len(kind))
    rank, fresh = rank_within(data.unit), np.diff(data.epoch, prepend=-1) > 0
    order = np.argsort(rank, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(rank[order])) + 1):
        _restart(fit, state, spread, data.unit[rows], kind[rows], fresh[rows], rank[rows] == 0, s2)
        unit, t = data.unit[rows], data.usage[rows]
        p = spread[unit]
        mean[rows] = expected[rows] + state[unit, 0] + state[unit, 1] * t
        gain = np.stack([p[:, 0] + p[:, 1] * t, p[:, 1] + p[:, 2] * t], axis=1)
        total = gain[:, 0] + gain[:, 1] * t + noise[rows]
        sd[rows] = np.sqrt(total)
        error = (data.travel_mm[rows] - mean[rows]) / total
        state[unit] += gain * error[:, None]
        lost = np.stack([gain[:, 0] ** 2, gain[:, 0] * gain[:, 1], gain[:, 1] ** 2], axis=1)
        spread[unit] = p - lost / total[:, None]
    return Innovations((data.travel_mm - mean) / sd, mean, sd, ~fresh)


def _restart(
    fit: DriftFit,
    state: Floats,
    spread: Floats,
    unit: Ints,
    kind: Ints,
    fresh: np.ndarray,
    first: np.ndarray,
    s2: Floats,
) -> None:
    """Give units that enter a new epoch a new intercept; only a unit's first one is correlated with its drift."""
    now = unit[fresh]
    state[now, 0] = 0.0
    spread[now, 0] = s2[kind[fresh]]
    spread[now, 1] = np.where(first[fresh], np.sqrt(s2[kind[fresh]]) * fit.theta[3], 0.0)


def ewma(values: Floats, target: float | Floats, weight: float = 0.3, group: Ints | None = None) -> Floats:
    """Exponentially weighted moving average of ``values``, restarted at ``target`` for each run of ``group``.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
    """
    values = np.asarray(values, dtype=np.float64)
    group = np.zeros(len(values), dtype=np.int64) if group is None else group
    rank, out = rank_within(group), np.empty(len(values))
    before = np.broadcast_to(np.asarray(target, dtype=np.float64), values.shape).copy()
    order = np.argsort(rank, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(rank[order])) + 1):
        last = np.where(rank[rows] == 0, before[rows], out[rows - 1])
        out[rows] = weight * values[rows] + (1 - weight) * last
    return out


def ewma_limit(sd: float, weight: float = 0.3, width: float = 3.0, rank: Ints | None = None) -> Floats:
    """Half-width of the control limits; with ``rank`` (from 0) the exact ones, else the asymptotic one.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
    """
    share = 1.0 if rank is None else 1.0 - (1.0 - weight) ** (2.0 * (np.asarray(rank, dtype=np.float64) + 1.0))
    return np.asarray(width * sd * np.sqrt(weight / (2.0 - weight) * share))
