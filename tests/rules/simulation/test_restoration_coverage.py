"""Before and after with known truth: 95 % limits hold the given-back fuel in 93 to 97 % of runs."""

import numpy as np
import pytest

from checks.rules.restoration import change_around, random_effects

GAIN = -0.02
RUNS = 600


def fleet(rng, trucks, months=24):
    """Adjusted log fuel use with a truck's own level, slow wander and noise; and the km."""
    wander = np.cumsum(rng.normal(0, 0.002, (trucks, months)), axis=1)
    value = rng.normal(0, 0.03, (trucks, 1)) + wander + rng.normal(0, 0.01, (trucks, months))
    return value, rng.uniform(6_000, 14_000, (trucks, months))


def test_one_restored_truck():
    """Truck-clustered errors would cover 0.25 here; the controls' own changes give what is promised."""
    rng, inside = np.random.default_rng(1), 0
    for _ in range(RUNS):
        value, weight = fleet(rng, 40)
        value[0, 13:] += GAIN
        event = change_around(value, weight, {0: [12]}, truck=0, month=12)
        low, high = event.limits()
        inside += low < GAIN < high
    assert 0.93 < inside / RUNS < 0.97


@pytest.mark.parametrize("because_bad", [False, True], ids=["at random", "because they were bad"])
def test_twenty_five_restored_trucks(because_bad):
    rng, inside = np.random.default_rng(2), 0
    for _ in range(RUNS):
        value, weight = fleet(rng, 120)
        months = {truck: [int(rng.integers(9, 15))] for truck in range(25)}
        for truck, (month,) in months.items():
            if because_bad:
                # A bad spell of two months leads to the visit and passes by itself.
                value[truck, month - 2 : month] += 0.03
            value[truck, month + 1 :] += GAIN
        events = [change_around(value, weight, months, truck=g, month=m) for g, (m,) in months.items()]
        pooled = random_effects([e.change for e in events], [e.standard_error**2 for e in events])
        inside += pooled.low < GAIN < pooled.high
    assert 0.93 < inside / RUNS < 0.97


def test_counting_the_months_just_before_overstates_the_gain():
    rng, kept, counted = np.random.default_rng(3), [], []
    for _ in range(200):
        value, weight = fleet(rng, 40)
        value[0, 10:12] += 0.03
        value[0, 13:] += GAIN
        kept.append(change_around(value, weight, {0: [12]}, truck=0, month=12).change)
        counted.append(change_around(value, weight, {0: [12]}, truck=0, month=12, skip=0).change)
    assert np.mean(kept) == pytest.approx(GAIN, abs=0.002)
    assert np.mean(counted) < GAIN * 1.25


def test_an_event_without_km_or_controls_is_not_reported():
    value, weight = fleet(np.random.default_rng(4), 3)
    assert change_around(value, weight, {0: [12]}, truck=0, month=12) is None
    value, weight = fleet(np.random.default_rng(5), 10)
    value[0, 13:] = np.nan
    assert change_around(value, weight, {0: [12]}, truck=0, month=12) is None


def test_trucks_restored_within_the_windows_are_no_controls():
    value, weight = fleet(np.random.default_rng(6), 10)
    alone = change_around(value, weight, {0: [12]}, truck=0, month=12)
    fewer = change_around(value, weight, {0: [12], 1: [14], 2: [1]}, truck=0, month=12)
    assert (alone.controls, fewer.controls) == (9, 8)
