"""Thirst alarm: a one-sided CUSUM on each truck's adjusted monthly fuel use."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t as student

from checks.rules.chart import rank_within
from checks.rules.epochs import Floats, Ints


@dataclass(frozen=True, slots=True)
class Cusum:
    """Upper and lower sums, shape (n,), and whether the upper one passed ``h``."""

    high: Floats
    low: Floats
    alarm: np.ndarray


def cusum(values: ArrayLike, target: float | Floats, k: float, h: float, group: Ints | None = None) -> Cusum:
    """Tabular CUSUM, restarted for each run of ``group``; a value that is NaN leaves the sums as they were.

    Parameters
    ----------
    values : shape (n,), in the order of time within each group.
    target, k, h : the level held, the allowance, and the decision interval, in the unit of the values.

    Raises
    ------
    ValueError
        When k is negative or h is not above zero.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3.
    """
    if k < 0 or h <= 0:
        raise ValueError("k must not be negative and h must be above zero")
    x = np.asarray(values, dtype=np.float64)
    group = np.zeros(len(x), dtype=np.int64) if group is None else group
    away = np.nan_to_num(x - target)
    slack = np.where(np.isnan(x), 0.0, k)
    rank, high, low = rank_within(group), np.zeros(len(x)), np.zeros(len(x))
    order = np.argsort(rank, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(rank[order])) + 1):
        fresh = rank[rows] == 0
        before_high = np.where(fresh, 0.0, high[rows - 1])
        before_low = np.where(fresh, 0.0, low[rows - 1])
        high[rows] = np.maximum(0.0, before_high + away[rows] - slack[rows])
        low[rows] = np.maximum(0.0, before_low - away[rows] - slack[rows])
    return Cusum(high, low, high > h)


# A shift of two standard deviations is looked for, so the allowance is one: 6.3.2.3 takes half the shift. Five then
# keeps false alarms rare even though level and spread are learnt from few months (tests/rules/test_thirst.py).
ALLOWANCE, DECISION = 1.0, 5.0
# A truck's own level is the mean of the twelve months before, and told from six on (ours, no source).
LEVEL_MONTHS, LEAST_MONTHS = 12, 6
# Less than this in log fuel is taken for this: a truck that wanders by half a percent is not thirsty (ours, no source).
LEAST_SPREAD = 0.01
# Mean range of two values in standard deviations.
D2 = 1.128


@dataclass(frozen=True, slots=True)
class MonthlyAlarm(Cusum):
    """`Cusum` in standard deviations, with each month's ``level`` (log fuel) before it, and its ``spread``; (n,).

    ``quiet``: months that the level rests on, 0 where it is not told yet. ``begun``: row in which the present run of
    thirst began, -1 where there is none.
    """

    level: Floats
    spread: Floats
    quiet: Ints
    begun: Ints


def monthly_alarm(log_fuel: Floats, truck: Ints) -> MonthlyAlarm:
    """Thirst of each truck against its own past.

    Parameters
    ----------
    log_fuel : shape (n,), adjusted log fuel use per truck-month, sorted by truck and month.
    truck : shape (n,), whole numbers.

    The spread is the truck's mean moving range over 1.128, which a shift of level hardly moves. Months of a run that
    stands, or that raised the alarm, do not count for the level. A run is over once two months in a row lie within the
    allowance, since a sum that grew for long would take as long to come down. When the lower sum passes the limit, as
    after a repair, the level is learnt anew from where that sum began.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 (sums) and 6.3.2.2 (moving range).
    """
    rank, spread = rank_within(truck), _spreads(log_fuel, truck)
    n = len(log_fuel)
    high, low, level = np.zeros(n), np.zeros(n), np.full(n, np.nan)
    quiet, begun, fell = np.zeros(n, np.int64), np.full(n, -1, np.int64), np.full(n, -1, np.int64)
    counts, calm, since = np.ones(n, bool), np.ones(n, bool), np.arange(n) - rank
    order = np.argsort(rank, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(rank[order])) + 1):
        first = rank[rows] == 0
        earlier = np.where(first, rows, rows - 1)
        since[rows] = since[earlier]
        _set_aside(counts, begun, high, earlier)
        back = np.where(begun[earlier] >= 0, begun[earlier], rows)[:, None] - np.arange(1, LEVEL_MONTHS + 1)
        held = (back >= since[rows][:, None]) & counts[np.maximum(back, 0)]
        quiet[rows] = held.sum(axis=1)
        mean = np.where(held, log_fuel[np.maximum(back, 0)], 0.0).sum(axis=1) / np.maximum(quiet[rows], 1)
        told = quiet[rows] >= LEAST_MONTHS
        level[rows] = np.where(told, mean, np.nan)
        away = (log_fuel[rows] - mean) / (spread[rows] * np.sqrt(1 + 1 / np.maximum(quiet[rows], 1)))
        calm[rows] = away <= ALLOWANCE
        over = ~told | (calm[rows] & calm[earlier] & ~first)
        high[rows] = np.where(over, 0.0, np.maximum(0.0, high[earlier] + away - ALLOWANCE))
        low[rows] = np.where(told, np.maximum(0.0, low[earlier] - away - ALLOWANCE), 0.0)
        begun[rows] = _run(high, begun, rows, earlier)
        fell[rows] = _run(low, fell, rows, earlier)
        settled = low[rows] > DECISION
        since[rows] = np.where(settled, fell[rows], since[rows])
        low[rows] = np.where(settled, 0.0, low[rows])
    return MonthlyAlarm(high, low, high > DECISION, level, spread, quiet, begun)


def _run(total: Floats, begun: Ints, rows: Ints, earlier: Ints) -> Ints:
    """Row in which the run began in which a sum stands above zero, -1 where it does not."""
    goes_on = (begun[earlier] >= 0) & (earlier != rows)
    return np.where(total[rows] > 0, np.where(goes_on, begun[earlier], rows), -1)


def _set_aside(counts: np.ndarray, begun: Ints, high: Floats, earlier: Ints) -> None:
    """Months of a run that raised the alarm never count for the level."""
    for row in earlier[high[earlier] > DECISION].tolist():
        counts[begun[row] : row + 1] = False


def _spreads(log_fuel: Floats, truck: Ints) -> Floats:
    same = np.diff(truck) == 0
    place = np.unique(truck, return_inverse=True)[1] if len(truck) else truck
    ranges = np.bincount(place[1:][same], np.abs(np.diff(log_fuel))[same], place.max() + 1) if len(truck) else log_fuel
    count = np.bincount(place[1:][same], minlength=len(ranges))
    return np.asarray(np.maximum(ranges / np.maximum(count, 1) / D2, LEAST_SPREAD)[place])


@dataclass(frozen=True, slots=True)
class Thirst:
    """How much more a truck uses than its own level since row ``begun``, in log fuel with 95 % limits."""

    begun: int
    more: float
    low: float
    high: float
    alarm: bool


def thirst_now(log_fuel: Floats, found: MonthlyAlarm) -> Thirst | None:
    """Of one truck's months: the run that stands in its last one; None where its level is not told or nothing rises."""
    if not len(log_fuel) or found.begun[-1] < 0:
        return None
    begun = int(found.begun[-1])
    since, quiet = log_fuel[begun:], int(found.quiet[-1])
    more = float(since.mean() - found.level[-1])
    error = found.spread[-1] * np.sqrt(1 / len(since) + 1 / quiet)
    half = float(student.ppf(0.975, max(len(log_fuel) - 1, 1) * 0.6) * error)
    return Thirst(begun, more, more - half, more + half, bool(found.alarm[-1]))
