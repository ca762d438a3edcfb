"""Curves through points that never bend back between two of them."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Interpolant:
    """Monotone piecewise cubic: ``knots`` in strictly rising order, with the value and the slope at each.

    ``bends`` holds the coefficients of the square and the cube of each piece, counted from its left knot.
    """

    knots: tuple[float, ...]
    values: tuple[float, ...]
    slopes: tuple[float, ...]
    bends: tuple[tuple[float, float], ...]

    def at(self, x: float) -> float:
        """Value at ``x``; outside the knots the value of the nearest end."""
        knots = self.knots
        if x <= knots[0]:
            return self.values[0]
        if x >= knots[-1]:
            return self.values[-1]
        i = bisect_right(knots, x) - 1
        c2, c3 = self.bends[i]
        t = x - knots[i]
        return self.values[i] + t * (self.slopes[i] + t * (c2 + t * c3))

    def slope_at(self, x: float) -> float:
        """First derivative at ``x``; outside the knots the slope at the nearest end."""
        knots = self.knots
        if x <= knots[0]:
            return self.slopes[0]
        if x >= knots[-1]:
            return self.slopes[-1]
        i = bisect_right(knots, x) - 1
        c2, c3 = self.bends[i]
        t = x - knots[i]
        return self.slopes[i] + t * (2.0 * c2 + 3.0 * t * c3)


def straight(knots: Sequence[float], values: Sequence[float], x: float) -> float:
    """Value at ``x`` on straight lines between points, held beyond the ends; ``knots`` strictly rising."""
    if x <= knots[0]:
        return values[0]
    if x >= knots[-1]:
        return values[-1]
    i = bisect_right(knots, x) - 1
    share = (x - knots[i]) / (knots[i + 1] - knots[i])
    return values[i] + share * (values[i + 1] - values[i])


def monotone(knots: Sequence[float], values: Sequence[float]) -> Interpolant:
    """Interpolate monotonically through points.

    Parameters
    ----------
    knots, values : sequences of the same length, ``knots`` strictly rising

    Source
    ------
    Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300: weighted harmonic mean of the neighbouring
    slopes inside, three-point formula limited to keep the shape at the ends. Checked against scipy.
    """
    slopes = _slopes(knots, values)
    bends = []
    for i in range(len(knots) - 1):
        h = knots[i + 1] - knots[i]
        rise = (values[i + 1] - values[i]) / h
        left, right = slopes[i], slopes[i + 1]
        bends.append(((3.0 * rise - 2.0 * left - right) / h, (left + right - 2.0 * rise) / (h * h)))
    return Interpolant(tuple(knots), tuple(values), tuple(slopes), tuple(bends))


def _slopes(knots: Sequence[float], values: Sequence[float]) -> list[float]:
    n = len(knots)
    if n == 1:
        return [0.0]
    gaps = [knots[i + 1] - knots[i] for i in range(n - 1)]
    rises = [(values[i + 1] - values[i]) / gaps[i] for i in range(n - 1)]
    if n == 2:
        return [rises[0], rises[0]]
    slopes = [_end_slope(gaps[0], gaps[1], rises[0], rises[1])]
    for i in range(1, n - 1):
        before, after = rises[i - 1], rises[i]
        if before * after <= 0.0:
            slopes.append(0.0)
            continue
        w1, w2 = 2.0 * gaps[i] + gaps[i - 1], gaps[i] + 2.0 * gaps[i - 1]
        slopes.append((w1 + w2) / (w1 / before + w2 / after))
    slopes.append(_end_slope(gaps[-1], gaps[-2], rises[-1], rises[-2]))
    return slopes


def _end_slope(gap: float, next_gap: float, rise: float, next_rise: float) -> float:
    slope = ((2.0 * gap + next_gap) * rise - gap * next_rise) / (gap + next_gap)
    if slope * rise <= 0.0:
        return 0.0
    if rise * next_rise < 0.0 and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return slope
