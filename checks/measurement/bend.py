"""Propagation of distributions through a bent curve, where first order is not good enough.

The travel at the setting is x + X(p_set - d) - X(p_set) + e, with d the error of the stimulus, e everything
else, X the rise. Both errors are taken as normal, as in ``conformity``. Given d the rest has a closed form, so the
only integral left is over d, which an equispaced rule over ±5 standard uncertainties solves to rounding: the same
answer as a Monte Carlo of millions of draws, the same on every run, for thousands of strokes at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from checks.measurement.curve import LocalCurve

FloatArray = NDArray[np.float64]

SWITCH_CURVATURE = 0.025
SWITCH_START = 3.0  # standard uncertainties of the stimulus between start of travel and setting

_Z = np.linspace(-5.0, 5.0, 61)
_W = np.exp(-0.5 * _Z * _Z)
_W /= _W.sum()
_ROOT_TAU = float(np.sqrt(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class Bent:
    """One stroke to be propagated. ``rest_u`` is the standard uncertainty of all that is not stimulus, mm."""

    travel_mm: float
    setting: float
    slope: float
    curve: LocalCurve | None
    stimulus_u: float
    rest_u: float
    lower_mm: float
    upper_mm: float


@dataclass(frozen=True, slots=True)
class Propagated:
    """Mean and standard deviation of the travel, the ends of its symmetric interval, and P below and above."""

    travel_mm: float
    standard_uncertainty_mm: float
    interval_mm: tuple[float, float]
    p_below: float
    p_above: float


def curvature(bend: float, stimulus_u: float, u: float) -> float:
    """κ = ½·|x″|·u_p²/u: the second-order term as a share of the uncertainty."""
    return 0.5 * abs(bend) * stimulus_u * stimulus_u / u if u > 0.0 else 0.0


def needs_propagation(kappa: float, start: float, setting: float, stimulus_u: float) -> bool:
    """Tell whether first order is not good enough for this stroke."""
    return kappa > SWITCH_CURVATURE or (stimulus_u > 0.0 and setting - start < SWITCH_START * stimulus_u)


def travel_on_curve(cases: Sequence[Bent], errors: FloatArray) -> FloatArray:
    """Travel at the setting for errors of the stimulus.

    Parameters
    ----------
    cases : n strokes
    errors : shape (n, m), in kPa or %

    Returns
    -------
    shape (n, m), mm; never below zero, since the rod rests on its stop
    """
    settings = np.array([[case.setting] for case in cases])
    travels = np.array([[case.travel_mm] for case in cases])
    at = settings - errors
    rises = _Rises(cases)
    moved: FloatArray = travels + rises.at(at) - rises.at(settings)
    # The rod rests on its stop; a corrected reading just below zero keeps its value.
    rested: FloatArray = np.maximum(moved, np.minimum(travels, 0.0))
    return rested


class _Rises:
    """The rises of n strokes as padded arrays of shape (n, 1) per segment."""

    def __init__(self, cases: Sequence[Bent]) -> None:
        lines = [_segments(case) for case in cases]
        most = max(len(line) for line in lines)
        padded = [line + [line[-1]] * (most - len(line)) for line in lines]
        self.table = np.ascontiguousarray(np.array(padded).transpose(1, 2, 0)[..., None])

    def at(self, stimulus: FloatArray) -> FloatArray:
        """Value of each stroke's rise, shape of ``stimulus`` (n, m)."""
        begin, stop, c0, c1, c2, c3 = self.table[0]
        t = np.clip(stimulus, begin, stop) - begin
        value: FloatArray = c0 + t * (c1 + t * (c2 + t * c3))
        for begin, stop, c0, c1, c2, c3 in self.table[1:]:
            t = np.minimum(stimulus, stop) - begin
            value = np.where(t > 0.0, c0 + t * (c1 + t * (c2 + t * c3)), value)
        return value


def _segments(case: Bent) -> list[tuple[float, float, float, float, float, float]]:
    """Cubic pieces (begin, stop, c0 to c3) in rising order; the last one reaches beyond the last reading."""
    if case.curve is None:
        begin = case.setting - case.travel_mm / case.slope if case.slope > 0.0 else case.setting
        return [(min(begin, case.setting), np.inf, 0.0, case.slope, 0.0, 0.0)]
    curve = case.curve.interpolant
    knots, values, slopes = curve.knots, curve.values, curve.slopes
    reach = case.setting - 8.0 * case.stimulus_u  # pieces below it are never asked for
    pieces = []
    for i in range(len(knots) - 1):
        if knots[i + 1] < reach:
            continue
        c2, c3 = curve.bends[i]
        pieces.append((knots[i], knots[i + 1], values[i], slopes[i], c2, c3))
    half = 0.5 * case.curve.bend
    # A falling parabola is followed to its top only: the rod does not come back as the stimulus rises.
    top = knots[-1] - slopes[-1] / (2.0 * half) if half < 0.0 else np.inf
    pieces.append((knots[-1], top, values[-1], slopes[-1], half, 0.0))
    return pieces


def propagate_bent(cases: Sequence[Bent], coverage_probability: float) -> list[Propagated]:
    """Propagate many strokes.

    Returns
    -------
    list of Propagated, in the order of ``cases``; each is the same whatever else is in the call. A few hundred at a
    time keep the working arrays in the processor's cache.

    Source
    ------
    JCGM 101:2008, 5.2 and 7.6 to 7.7 (mean, standard deviation, probabilistically symmetric interval).
    """
    stimulus_u = np.array([[case.stimulus_u] for case in cases])
    # A rest of exactly nothing would divide by zero; a thousandth of a micrometre changes no digit shown.
    rest_u = np.array([[max(case.rest_u, 1e-6)] for case in cases])
    travels = travel_on_curve(cases, stimulus_u * _Z)
    mean = (travels * _W).sum(axis=1)
    variance = (((travels - mean[:, None]) ** 2) * _W).sum(axis=1) + rest_u[:, 0] ** 2
    sd = np.sqrt(variance)
    rest_u = _smooth(travels, rest_u)
    below = _share_below(travels, rest_u, np.array([[case.lower_mm] for case in cases]))
    above = 1.0 - _share_below(travels, rest_u, np.array([[case.upper_mm] for case in cases]))
    tail = 0.5 - 0.5 * coverage_probability
    low = _quantile(travels, rest_u, mean, sd, tail)
    high = _quantile(travels, rest_u, mean, sd, 1.0 - tail)
    rows = zip(mean.tolist(), sd.tolist(), low.tolist(), high.tolist(), below.tolist(), above.tolist(), strict=True)
    return [Propagated(m, s, (a, b), pb, max(0.0, pa)) for m, s, a, b, pb, pa in rows]


def _smooth(travels: FloatArray, rest_u: FloatArray) -> FloatArray:
    """Rest at each node, at least half the step to the next one, or a steep rise would show as a staircase."""
    steps = np.abs(np.gradient(travels, axis=1))
    smoothed: FloatArray = np.maximum(rest_u, 0.5 * steps)
    return smoothed


def _share_below(travels: FloatArray, rest_u: FloatArray, limit: FloatArray) -> FloatArray:
    share: FloatArray = (ndtr((limit - travels) / rest_u) * _W).sum(axis=1)
    return share


def _quantile(travels: FloatArray, rest_u: FloatArray, mean: FloatArray, sd: FloatArray, share: float) -> FloatArray:
    """Quantile by Newton's steps from the normal one, each held within a bracket that closes on it."""
    x = mean + float(ndtri(share)) * sd
    low, high = mean - 10.0 * sd, mean + 10.0 * sd
    settled = np.zeros(len(x), dtype=bool)
    for _ in range(40):
        z = (x[:, None] - travels) / rest_u
        miss = (ndtr(z) * _W).sum(axis=1) - share
        density = (np.exp(-0.5 * z * z) * _W / rest_u).sum(axis=1) / _ROOT_TAU
        low = np.where(miss < 0.0, x, low)
        high = np.where(miss < 0.0, high, x)
        step = miss / np.maximum(density, 1e-300)
        settled |= np.abs(step) <= 1e-7 * sd
        if settled.all():
            break
        newton = x - step
        newton = np.where((newton > low) & (newton < high), newton, 0.5 * (low + high))
        x = np.where(settled, x, newton)  # a settled row keeps its value, so that company changes nothing
    return x
