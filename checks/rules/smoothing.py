"""Travel at any usage of any stretch of a turbocharger's life, past ones included, from all of its readings.

`checks.rules.forecast` looks ahead from the present epoch; here the same prediction is made for every epoch, so that
months between two readings are told by both. An epoch with a jump is cut there: each side has its own level, and
between the last reading before the jump and the first after it either may hold, the later one ever more likely (the
moment of the jump is taken as uniform between the two).
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from checks.rules.chart import innovations, rank_within
from checks.rules.drift import Diagnostics, DriftFit
from checks.rules.epochs import Epochs, Floats, Ints
from checks.rules.forecast import forecast
from checks.rules.likelihood import FixedPrior, lay_out, solve


@dataclass(frozen=True, slots=True)
class Stretches:
    """Stretches from a fitting or an adjustment to the next, sorted by unit; shapes (s,).

    ``unit``: place in the epochs' data. ``epoch``: index of its epoch there, -1 without a reading. ``kind``: `Setting`.
    """

    unit: Ints
    epoch: Ints
    kind: Ints


@dataclass(frozen=True, slots=True)
class Lines:
    """True travel along each line: mean = ``intercept`` + ``slope`` t, variance = ``v0`` + 2 ``v1`` t + ``v2`` t^2 +
    ``process``; shapes (l,). A stretch without a jump is one line, ``first`` (s + 1,) says where each one's begin.
    ``begin`` and ``end``: scaled usage of the readings that a line's level rests on; infinite where it holds all along.
    """

    intercept: Floats
    slope: Floats
    v0: Floats
    v1: Floats
    v2: Floats
    process: float
    first: Ints
    begin: Floats
    end: Floats


@dataclass(frozen=True, slots=True)
class Outside:
    """What is expected of travel at given places; shapes (n,), mm and chances.

    ``shortfall_mm`` and ``excess_mm`` are expected values, ``*_sd_mm`` their standard deviations; ``travel_mm`` is the
    mean, and ``plain_*`` what shortfall and excess would be if travel were that mean exactly.
    """

    travel_mm: Floats
    shortfall_mm: Floats
    excess_mm: Floats
    shortfall_sd_mm: Floats
    excess_sd_mm: Floats
    p_below: Floats
    p_above: Floats
    plain_shortfall_mm: Floats
    plain_excess_mm: Floats


def fit_at(data: Epochs, theta: Floats, beta: Floats, cov: Floats) -> DriftFit:
    """A fit of ``data`` held at estimates made before; shapes (5,), (3,), (3, 3)."""
    layout = lay_out(data)
    solution = replace(solve(layout, theta, FixedPrior.flat()), beta=beta, cov=cov)
    # Estimates that are complete stand as they are; what was never told is filled in by the forecast.
    prior = FixedPrior(beta, np.eye(3)) if (np.diag(cov) > 0).all() else FixedPrior.flat()
    nothing = Diagnostics(True, 0, 0.0, 1.0, data.units, layout.units, 0, len(data.usage), 0.0)
    return DriftFit(theta, beta, cov, np.nan, nothing, layout, solution, prior)


def lines_of(fit: DriftFit, stretches: Stretches) -> Lines:
    """Predict every stretch from all readings of its unit (best linear unbiased prediction, Henderson 1975).

    So that a jump does not pass for drift, the step is taken out of the readings before the drift is told; the level of
    each side is then the mean of that side's readings alone.
    """
    data, jumps = fit.layout.data, innovations(fit).jumps
    starts = np.flatnonzero((np.diff(data.epoch, prepend=-1) != 0) | jumps)
    parts = data.epoch[starts]
    known = stretches.epoch >= 0
    pieces = np.ones(len(known), np.int64)
    pieces[known] = np.bincount(parts, minlength=len(data.epoch_unit))[stretches.epoch[known]]
    first = np.concatenate([[0], np.cumsum(pieces)])
    base = np.repeat(np.arange(len(pieces)), pieces)
    table = _whole(fit_at(_stepless(data, jumps, fit.beta[2]), fit.theta, fit.beta, fit.cov), stretches)[:, base]
    begin, end = np.full(first[-1], -np.inf), np.full(first[-1], np.inf)
    jumped = np.flatnonzero(pieces[base] > 1)
    if len(jumped):
        part = np.searchsorted(parts, stretches.epoch[base[jumped]]) + jumped - first[base[jumped]]
        level, centre, variance, begin[jumped], end[jumped] = _sides(fit, starts)[:, part]
        drift, of_drift = table[1, jumped], table[4, jumped]
        table[0, jumped], table[2, jumped] = level - drift * centre, variance + of_drift * centre**2
        table[3, jumped] = -of_drift * centre
    intercept, slope, v0, v1, v2 = table
    return Lines(intercept, slope, v0, v1, v2, float(fit.theta[0] ** 2), first, begin, end)


def expected_outside(lines: Lines, stretch: Ints, usage: Floats, lower_mm: Floats, upper_mm: Floats) -> Outside:
    """What lies outside the window at scaled usages of stretches, expected over what is not known; shapes (n,)."""
    here, there, share = _places(lines, stretch, usage)
    mean = np.zeros((2, len(usage)))
    moments = np.zeros((2, 6, len(usage)))
    for side, line in enumerate((here, there)):
        mean[side] = lines.intercept[line] + lines.slope[line] * usage
        variance = lines.v0[line] + 2 * lines.v1[line] * usage + lines.v2[line] * usage**2 + lines.process
        sd = np.sqrt(np.maximum(variance, 1e-18))
        moments[side, :3] = _beyond(lower_mm - mean[side], sd)
        moments[side, 3:] = _beyond(mean[side] - upper_mm, sd)
    travel = (1 - share) * mean[0] + share * mean[1]
    low, low2, below, high, high2, above = (1 - share) * moments[0] + share * moments[1]
    return Outside(
        travel_mm=travel,
        shortfall_mm=low,
        excess_mm=high,
        shortfall_sd_mm=np.sqrt(np.maximum(low2 - low**2, 0.0)),
        excess_sd_mm=np.sqrt(np.maximum(high2 - high**2, 0.0)),
        p_below=below,
        p_above=above,
        plain_shortfall_mm=np.maximum(0.0, lower_mm - travel),
        plain_excess_mm=np.maximum(0.0, travel - upper_mm),
    )


def _whole(fit: DriftFit, stretches: Stretches) -> Floats:
    """Lines of all stretches as if none had jumped: rows intercept, slope, v0, v1, v2; shape (5, s).

    The forecast of a unit is that of the epoch it is said to be in; each turn puts every unit into its next one.
    """
    data, out = fit.layout.data, np.empty((5, len(stretches.unit)))
    turn = rank_within(stretches.unit)
    for nth in range(int(turn.max(initial=-1)) + 1):
        rows = np.flatnonzero(turn == nth)
        unit = stretches.unit[rows]
        epoch, kind = np.full(data.units, -1), data.current_kind.copy()
        epoch[unit], kind[unit] = stretches.epoch[rows], stretches.kind[rows]
        now = replace(data, current_epoch=epoch, current_kind=kind)
        ahead = forecast(replace(fit, layout=replace(fit.layout, data=now)))
        columns = (ahead.intercept, ahead.slope, ahead.v0, ahead.v1, ahead.v2)
        out[:, rows] = [column[0, unit] for column in columns]
    return out


def _stepless(data: Epochs, jumps: np.ndarray, drift: float) -> Epochs:
    """The readings without their jumps: each side of one is set to go on from the other at the model's drift."""
    step = np.where(jumps, np.diff(data.travel_mm, prepend=0.0) - drift * np.diff(data.usage, prepend=0.0), 0.0)
    run = np.cumsum(step)
    before = np.concatenate([[0.0], run])[np.searchsorted(data.epoch, data.epoch)]
    return replace(data, travel_mm=data.travel_mm - (run - before))


def _sides(fit: DriftFit, starts: Ints) -> Floats:
    """Readings from one start to the next: weighted mean travel and usage, variance, first and last usage; (5, p)."""
    data = fit.layout.data
    weight = 1.0 / (fit.theta[0] ** 2 + data.u_mm**2)
    total = np.add.reduceat(weight, starts)
    level = np.add.reduceat(weight * data.travel_mm, starts) / total
    centre = np.add.reduceat(weight * data.usage, starts) / total
    ends = np.append(starts[1:], len(data.usage)) - 1
    return np.stack([level, centre, 1.0 / total, data.usage[starts], data.usage[ends]])


def _places(lines: Lines, stretch: Ints, usage: Floats) -> tuple[Ints, Ints, Floats]:
    """The line that holds at each place, the one that may hold already, and that one's chance."""
    here = lines.first[stretch].copy()
    last = lines.first[stretch + 1] - 1
    for _ in range(int((last - here).max(initial=0))):
        later = np.minimum(here + 1, last)
        here = np.where((here < last) & (lines.begin[later] <= usage), later, here)
    there = np.minimum(here + 1, last)
    gap = np.where(there > here, lines.begin[there] - lines.end[here], 1.0)
    past = np.where(there > here, usage - lines.end[here], 0.0)
    return here, there, np.clip(past / np.where(gap > 0, gap, 1.0), 0.0, 1.0)


def _beyond(away: Floats, sd: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean and mean square of max(0, d) for d ~ N(away, sd^2), and the chance that d > 0; mm, mm^2."""
    z = away / sd
    chance, density = ndtr(z), np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    # Far inside the difference of two small numbers may fall below zero.
    mean = np.maximum(away * chance + sd * density, 0.0)
    square = np.maximum((away**2 + sd**2) * chance + away * sd * density, 0.0)
    return mean, square, chance
