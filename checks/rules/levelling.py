"""Fit due checks into the days of a bay: never past a hard limit, at the least added risk."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import linprog
from scipy.sparse import coo_array

from checks.rules.epochs import Floats, Ints

# A check made a day early gives up a day of known-good use; far less than a day of use outside the window.
EARLY_DAY = 0.002
# What leaving a check unplaced costs: more than any delay within a plan can.
UNPLACED = 1e6


@dataclass(frozen=True, slots=True)
class Shortage:
    """Why not everything fits: ``wanted`` checks must fall within days ``first`` to ``last``, which hold ``room``."""

    first: int
    last: int
    wanted: int
    room: int


def level(
    *,
    earliest: ArrayLike,
    due: ArrayLike,
    hard: ArrayLike,
    p_outside: ArrayLike,
    capacity: ArrayLike,
    fixed: ArrayLike | None = None,
) -> Ints:
    """Place n checks into d days.

    Parameters
    ----------
    earliest, due, hard : shape (n,), day numbers: first possible, wanted, and last allowed; ``due`` may be negative
        (overdue) or lie past the plan, and so may ``hard`` past it.
    p_outside : shape (n,) or (n, d), chance that the unit is outside, per day.
    capacity : shape (d,), checks per day, 0 on days without work.
    fixed : shape (n,), a day chosen by hand, or -1. It is kept, and uses capacity even where that is exceeded.

    Returns
    -------
    Day per check, shape (n,), -1 where it could not be placed; `shortages` says why.

    Raises
    ------
    ValueError
        When shapes differ, a capacity is negative, or a chance lies outside 0 to 1.

    The problem is a transportation problem, whose vertices are whole numbers; HiGHS solves it as a linear programme.
    """
    room = np.asarray(capacity, dtype=np.int64)
    first, wanted, last = (np.asarray(v, dtype=np.int64) for v in (earliest, due, hard))
    n, days = len(wanted), len(room)
    chance = np.asarray(p_outside, dtype=np.float64)
    chance = np.broadcast_to(chance[:, None] if chance.ndim == 1 else chance, (n, days))
    chosen = np.full(n, -1, dtype=np.int64) if fixed is None else np.asarray(fixed, dtype=np.int64)
    if not len(first) == len(last) == len(chosen) == n:
        raise ValueError("earliest, due, hard and fixed must have one length")
    if (room < 0).any() or (chance < 0).any() or (chance > 1).any() or (chosen >= days).any():
        raise ValueError("capacities must not be negative, chances must lie in 0 to 1, fixed days within the plan")
    day = chosen.copy()
    left = np.maximum(room - np.bincount(chosen[chosen >= 0], minlength=days), 0)
    loose = np.flatnonzero(chosen < 0)
    if len(loose) and days:
        delay = added_days_outside(wanted, chance)
        early = EARLY_DAY * np.maximum(wanted[:, None] - np.arange(days), 0)
        allowed = (np.arange(days) >= first[:, None]) & (np.arange(days) <= last[:, None]) & (left > 0)
        day[loose] = _assign((delay + early)[loose], allowed[loose], left)
    return day


def added_days_outside(due: Ints, chance: Floats) -> Floats:
    """Expected days outside from each due day, shape (n,), up to each day of the plan; shape (n, d), as ``chance``."""
    days = np.arange(chance.shape[1])
    waited = np.where(days > due[:, None], chance, 0.0)
    before = np.maximum(-due - 1, 0)[:, None] * chance[:, :1] if chance.shape[1] else 0.0
    return np.asarray(np.cumsum(waited, axis=1) + before)


def _assign(cost: Floats, allowed: np.ndarray, left: Ints) -> Ints:
    """Day per check, -1 where none is left."""
    n, days = cost.shape
    who, when = np.nonzero(allowed)
    # One column more per check stands for leaving it out.
    rows = np.concatenate([who, np.arange(n)])
    columns = np.arange(len(rows))
    each = coo_array((np.ones(len(rows)), (rows, columns)), shape=(n, len(rows)))
    per_day = coo_array((np.ones(len(who)), (when, np.arange(len(who)))), shape=(days, len(rows)))
    found = linprog(
        np.concatenate([cost[who, when], np.full(n, UNPLACED)]),
        A_ub=per_day.tocsr(),
        b_ub=left,
        A_eq=each.tocsr(),
        b_eq=np.ones(n),
        bounds=(0, 1),
        method="highs-ds",
    )
    taken = np.flatnonzero(found.x[: len(who)] > 0.5)
    day = np.full(n, -1, dtype=np.int64)
    day[who[taken]] = when[taken]
    return day


def shortages(first: Ints, last: Ints, left: Ints, day: Ints) -> tuple[Shortage, ...]:
    """For every check left out (`day` below 0), the shortest span of days about its own that holds fewer than must.

    Such a span exists for each of them (Hall's theorem for intervals).
    """
    out = np.flatnonzero(day < 0)
    if not len(out) or not len(left):
        return ()
    days = len(left)
    begin, end = np.clip(first, 0, days - 1), np.clip(last, 0, days - 1)
    within = np.zeros((days, days), dtype=np.int64)
    np.add.at(within, (begin, end), 1)
    wanted = np.cumsum(np.cumsum(within[::-1], axis=0)[::-1], axis=1)
    room = np.cumsum(left)[None, :] - np.concatenate([[0], np.cumsum(left)[:-1]])[:, None]
    short = (wanted > room) & (np.arange(days)[:, None] <= np.arange(days))
    length = np.where(short, np.arange(days) - np.arange(days)[:, None], 2 * days)
    spans = set()
    for one in out:
        about = length[: begin[one] + 1, end[one] :]
        b, e = np.unravel_index(int(about.argmin()), about.shape)
        spans.add((int(b), int(e + end[one])))
    return tuple(Shortage(b, e, int(wanted[b, e]), int(max(room[b, e], 0))) for b, e in sorted(spans))
