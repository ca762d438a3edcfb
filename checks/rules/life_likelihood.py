"""The log-likelihood of Weibull lives with its slopes and curvature, where log H(t) = a + b log t."""

from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Floats

# Cumulative hazards beyond these change nothing in double precision.
MOST_LOG, MOST = 600.0, 700.0


@dataclass(frozen=True, slots=True)
class Logs:
    """Logarithms of usages, taken once: units by how their life is known.

    open, exact, entry, first : of what each is known by, any lengths: last seen inside and going on, the moment of
        leaving, the entry, the first sight outside where it was never seen inside.
    low, high : of both ends, where it was seen on both sides; one length.
    """

    open: Floats
    exact: Floats
    entry: Floats
    first: Floats
    low: Floats
    high: Floats

    @staticmethod
    def of(left: Floats, right: Floats, entry: Floats) -> "Logs":
        """From usages; shape (n,) each."""
        ended, exact, begun = np.isfinite(right), left == right, left > 0
        both = ended & begun & ~exact
        wanted = (
            left[~ended & begun], left[exact], entry[entry > 0], right[ended & ~begun], left[both], right[both],
        )  # fmt: skip
        return Logs(*(np.log(usage) for usage in wanted))


Derivatives = tuple[float, Floats, Floats]


def derivatives(logs: Logs, theta: Floats) -> Derivatives:
    """Log-likelihood, gradient and Hessian by (a, b)."""
    a, b = float(theta[0]), float(theta[1])
    value, slope, curve = 0.0, np.zeros(2), np.zeros((2, 2))
    for x, sign in ((logs.open, -1.0), (logs.exact, -1.0), (logs.entry, 1.0)):
        if len(x):
            h = _hazard(a, b, x)
            value, slope, curve = _sum(value, slope, curve, _plain(h, x, sign))
    if len(logs.exact):
        x, n = logs.exact, len(logs.exact)
        value += n * (np.log(b) + a) + (b - 1) * float(x.sum())
        slope = slope + np.array([n, n / b + x.sum()])
        curve = curve - np.array([[0.0, 0.0], [0.0, n / b**2]])
    if len(logs.first):
        x = logs.first
        h = _hazard(a, b, x)
        value, slope, curve = _sum(value, slope, curve, _gone(h, h * x, h * x * x))
    if len(logs.low):
        low, high = _hazard(a, b, logs.low), _hazard(a, b, logs.high)
        x, y = low * logs.low, high * logs.high
        gone = _gone(high - low, y - x, y * logs.high - x * logs.low)
        value, slope, curve = _sum(value, slope, curve, _plain(low, logs.low, -1.0))
        value, slope, curve = _sum(value, slope, curve, gone)
    return value, slope, curve


def _hazard(a: float, b: float, x: Floats) -> Floats:
    return np.asarray(np.exp(np.minimum(a + b * x, MOST_LOG)))


def _sum(value: float, slope: Floats, curve: Floats, more: Derivatives) -> Derivatives:
    return value + more[0], slope + more[1], curve + more[2]


def _plain(h: Floats, x: Floats, sign: float) -> Derivatives:
    """Of the sum of sign * h."""
    hx = h * x
    zero, one, two = sign * float(h.sum()), sign * float(hx.sum()), sign * float(hx @ x)
    return zero, np.array([zero, one]), np.array([[zero, one], [one, two]])


def _gone(d: Floats, db: Floats, dbb: Floats) -> Derivatives:
    """Of the sum of log(1 - exp(-d)); ``db`` and ``dbb`` are d's derivatives by b, those by a are d itself."""
    w = 1.0 / np.expm1(np.clip(d, 1e-300, MOST))
    u, v = w * d, w * db
    value, first, second = -float(np.log1p(w).sum()), float(u.sum()), float(v.sum())
    aa = first - float(u @ d) - float(u @ u)
    ab = second - float(u @ db) - float(u @ v)
    bb = float(w @ dbb) - float(v @ db) - float(v @ v)
    return value, np.array([first, second]), np.array([[aa, ab], [ab, bb]])
