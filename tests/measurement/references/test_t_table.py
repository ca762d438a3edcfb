"""Coverage factors against table G.2 of the GUM (JCGM 100:2008); recalled, each agrees with an independent library."""

import math

import pytest
from scipy import stats

from checks.measurement.budget import coverage_factor

LEVELS = (0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973)
TABLE = {
    1: (1.84, 6.31, 12.71, 13.97, 63.66, 235.78),
    2: (1.32, 2.92, 4.30, 4.53, 9.92, 19.21),
    3: (1.20, 2.35, 3.18, 3.31, 5.84, 9.22),
    4: (1.14, 2.13, 2.78, 2.87, 4.60, 6.62),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    6: (1.09, 1.94, 2.45, 2.52, 3.71, 4.90),
    7: (1.08, 1.89, 2.36, 2.43, 3.50, 4.53),
    8: (1.07, 1.86, 2.31, 2.37, 3.36, 4.28),
    9: (1.06, 1.83, 2.26, 2.32, 3.25, 4.09),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    12: (1.04, 1.78, 2.18, 2.23, 3.05, 3.76),
    14: (1.04, 1.76, 2.14, 2.20, 2.98, 3.64),
    16: (1.03, 1.75, 2.12, 2.17, 2.92, 3.54),
    18: (1.03, 1.73, 2.10, 2.15, 2.88, 3.48),
    20: (1.03, 1.72, 2.09, 2.13, 2.85, 3.42),
    25: (1.02, 1.71, 2.06, 2.11, 2.79, 3.33),
    30: (1.02, 1.70, 2.04, 2.09, 2.75, 3.27),
    40: (1.01, 1.68, 2.02, 2.06, 2.70, 3.20),
    50: (1.01, 1.68, 2.01, 2.05, 2.68, 3.16),
    100: (1.005, 1.660, 1.984, 2.025, 2.626, 3.077),
}


@pytest.mark.parametrize(("dof", "row"), TABLE.items())
def test_the_table_of_the_guide(dof, row):
    digits = 3 if dof == 100 else 2
    assert [round(coverage_factor(float(dof), p), digits) for p in LEVELS] == list(row)


def test_infinitely_many_degrees_of_freedom_give_the_normal_factor():
    factors = [round(coverage_factor(math.inf, p), 3) for p in LEVELS]
    assert factors == [1.000, 1.645, 1.960, 2.000, 2.576, 3.000]


@pytest.mark.parametrize("dof", [1, 3, 8, 16, 57, 1234])
@pytest.mark.parametrize("level", [0.5, 0.8, 0.95, 0.999])
def test_every_level_agrees_with_an_independent_library(dof, level):
    """Against scipy.stats.t.ppf."""
    assert coverage_factor(float(dof), level) == pytest.approx(stats.t.ppf(0.5 + 0.5 * level, dof), rel=1e-9)


@pytest.mark.parametrize(("dof", "taken"), [(16.75, 16.0), (16.9999, 16.0), (1.5, 1.0), (15.999999999999998, 16.0)])
def test_degrees_of_freedom_are_truncated(dof, taken):
    assert coverage_factor(dof, 0.95) == coverage_factor(taken, 0.95)
