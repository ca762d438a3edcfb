"""What a truck burnt before a complaint is held against its own months."""

import numpy as np
import pytest
from scipy.stats import t as student

from checks.rules.evidence import against_own_level


def test_limits_are_those_of_level_and_moving_range():
    """By hand: months that swing by d about 3.4 have a mean range of 2 d, which over 1.128 is their spread
    (NIST/SEMATECH 6.3.2.2); ten make the level, two are recent, twelve less one leave 6.6 degrees of freedom.
    """
    swing = 0.02 * (-1.0) ** np.arange(12)
    found = against_own_level(np.arange(100, 112), 3.4 + swing, 111)
    half = student.ppf(0.975, 0.6 * 11) * 0.04 / 1.128 * np.sqrt(1 / 2 + 1 / 10)
    assert (found.recent, found.past, found.level) == (2, 10, pytest.approx(3.4))
    assert (np.log1p(found.low), np.log1p(found.high)) == pytest.approx((-half, half), rel=1e-9)


def test_limits_cover_a_known_change():
    """Simulation with known truth: 4 % more in the two recent months of 24; a level being learnt anew tells nothing."""
    rng, told = np.random.default_rng(8), []
    for _ in range(1000):
        values = 3.4 + 0.02 * rng.normal(size=24)
        values[22:] += np.log(1.04)
        if found := against_own_level(np.arange(24), values, 23):
            told.append(found.low < 0.04 < found.high)
    assert len(told) > 980
    assert 0.93 < np.mean(told) < 0.97


def test_a_truck_that_has_been_thirsty_for_long_is_held_against_its_months_before():
    values = 3.4 + 0.012 * (-1.0) ** np.arange(24)
    values[12:] += 0.1
    found = against_own_level(np.arange(24), values, 23)
    assert found.level == pytest.approx(3.4, abs=0.01)
    assert found.low > 0.05


def test_too_short_a_past_or_no_recent_month_makes_no_level():
    assert against_own_level(np.arange(7), np.full(7, 3.4), 6) is None
    assert against_own_level(np.arange(8), np.full(8, 3.4), 7) is not None
    assert against_own_level(np.arange(20), np.full(20, 3.4), 21) is None
    assert against_own_level([], [], 21) is None


def test_what_comes_after_the_complaint_changes_nothing():
    values = 3.4 + 0.02 * np.random.default_rng(2).normal(size=20)
    assert against_own_level(np.arange(20), values, 12) == against_own_level(np.arange(13), values[:13], 12)


def test_lengths_and_values_are_checked():
    with pytest.raises(ValueError, match="length"):
        against_own_level([1, 2], [3.0], 2)
    with pytest.raises(ValueError, match="rise"):
        against_own_level([2, 1], [3.0, 3.0], 2)
    with pytest.raises(ValueError, match="finite"):
        against_own_level([1], [np.nan], 2)
