"""Complaints against travel: do trucks complain more while their wastegate is out of its window?"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from checks.rules.epochs import Floats, Ints
from checks.rules.odds import OddsRatio, common_odds_ratio


class Travel(IntEnum):
    """What a truck's wastegate was doing in a month."""

    UNKNOWN = -1
    INSIDE = 0
    OUTSIDE_LOW = 1
    OUTSIDE_HIGH = 2


@dataclass(frozen=True, slots=True)
class TruckMonths:
    """Truck-months sorted by truck and month, shape (n,) each.

    ``stratum`` numbers model and depot; ``travel`` is a `Travel`; ``complained`` whether a fuel complaint was raised;
    ``thirsty`` whether the thirst alarm stood.
    """

    truck: Ints
    month: Ints
    stratum: Ints
    travel: Ints
    complained: np.ndarray
    thirsty: np.ndarray


@dataclass(frozen=True, slots=True)
class Correlation:
    """``overall``, ``low`` and ``high``: odds of a complaint while outside against inside, within strata.

    Counts of truck-months with a complaint: ``explained`` by travel outside within the lag, ``unexplained`` with
    travel inside, and ``unknown``. ``state``: the worst `Travel` of each truck-month within the lag, shape (n,).
    """

    overall: OddsRatio
    low: OddsRatio
    high: OddsRatio
    explained: int
    unexplained: int
    unknown: int
    state: Ints


@dataclass(frozen=True, slots=True)
class Silent:
    """Trucks outside and thirsty up to their last month, that nobody complained about; shape (s,) each.

    ``row``: place of the last month among the truck-months; ``since``: the first month of that run.
    """

    row: Ints
    since: Ints


def correlate(months: TruckMonths, lag_months: int = 2) -> Correlation:
    """Relate complaints to the state of the wastegate.

    ``lag_months``: a complaint counts for the worst state of its own month and this many before it, since drivers
    notice late. Raises ValueError when the lag is negative.
    """
    if lag_months < 0:
        raise ValueError("the lag must not be negative")
    state = worst_within(months, lag_months)
    outside = state > Travel.INSIDE
    known = state != Travel.UNKNOWN
    asked = months.complained
    return Correlation(
        overall=_odds(months, outside, known),
        low=_odds(months, state == Travel.OUTSIDE_LOW, known & (state != Travel.OUTSIDE_HIGH)),
        high=_odds(months, state == Travel.OUTSIDE_HIGH, known & (state != Travel.OUTSIDE_LOW)),
        explained=int((asked & outside).sum()),
        unexplained=int((asked & known & ~outside).sum()),
        unknown=int((asked & ~known).sum()),
        state=state,
    )


def silent(months: TruckMonths, *, grace_months: int = 2, fresh_months: int = 2) -> Silent:
    """Trucks that are outside and thirsty now, and about which nobody complained.

    A complaint within ``grace_months`` before the run, or during it, breaks the silence. Trucks whose last known month
    lies more than ``fresh_months`` before the latest of all are left out: they may have been mended or sold since.
    """
    known = months.travel != Travel.UNKNOWN
    if not known.any():
        return Silent(np.zeros(0, np.int64), np.zeros(0, np.int64))
    bad = (months.travel > Travel.INSIDE) & months.thirsty
    place = np.arange(len(months.truck))
    starts = np.flatnonzero(np.diff(months.truck, prepend=months.truck[0] - 1))
    counts = np.diff(np.append(starts, len(place)))
    last = np.maximum.reduceat(np.where(known, place, -1), starts)
    # A month that is not known neither makes nor breaks a run.
    broken = np.maximum.reduceat(np.where(known & ~bad, place, -1), starts)
    after = np.where(bad & (place > np.repeat(broken, counts)), place, len(place))
    begun = np.minimum.reduceat(after, starts)
    runs = (last >= 0) & (begun <= last)
    row, first = last[runs], begun[runs]
    since = months.month[first]
    fresh = months.month[row] >= months.month[known].max() - fresh_months
    heard = months.complained & (months.month >= np.repeat(_spread(since, runs), counts) - grace_months)
    quiet = ~np.maximum.reduceat(heard, starts)[runs]
    return Silent(row[fresh & quiet], since[fresh & quiet])


def _spread(since: Ints, runs: np.ndarray) -> Ints:
    """Months by truck; beyond any month for trucks without a run."""
    out = np.full(len(runs), np.iinfo(np.int64).max // 2)
    out[runs] = since
    return out


def worst_within(months: TruckMonths, lag_months: int) -> Ints:
    """State of each truck-month, or of an earlier one within the lag if that was outside; shape (n,).

    The latest month outside counts; unknown only where no month within the lag is known.
    """
    state = months.travel.copy()
    for back in range(1, lag_months + 1):
        earlier = np.searchsorted(_key(months.truck, months.month), _key(months.truck, months.month - back))
        earlier = np.minimum(earlier, len(state) - 1)
        found = (months.truck[earlier] == months.truck) & (months.month[earlier] == months.month - back)
        before = np.where(found, months.travel[earlier], Travel.UNKNOWN)
        state = np.where((state <= Travel.INSIDE) & (before > state), before, state)
    return state


def _key(truck: Ints, month: Ints) -> Ints:
    return truck * 1_000_000 + month


def _odds(months: TruckMonths, exposed: np.ndarray, counted: np.ndarray) -> OddsRatio:
    tables = two_by_two(months.stratum[counted], exposed[counted], months.complained[counted])
    return common_odds_ratio(tables)


def strata_tables(months: TruckMonths, state: Ints) -> tuple[Ints, Floats]:
    """Each stratum with its table of `two_by_two`, outside against inside; unknown months are left out."""
    known = state != Travel.UNKNOWN
    names = np.unique(months.stratum[known])
    return names, two_by_two(months.stratum[known], state[known] > Travel.INSIDE, months.complained[known])


def two_by_two(stratum: Ints, exposed: np.ndarray, case: np.ndarray) -> Floats:
    """Tables [[exposed cases, exposed others], [unexposed cases, unexposed others]], shape (strata, 2, 2)."""
    names, index = np.unique(stratum, return_inverse=True)
    cell = index * 4 + np.where(exposed, 0, 2) + np.where(case, 0, 1)
    return np.bincount(cell, minlength=4 * len(names)).reshape(-1, 2, 2).astype(np.float64)
