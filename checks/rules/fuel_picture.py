"""Adjusted fuel against where travel stood, gathered into a few points for a picture."""

from dataclasses import dataclass

import numpy as np

from checks.rules.complaints import Travel
from checks.rules.epochs import Floats, Ints
from checks.rules.fuel_cost import Slopes
from checks.rules.truck_travel import TruckTravel

# Points a side has at most, and truck-months that a point needs.
POINTS, MONTHS_PER_POINT = 6, 6


@dataclass(frozen=True, slots=True)
class Point:
    """Truck-months that stood alike: ``at`` is their mean shortfall or excess in mm, or their mean place in the window.

    ``log_fuel``: how much more they used than their trucks would have inside; ``error`` is clustered by truck.
    """

    side: int
    at: float
    log_fuel: float
    error: float
    months: int
    trucks: int


def points_of(truck: Ints, weight: Floats, log_fuel: Floats, travel: TruckTravel, slopes: Slopes) -> list[Point]:
    """Partial residuals of the two wastegate terms in bins of even numbers of truck-months.

    A partial residual is what a month used beyond its truck's own mean, plus what the fit says that the truck's mean
    travel costs. Shapes (c,), sorted by truck; months of unknown travel are left out.
    """
    known = np.flatnonzero(travel.known)
    effect = travel.shortfall_mm[known] * slopes.beta[0] + travel.excess_mm[known] * slopes.beta[1]
    place = np.unique(truck[known], return_inverse=True)[1]
    own = _mean_of(place, weight[known], log_fuel[known] - effect)
    residual = log_fuel[known] - own[place]
    at = np.where(travel.travel[known] == Travel.OUTSIDE_LOW, travel.shortfall_mm[known], travel.excess_mm[known])
    at = np.where(travel.travel[known] == Travel.INSIDE, np.clip(travel.place[known], 0.0, 1.0), at)
    out = []
    for side in (Travel.OUTSIDE_LOW, Travel.INSIDE, Travel.OUTSIDE_HIGH):
        rows = np.flatnonzero(travel.travel[known] == side)
        rows = rows[np.argsort(at[rows], kind="stable")]
        bins = min(POINTS, max(1, len(rows) // MONTHS_PER_POINT)) if len(rows) else 0
        for part in np.array_split(rows, bins) if bins else []:
            out.append(_point(int(side), at[part], residual[part], weight[known][part], place[part]))
    return out


def _mean_of(group: Ints, weight: Floats, values: Floats) -> Floats:
    return np.bincount(group, weight * values) / np.bincount(group, weight)


def _point(side: int, at: Floats, residual: Floats, weight: Floats, truck: Ints) -> Point:
    total = weight.sum()
    mean = float(weight @ residual / total)
    scores = np.bincount(truck, weight * (residual - mean))
    trucks = len(np.unique(truck))
    factor = trucks / (trucks - 1) if trucks > 1 else np.nan
    error = float(np.sqrt(factor * (scores**2).sum()) / total)
    return Point(side, float(weight @ at / total), mean, error, len(at), trucks)
