"""Exact gradient of the restricted log-likelihood, by the same sums."""

import numpy as np

from checks.rules.epochs import Floats
from checks.rules.likelihood import (
    L21,
    L22,
    S_PLANT,
    SIGMA,
    Effects,
    Layout,
    Solution,
    effects_of_fixed,
    effects_of_residual,
    epoch_moments,
    factors,
)


def gradient(layout: Layout, solution: Solution, theta: Floats) -> Floats:
    """Derivative of `log_likelihood` by (sigma, s_plant, s_workshop, l21, l22), shape (5,).

    Uses d l = -1/2 [tr(V^-1 dV) - alpha' dV alpha - tr(C X'V^-1 dV V^-1 X)] with alpha = V^-1 (y - X beta).
    """
    of_x, of_r = effects_of_fixed(layout, solution), effects_of_residual(layout, solution)
    out = np.zeros(5)
    out[SIGMA] = -theta[SIGMA] * _noise(layout, solution, theta, of_x, of_r)
    for kind in (0, 1):
        out[S_PLANT + kind] = -theta[S_PLANT + kind] * _later(layout, solution, of_x, of_r, kind)
        t = _first(layout, solution, of_x, of_r, kind)
        slope = -t @ factors(theta)[kind]
        out[S_PLANT + kind] += slope[0, 0]
        out[L21] += slope[1, 0]
        out[L22] += slope[1, 1]
    return out


def _first(layout: Layout, solution: Solution, of_x: Effects, of_r: Effects, kind: int) -> Floats:
    """Sum of U'V^-1 U - gg' - FCF' over units whose first epoch is of `kind`, shape (2, 2)."""
    here = layout.data.kind[layout.unit_starts] == kind
    m, k, g, f = solution.m[here], solution.k[here], of_r.g[here, :, 0], of_x.g[here]
    h = (m - m @ k @ m).sum(axis=0)
    spread = np.tensordot(f @ solution.cov, f, axes=([0, 2], [0, 2]))
    return np.asarray(h - g.T @ g - spread)


def _later(layout: Layout, solution: Solution, of_x: Effects, of_r: Effects, kind: int) -> float:
    """The same for the intercepts of later epochs of `kind`."""
    here = ~layout.is_first & (layout.data.kind == kind)
    sums, c = solution.sums, solution.c
    j1 = (sums.o - c * sums.o**2)[here]
    j1t = (sums.t - c * sums.o * sums.t)[here]
    h = j1 - j1t**2 * solution.k[layout.unit_of_epoch[here], 1, 1]
    f = of_x.pull[here]
    return float(h.sum() - (of_r.pull[here] ** 2).sum() - np.vdot(f @ solution.cov, f))


def _noise(layout: Layout, solution: Solution, theta: Floats, of_x: Effects, of_r: Effects) -> float:
    """tr V^-1 - alpha'alpha - tr(C X'V^-2 X), from sums of squared weights."""
    weight = 1.0 / (theta[SIGMA] ** 2 + layout.data.u_mm**2)
    squared = epoch_moments(layout, weight * weight)
    pair = (squared.o, squared.t, squared.tt)
    trace = solution.sums.o.sum() - _posterior_trace(layout, solution, pair)
    # V^-1 z at one reading is w (z - a - b t), and each column of X is itself of the form (one, t).
    kind = layout.data.kind
    ones = np.stack([kind == 0, kind == 1, np.zeros(len(kind))], axis=1) - of_x.a
    slopes = np.array([0.0, 0.0, 1.0]) - of_x.b
    xx = _products(ones, slopes, pair)
    one = solution.beta[kind] + of_r.a[:, 0]
    slope = solution.beta[2] + of_r.b[:, 0]
    alpha = squared.yy - 2 * one * squared.y - 2 * slope * squared.ty
    alpha += one**2 * squared.o + 2 * one * slope * squared.t + slope**2 * squared.tt
    return float(trace - alpha.sum() - (xx * solution.cov).sum())


def _products(ones: Floats, slopes: Floats, pair: tuple[Floats, Floats, Floats]) -> Floats:
    """Sum over readings of w^2 (one + slope t)(one + slope t)', shape (3, 3)."""
    o, t, tt = pair
    cross = (ones * t[:, None]).T @ slopes
    return np.asarray((ones * o[:, None]).T @ ones + cross + cross.T + (slopes * tt[:, None]).T @ slopes)


def _posterior_trace(layout: Layout, solution: Solution, pair: tuple[Floats, Floats, Floats]) -> float:
    """Sum over readings of w^2 (1, t) P (1, t)', P the posterior covariance of (a, b) in the reading's epoch."""
    o, t, tt = pair
    c, s1 = solution.c, solution.sums.t
    k = solution.k[layout.unit_of_epoch]
    k22 = k[:, 1, 1]
    aa = np.where(layout.is_first, k[:, 0, 0], c + (c * s1) ** 2 * k22)
    ab = np.where(layout.is_first, k[:, 0, 1], -c * s1 * k22)
    return float((o * aa + 2 * t * ab + tt * k22).sum())
