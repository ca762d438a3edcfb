"""What the stroke says about the actuator: slope at the setting, start of travel, hysteresis, sticking, leak-down."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from checks.measurement.evidence import Point
from checks.measurement.interpolant import Interpolant, monotone
from checks.measurement.result import Estimate
from checks.measurement.stroke import Reading

NEAR_SETTING = 0.75  # a rising point must lie within 25 % below the setting
LEAST_GAP = 0.02  # of the setting: closer points say more about reading noise than about slope


@dataclass(frozen=True, slots=True)
class LocalCurve:
    """The rise near the setting. Beyond the last point it goes on as the parabola through the last three."""

    interpolant: Interpolant
    bend: float  # second derivative at the end, mm per (kPa or %) squared
    slope: float  # at the setting
    weights: tuple[float, ...]  # of the last three travels in that slope


def local_curve(rise: Sequence[Point], reading: Point, setting: float) -> LocalCurve | None:
    """Monotone interpolant through the rising points of the final approach.

    Parameters
    ----------
    rise : corrected points (stimulus, mm) before the reading, in order
    reading : corrected point at the setting
    setting : stimulus in kPa or %

    Returns
    -------
    LocalCurve, or None where fewer than three points rise or none lies within 25 % below the setting.
    """
    points = _thinned(rise, reading, setting)
    if len(points) < 3 or points[-2][0] < NEAR_SETTING * setting:
        return None
    interpolant = monotone([p for p, _ in points], [x for _, x in points])
    (pa, xa), (pb, xb), (pc, xc) = points[-3:]
    first, second = (xb - xa) / (pb - pa), (xc - xb) / (pc - pb)
    bend = 2.0 * (second - first) / (pc - pa)
    beyond = max(0.0, setting - pc)
    slope = max(0.0, interpolant.slope_at(min(setting, pc)) + bend * beyond)
    weights = (
        (2.0 * setting - pb - pc) / ((pa - pb) * (pa - pc)),
        (2.0 * setting - pa - pc) / ((pb - pa) * (pb - pc)),
        (2.0 * setting - pa - pb) / ((pc - pa) * (pc - pb)),
    )
    return LocalCurve(interpolant, bend, slope, weights)


def _thinned(rise: Sequence[Point], reading: Point, setting: float) -> list[Point]:
    """Points in rising order of stimulus, none closer than the least gap to the next, the reading always kept."""
    gap = LEAST_GAP * setting
    kept = [reading]
    for point in reversed(rise):
        if point[0] <= kept[-1][0] - gap:
            kept.append(point)
    kept.reverse()
    return kept


def slope_uncertainty(curve: LocalCurve, travel_noise: float, stimulus_noise: float) -> float:
    """Standard uncertainty of the slope, from the reading noise (mm, and kPa or %) of the last three points."""
    noise = math.hypot(travel_noise, curve.slope * stimulus_noise)
    return noise * math.sqrt(sum(w * w for w in curve.weights))


def hinge(points: Sequence[Point]) -> tuple[Estimate, Estimate] | None:
    """Fit x = k * max(0, p - p0): start of travel p0 and slope k, with standard uncertainties.

    For every split into resting and moving points the moving line has a closed least-squares form; the split
    whose own p0 falls in its gap and leaves the least squares wins. Standard uncertainties are those of the
    line, carried to p0 = -b/k to first order.

    Parameters
    ----------
    points : at least four (stimulus, mm), of which at least two move

    Returns
    -------
    (start, slope), or None where the points do not suffice or do not rise.
    """
    ordered = sorted(points)
    if len(ordered) < 4:
        return None
    squares_below = _running_squares(ordered)
    best: tuple[float, _Line] | None = None
    for first, line in _moving_lines(ordered):
        low = ordered[first - 1][0] if first else -math.inf
        squares = squares_below[first] + line.squares
        if low <= line.start <= ordered[first][0] and (best is None or squares < best[0]):
            best = squares, line
    if best is None:
        return None
    line, variance = best[1], best[0] / (len(ordered) - 2)
    u_slope = math.sqrt(variance / line.spp)
    u_start = math.sqrt(variance * (1.0 / line.n + (line.mean - line.start) ** 2 / line.spp)) / line.slope
    return Estimate(value=line.start, standard_uncertainty=u_start), Estimate(
        value=line.slope, standard_uncertainty=u_slope
    )


class _Line(NamedTuple):
    """Least-squares line through ``n`` moving points: where it meets zero, its slope, and its residual squares."""

    start: float
    slope: float
    squares: float
    n: int
    mean: float  # of the stimuli
    spp: float  # their squares about the mean


def _running_squares(ordered: Sequence[Point]) -> list[float]:
    """Sum of squared travels before each point: what a rod at rest leaves unexplained."""
    sums = [0.0]
    for _, x in ordered:
        sums.append(sums[-1] + x * x)
    return sums


def _moving_lines(ordered: Sequence[Point]) -> Iterator[tuple[int, _Line]]:
    """Lines through the last two points, the last three, and so on, by running sums counted from the last point."""
    last_p, last_x = ordered[-1]
    n, sp, sx, spp, spx, sxx = 1, 0.0, 0.0, 0.0, 0.0, 0.0
    for first in range(len(ordered) - 2, -1, -1):
        p, x = ordered[first][0] - last_p, ordered[first][1] - last_x
        n, sp, sx = n + 1, sp + p, sx + x
        spp, spx, sxx = spp + p * p, spx + p * x, sxx + x * x
        cpp, cpx = spp - sp * sp / n, spx - sp * sx / n
        if cpp <= 0.0 or cpx <= 0.0:
            continue
        slope, mean = cpx / cpp, last_p + sp / n
        squares = max(0.0, sxx - sx * sx / n - slope * cpx)
        yield first, _Line(mean - (last_x + sx / n) / slope, slope, squares, n, mean, cpp)


def hysteresis(curve: LocalCurve | None, fall: Sequence[Point], setting: float, noise: float) -> Estimate | None:
    """Gap in mm between fall and rise at the setting, with its standard uncertainty.

    Where falling points lie on both sides of the setting they are interpolated to it; otherwise the gap is
    taken at the falling point nearest to the setting, within 25 % below it.
    """
    if curve is None or not fall:
        return None
    above = [point for point in fall if point[0] >= setting]
    below = [point for point in fall if point[0] < setting]
    if above and below:
        (p1, x1), (p0, x0) = min(above), max(below)
        gap = x0 + (x1 - x0) * (setting - p0) / (p1 - p0) - curve.interpolant.at(setting)
    elif below and max(below)[0] >= NEAR_SETTING * setting:
        p0, x0 = max(below)
        gap = x0 - curve.interpolant.at(p0)
    else:
        return None
    return Estimate(value=gap, standard_uncertainty=math.sqrt(2.0) * noise)


def sticking(points: Sequence[Point], start: float | None, noise: float) -> Estimate | None:
    """Largest step of the moving rod that a smooth curve does not explain, in mm; None where there is none.

    A parabola is fitted to the moving points; a step between neighbours is unexplained where it exceeds the
    parabola's by more than three standard uncertainties of a difference of two readings.

    Parameters
    ----------
    points : rising (stimulus, mm), the reading last; at least five must move
    start : start of travel in kPa or %, or None
    noise : standard uncertainty of one reading in mm
    """
    moving = [point for point in points if start is None or point[0] > start]
    if len(moving) < 5:
        return None
    residuals = _parabola_residuals(moving)
    if residuals is None:
        return None
    step = max(after - before for before, after in pairwise(residuals))
    u_step = math.sqrt(2.0) * noise
    return Estimate(value=step, standard_uncertainty=u_step) if step > 3.0 * u_step else None


def _parabola_residuals(points: Sequence[Point]) -> list[float] | None:
    """Residuals of a least-squares parabola, by orthogonal polynomials on the given stimuli."""
    n = len(points)
    mean = sum(p for p, _ in points) / n
    t = [p - mean for p, _ in points]
    s2 = sum(v * v for v in t)
    if s2 <= 0.0:
        return None
    skew = sum(v**3 for v in t) / s2
    q = [v * v - skew * v - s2 / n for v in t]
    sq = sum(v * v for v in q)
    if sq <= 0.0:
        return None
    x = [travel for _, travel in points]
    b0 = sum(x) / n
    b1 = sum(v * w for v, w in zip(t, x, strict=True)) / s2
    b2 = sum(v * w for v, w in zip(q, x, strict=True)) / sq
    return [w - b0 - b1 * v - b2 * u for w, v, u in zip(x, t, q, strict=True)]


def leak_rate(hold: Sequence[Reading], stimulus_per_unit: float, noise: float) -> Estimate | None:
    """Leak-down in kPa/min from a hold: least-squares line of pressure on time, a loss counted positive.

    Parameters
    ----------
    hold : readings with ``seconds``; at least two at different times
    stimulus_per_unit : kPa per unit of the reading (1 for a gauge, 1/sensitivity for a transducer)
    noise : standard uncertainty of one pressure reading, kPa; the larger of it and the scatter about the line counts
    """
    times = [r.seconds / 60.0 for r in hold if r.seconds is not None]
    n = len(times)
    if n < 2:
        return None
    values = [r.stimulus * stimulus_per_unit for r in hold if r.seconds is not None]
    mean_t, mean_v = sum(times) / n, sum(values) / n
    stt = sum((t - mean_t) ** 2 for t in times)
    if stt <= 0.0:
        return None
    slope = sum((t - mean_t) * (v - mean_v) for t, v in zip(times, values, strict=True)) / stt
    scatter = 0.0
    if n > 2:
        squares = sum((v - mean_v - slope * (t - mean_t)) ** 2 for t, v in zip(times, values, strict=True))
        scatter = math.sqrt(squares / (n - 2))
    return Estimate(value=-slope, standard_uncertainty=max(scatter, noise) / math.sqrt(stt))
