"""A simulated model of turbochargers with known truth, and the dense matrices it stands for."""

from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Epochs, epochs_from_readings

THETA = np.array([0.02, 0.05, 0.08, 0.01, 0.03])
BETA = np.array([1.5, 1.52, 0.04])


@dataclass(frozen=True)
class Simulated:
    data: Epochs
    intercept: np.ndarray  # of each unit's present line, mm
    slope: np.ndarray


def simulate(rng, units, *, theta=THETA, beta=BETA, epochs=(1, 4), readings=(2, 5), u=(0.005, 0.03)) -> Simulated:
    rows, current, kinds, lines = [], [], [], []
    for unit in range(units):
        z = rng.normal(size=2)
        drift = beta[2] + theta[3] * z[0] + theta[4] * z[1]
        for epoch in range(rng.integers(*epochs)):
            kind = min(epoch, 1)
            start = beta[kind] + theta[1 + kind] * (z[0] if epoch == 0 else rng.normal())
            usage = np.sort(rng.uniform(0, 2, rng.integers(*readings)))
            known = rng.uniform(*u, len(usage))
            travel = start + drift * usage + rng.normal(size=len(usage)) * np.hypot(theta[0], known)
            rows += [(unit, epoch, kind, t, y, v) for t, y, v in zip(usage, travel, known, strict=True)]
        current.append(epoch)
        kinds.append(kind)
        lines.append((start, drift))
    data = epochs_from_readings(*np.array(rows).T, current_epoch=current, current_kind=kinds)
    return Simulated(data, *np.array(lines).T)


def dense_covariance(data: Epochs, theta) -> np.ndarray:
    """V of all readings, written down term by term, shape (n, n)."""
    v = np.diag(theta[0] ** 2 + data.u_mm**2)
    for unit in range(data.units):
        for place, epoch in enumerate(np.unique(data.epoch[data.unit == unit])):
            one = (data.epoch == epoch).astype(float)
            if place:
                v += theta[1 + data.kind[epoch]] ** 2 * np.outer(one, one)
            else:
                low = np.array([[theta[1 + data.kind[epoch]], 0], [theta[3], theta[4]]])
                z = np.stack([one, np.where(data.unit == unit, data.usage, 0.0)], axis=1)
                v += z @ low @ low.T @ z.T
    return v


def design(data: Epochs) -> np.ndarray:
    kind = data.kind[data.epoch]
    return np.stack([kind == 0, kind == 1, data.usage], axis=1).astype(float)
