"""Limits of B10 with known truth at 20, 50 and 200 units: 95 % limits hold it in 93 to 97 % of samples.

A bounded run; at length it is ``tests/bench/bench_life.py --coverage``.
"""

import numpy as np
import pytest

from checks.rules.life import Lives, fit_weibull

ETA, BETA = 300.0, 1.8
B10 = ETA * (-np.log(0.9)) ** (1 / BETA)


def seen(rng, units):
    """Checked every 60 or so until 360: left and right are the checks about the moment of leaving; and the checks."""
    life = ETA * rng.weibull(BETA, units)
    checks = np.cumsum(rng.uniform(40, 80, (units, 6)), axis=1)
    before = (checks < life[:, None]).sum(axis=1)
    padded = np.concatenate([np.zeros((units, 1)), checks, np.full((units, 1), np.inf)], axis=1)
    return padded[np.arange(units), before], padded[np.arange(units), before + 1], checks


def inspected(rng, units):
    return Lives.of(*seen(rng, units)[:2])


def entered_late(rng, units):
    """The same, of which half are followed only from their second check on, if it found them inside."""
    left, right, checks = seen(rng, 2 * units)
    entry = np.where(rng.uniform(size=2 * units) < 0.5, checks[:, 1], 0.0)
    there = np.flatnonzero(entry <= left)[:units]
    return Lives.of(left[there], right[there], entry[there])


@pytest.mark.parametrize(("units", "runs"), [(20, 400), (50, 500), (200, 400)])
def test_limits_of_b10_with_late_entries(units, runs):
    """The binomial standard error is 0.011 at most, so the limits stand 2.3 of it from 0.95."""
    rng, inside, told = np.random.default_rng(units), 0, 0
    for _ in range(runs):
        lives = entered_late(rng, units)
        if lives.events > 4:
            low, high = fit_weibull(lives).limits(0.1)
            inside, told = inside + (low < B10 < high), told + 1
    assert told > 0.9 * runs
    assert 0.925 < inside / told < 0.975


@pytest.mark.parametrize(("units", "runs"), [(20, 400), (50, 300), (200, 600)])
def test_limits_of_b10(units, runs):
    rng, inside = np.random.default_rng(units), 0
    for _ in range(runs):
        low, high = fit_weibull(inspected(rng, units)).limits(0.1)
        inside += low < B10 < high
    assert 0.93 < inside / runs < 0.975


def test_a_life_cannot_be_told_from_units_that_are_all_inside():
    with pytest.raises(ValueError, match="no unit was seen outside"):
        fit_weibull(Lives.of([5.0, 7.0], [np.inf, np.inf]))
    with pytest.raises(ValueError, match="0 <= entry <= left"):
        Lives.of([5.0], [4.0])


@pytest.mark.parametrize("factor", [1e-6, 1.0, 1e6])
def test_the_unit_of_usage_does_not_matter(factor):
    lives = inspected(np.random.default_rng(7), 60)
    one, other = fit_weibull(lives), fit_weibull(Lives.of(lives.left * factor, lives.right * factor))
    assert other.eta == pytest.approx(one.eta * factor, rel=1e-6)
    assert other.beta == pytest.approx(one.beta, rel=1e-6)
