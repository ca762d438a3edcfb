"""The share still inside, without assuming a shape: Turnbull's estimate for interval-censored lives."""

from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Floats, Ints
from checks.rules.life import Lives


@dataclass(frozen=True, slots=True)
class Turnbull:
    """Probability ``mass`` in each interval (``begin``, ``end``], shape (m,); within one the curve is not known."""

    begin: Floats
    end: Floats
    mass: Floats
    log_likelihood: float

    def survival_after(self) -> Floats:
        """Share still inside after each interval's end, shape (m,)."""
        return np.asarray(np.maximum(1.0 - np.cumsum(self.mass), 0.0))


def turnbull(lives: Lives, *, tolerance: float = 1e-9, most: int = 20_000) -> Turnbull:
    """Self-consistent estimate with the extrapolation of Varadhan and Roland (2008), stopped by its optimality gap.

    At the maximum no mass would gain by more than ``tolerance`` times the number of units. A unit that entered late is
    counted given that it was inside then.

    Source: Turnbull (1976), Journal of the Royal Statistical Society B 38, 290-295; where mass can lie with late
    entries: Frydman (1994), same journal, 56, 71-74.
    """
    begin, end = innermost(lives)
    reach = _reach(lives, begin, end)
    mass = np.full(len(begin), 1.0 / len(begin))
    for _ in range(most):
        once, gap = _consistent(mass, reach)
        if gap < tolerance:
            break
        twice, _ = _consistent(once, reach)
        r, v = once - mass, twice - 2 * once + mass
        alpha = min(-float(np.sqrt((r @ r) / max(float(v @ v), 1e-300))), -1.0)
        leap = mass - 2 * alpha * r + alpha**2 * v
        leap = np.where(leap > 0, leap, twice * 1e-3)
        leap /= leap.sum()
        mass = leap if _log_likelihood(leap, reach) >= _log_likelihood(twice, reach) else twice
    keep = mass > 1e-8
    return Turnbull(begin[keep], end[keep], mass[keep], _log_likelihood(mass, reach))


@dataclass(frozen=True, slots=True)
class _Reach:
    """Which intervals, from ``first`` to ``last``, a unit's own takes in, and the ``open`` first after its entry;
    ``count`` units share them.
    """

    first: Ints
    last: Ints
    open: Ints
    count: Ints


def _reach(lives: Lives, begin: Floats, end: Floats) -> _Reach:
    exact = lives.left == lives.right
    first = np.where(
        exact, np.searchsorted(end, lives.right, side="left"), np.searchsorted(begin, lives.left, side="left")
    )
    last = np.searchsorted(end, lives.right, side="right") - 1
    reach = np.stack([first, last, np.searchsorted(end, lives.entry, side="right")])
    alike, count = np.unique(reach, axis=1, return_counts=True)
    return _Reach(alike[0], alike[1], alike[2], count)


def innermost(lives: Lives) -> tuple[Floats, Floats]:
    """Intervals that alone can hold mass: a left end followed at once by a right end or an entry; shapes (m,), (m,)."""
    exact = lives.left == lives.right
    late = lives.entry[lives.entry > 0]
    points = np.concatenate([lives.left, lives.right, late])
    # At one value a right end comes before a left end, but the two ends of an exact time stay together.
    side = np.concatenate([np.where(exact, 1, 2), np.where(exact, 1.5, 0), np.zeros(len(late))])
    is_right = np.concatenate([np.zeros(len(exact), bool), np.ones(len(exact) + len(late), bool)])
    order = np.lexsort((side, points))
    turn = np.flatnonzero(~is_right[order][:-1] & is_right[order][1:])
    return points[order][turn], points[order][turn + 1]


def _sums(mass: Floats, reach: _Reach) -> tuple[Floats, Floats]:
    """Chance of each unit's interval, and of being inside at its entry."""
    total = np.concatenate([[0.0], np.cumsum(mass)])
    within, after = total[reach.last + 1] - total[reach.first], total[-1] - total[reach.open]
    return np.maximum(within, 1e-300), np.maximum(after, 1e-300)


def _consistent(mass: Floats, reach: _Reach) -> tuple[Floats, float]:
    """One step of self-consistency, and the largest gain of log-likelihood by mass, for each unit."""
    within, after = (reach.count / x for x in _sums(mass, reach))
    change = np.zeros(len(mass) + 1)
    np.add.at(change, reach.first, within)
    np.add.at(change, reach.last + 1, -within)
    np.add.at(change, reach.open, -after)
    gain, whole = np.cumsum(change)[:-1], float(after.sum())
    new = mass * np.maximum(1.0 + gain / whole, 0.0)
    return new / new.sum(), float(gain.max()) / int(reach.count.sum())


def _log_likelihood(mass: Floats, reach: _Reach) -> float:
    within, after = _sums(mass, reach)
    return float(reach.count @ (np.log(within) - np.log(after)))


def thinned(lives: Lives, most: int = 200) -> Lives:
    """The same, told by ``most`` usages or so: ends moved outwards, so that what it says stays true.

    The estimate's cost grows with the number of usages, what it shows does not.
    """
    ends = np.where(np.isfinite(lives.right), lives.right, lives.left)
    if len(np.unique(np.concatenate([lives.left, ends]))) <= most:
        return lives
    step = float(ends.max()) / most
    right = np.where(np.isfinite(lives.right), np.ceil(lives.right / step) * step, np.inf)
    return Lives(np.floor(lives.left / step) * step, right, np.floor(lives.entry / step) * step)


def at_risk(lives: Lives, usage: Floats) -> Ints:
    """Units followed by then and known to be still inside at each usage, shape of ``usage``."""
    at = np.asarray(usage)[:, None]
    return np.asarray(((lives.left[None, :] >= at) & (lives.entry[None, :] <= at)).sum(axis=1))
