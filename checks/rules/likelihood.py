"""Restricted likelihood of the epoch mixed model by two nested closed forms.

For unit i, epoch e and reading j at usage t since the epoch's start::

    y = m_kind(e) + a_ie + (beta + b_i) t + eps,   eps ~ N(0, sigma^2 + u_j^2), u_j known
    a_ie ~ N(0, s_kind(e)^2), b_i ~ N(0, l21^2 + l22^2)

Only the first epoch's a is correlated with b: (a_i1, b_i) = L z with L = [[s, 0], [l21, l22]]. The covariance is
never inverted, so a variance of zero is an ordinary point. Later epochs add rank one each (Sherman-Morrison), the
unit adds 2 x 2 (Woodbury), and everything is sums over an epoch: no matrix larger than 2 x 2 is formed per unit.

Source: Laird and Ware (1982), Biometrics 38, 963-974 (model, REML); Henderson (1975) for the predictions.
"""

from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Epochs, Floats, Ints

SIGMA, S_PLANT, S_WORKSHOP, L21, L22 = range(5)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where each epoch and each unit with readings begins. ``columns`` are the fixed effects that the data can tell."""

    data: Epochs
    epoch_starts: Ints
    unit_starts: Ints
    unit_of_epoch: Ints
    is_first: np.ndarray
    columns: Ints

    @property
    def units(self) -> int:
        return len(self.unit_starts)


def lay_out(data: Epochs) -> Layout:
    """Index the starts of epochs and of the units that have readings."""
    epoch_starts = np.flatnonzero(np.diff(data.epoch, prepend=-1))
    unit_starts = np.flatnonzero(np.diff(data.epoch_unit, prepend=-1))
    counts = np.diff(unit_starts, append=len(data.epoch_unit))
    is_first = np.zeros(len(data.epoch_unit), dtype=bool)
    is_first[unit_starts] = True
    kinds = [k for k in (0, 1) if (data.kind == k).any()]
    of = data.kind[data.epoch]
    # Drift is told where usage differs within a kind of setting; across kinds it cannot be told from their levels.
    moved = any(np.ptp(data.usage[of == k]) > 0 for k in kinds if (of == k).any())
    columns = np.array([*kinds, 2] if moved else kinds, dtype=np.int64)
    return Layout(
        data=data,
        epoch_starts=epoch_starts,
        unit_starts=unit_starts,
        unit_of_epoch=np.repeat(np.arange(len(unit_starts)), counts),
        is_first=is_first,
        columns=columns,
    )


@dataclass(frozen=True, slots=True)
class Moments:
    """Sums over each epoch of the weights times 1, t, t^2, y, ty, y^2; shape (epochs,) each."""

    o: Floats
    t: Floats
    tt: Floats
    y: Floats
    ty: Floats
    yy: Floats


def epoch_moments(layout: Layout, weight: Floats) -> Moments:
    """Add up weighted readings per epoch."""
    data = layout.data
    wt, wy = weight * data.usage, weight * data.travel_mm

    def add(column: Floats) -> Floats:
        return np.add.reduceat(column, layout.epoch_starts)

    return Moments(
        add(weight), add(wt), add(wt * data.usage), add(wy), add(wt * data.travel_mm), add(wy * data.travel_mm)
    )


def factors(theta: Floats) -> Floats:
    """Cholesky factor L per kind of setting, shape (2, 2, 2)."""
    low = np.zeros((2, 2, 2))
    low[:, 0, 0] = theta[S_PLANT : S_WORKSHOP + 1]
    low[:, 1, 0] = theta[L21]
    low[:, 1, 1] = theta[L22]
    return low


@dataclass(frozen=True, slots=True)
class Solution:
    """Everything that the likelihood, its gradient and the predictions share, at one theta.

    Per epoch: ``sums``, ``c`` = s^2 / (1 + s^2 S0) (zero for first epochs). Per unit with readings: ``m`` = U'R^-1 U,
    ``k`` = (G^-1 + m)^-1, ``ux`` = U'R^-1 X, ``uy`` = U'R^-1 y. ``xvx``, ``beta``, ``cov`` for the fixed effects.
    """

    sums: Moments
    c: Floats
    m: Floats
    k: Floats
    ux: Floats
    uy: Floats
    beta: Floats
    cov: Floats
    quadratic: Floats
    log_det_v: float
    log_det_xvx: float


def _inner(sums: Moments, c: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
    """Inner products of 1, t, y under R^-1 per epoch: 11, 1t, tt, 1y, ty, yy."""
    return (
        sums.o - c * sums.o**2,
        sums.t - c * sums.o * sums.t,
        sums.tt - c * sums.t**2,
        sums.y - c * sums.o * sums.y,
        sums.ty - c * sums.t * sums.y,
        sums.yy - c * sums.y**2,
    )


def _unit_pieces(layout: Layout, inner: tuple[Floats, ...]) -> tuple[Floats, Floats, Floats]:
    """U'R^-1 U (units, 2, 2), U'R^-1 X (units, 2, 3) and U'R^-1 y (units, 2)."""
    j11, j1t, jtt, j1y, jty, _ = inner
    first, kind = layout.unit_starts, layout.data.kind
    m = np.empty((layout.units, 2, 2))
    m[:, 0, 0], m[:, 0, 1], m[:, 1, 0] = j11[first], j1t[first], j1t[first]
    m[:, 1, 1] = np.add.reduceat(jtt, first)
    ux = np.zeros((layout.units, 2, 3))
    for k in (0, 1):
        ux[:, 0, k] = j11[first] * (kind[first] == k)
        ux[:, 1, k] = np.add.reduceat(j1t * (kind == k), first)
    ux[:, 0, 2], ux[:, 1, 2] = j1t[first], m[:, 1, 1]
    uy = np.stack([j1y[first], np.add.reduceat(jty, first)], axis=1)
    return m, ux, uy


def _fixed_pieces(layout: Layout, inner: tuple[Floats, ...]) -> tuple[Floats, Floats]:
    """X'R^-1 X (3, 3) and X'R^-1 y (3,)."""
    j11, j1t, jtt, j1y, jty, _ = inner
    kind = layout.data.kind
    xx, xy = np.zeros((3, 3)), np.zeros(3)
    for k in (0, 1):
        here = kind == k
        xx[k, k], xy[k] = j11[here].sum(), j1y[here].sum()
        xx[k, 2] = xx[2, k] = j1t[here].sum()
    xx[2, 2], xy[2] = jtt.sum(), jty.sum()
    return xx, xy


@dataclass(frozen=True, slots=True)
class FixedPrior:
    """Normal prior on (m_plant, m_workshop, beta): partial pooling toward the fleet. Zero precision is no prior."""

    mean: Floats
    precision: Floats

    @staticmethod
    def flat() -> "FixedPrior":
        return FixedPrior(np.zeros(3), np.zeros((3, 3)))

    @property
    def informs(self) -> bool:
        return bool(self.precision.any())


def solve(layout: Layout, theta: Floats, prior: FixedPrior) -> Solution:
    """Weighted least squares for the fixed effects at given variance parameters."""
    variance = theta[SIGMA] ** 2 + layout.data.u_mm**2
    sums = epoch_moments(layout, 1.0 / variance)
    s2 = theta[S_PLANT : S_WORKSHOP + 1][layout.data.kind] ** 2
    grown = 1.0 + s2 * sums.o
    c = np.where(layout.is_first, 0.0, s2 / grown)
    inner = _inner(sums, c)
    m, ux, uy = _unit_pieces(layout, inner)
    low = factors(theta)[layout.data.kind[layout.unit_starts]]
    b = np.eye(2) + low.transpose(0, 2, 1) @ m @ low
    det_b = b[:, 0, 0] * b[:, 1, 1] - b[:, 0, 1] * b[:, 1, 0]
    flipped = np.stack([np.stack([b[:, 1, 1], -b[:, 0, 1]], 1), np.stack([-b[:, 1, 0], b[:, 0, 0]], 1)], 1)
    k = low @ (flipped / det_b[:, None, None]) @ low.transpose(0, 2, 1)

    xx, xy = _fixed_pieces(layout, inner)
    kux = k @ ux
    xvx = xx - np.tensordot(ux, kux, axes=([0, 1], [0, 1])) + prior.precision
    xvy = xy - np.tensordot(kux, uy, axes=([0, 1], [0, 1])) + prior.precision @ prior.mean
    held = np.arange(3) if prior.informs else layout.columns
    grid = np.ix_(held, held)
    cov, beta = np.zeros((3, 3)), np.zeros(3)
    cov[grid] = np.linalg.inv(xvx[grid])
    beta[held] = cov[grid] @ xvy[held]
    yvy = inner[5].sum() - np.vdot((k @ uy[:, :, None])[:, :, 0], uy)
    quadratic = yvy + prior.mean @ prior.precision @ prior.mean - xvy[held] @ beta[held]
    log_det_v = np.log(variance).sum() + np.log(grown[~layout.is_first]).sum() + np.log(det_b).sum()
    log_det_xvx = float(np.linalg.slogdet(xvx[grid])[1])
    return Solution(sums, c, m, k, ux, uy, beta, cov, quadratic, float(log_det_v), log_det_xvx)


def log_likelihood(layout: Layout, solution: Solution, prior: FixedPrior) -> float:
    """Restricted log-likelihood; with a prior, the fixed effects are integrated over it."""
    n = len(layout.data.usage) - (0 if prior.informs else len(layout.columns))
    value = solution.log_det_v + solution.log_det_xvx + solution.quadratic + n * np.log(2 * np.pi)
    if prior.informs:
        value -= float(np.linalg.slogdet(prior.precision)[1])
    return -0.5 * float(value)


@dataclass(frozen=True, slots=True)
class Effects:
    """Predicted effects of columns z: ``a``, ``b`` and ``pull`` = 1'V^-1 z per epoch, shape (epochs, q);
    ``g`` = U'V^-1 z per unit with readings, shape (units, 2, q).
    """

    a: Floats
    b: Floats
    pull: Floats
    g: Floats


def effects(layout: Layout, solution: Solution, uz: Floats, sz: Floats) -> Effects:
    """Effects of columns with U'R^-1 z = ``uz`` (units, 2, q) and sums of w z per epoch = ``sz`` (epochs, q)."""
    sums, u = solution.sums, solution.k @ uz
    b = u[layout.unit_of_epoch, 1, :]
    later = solution.c[:, None] * (sz - b * sums.t[:, None])
    a = np.where(layout.is_first[:, None], u[layout.unit_of_epoch, 0, :], later)
    pull = sz - a * sums.o[:, None] - b * sums.t[:, None]
    return Effects(a=a, b=b, pull=pull, g=uz - solution.m @ u)


def effects_of_fixed(layout: Layout, solution: Solution) -> Effects:
    """Effects of the three columns of X."""
    o, kind = solution.sums.o, layout.data.kind
    return effects(layout, solution, solution.ux, np.stack([o * (kind == 0), o * (kind == 1), solution.sums.t], axis=1))


def effects_of_residual(layout: Layout, solution: Solution) -> Effects:
    """Effects of y - X beta, shape (..., 1): the best linear unbiased predictions."""
    sums, beta = solution.sums, solution.beta
    sz = sums.y - beta[layout.data.kind] * sums.o - beta[2] * sums.t
    return effects(layout, solution, (solution.uy - solution.ux @ beta)[:, :, None], sz[:, None])
