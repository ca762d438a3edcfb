"""The tabular CUSUM of a handbook."""

import numpy as np
import pytest

from checks.rules.thirst import cusum

MEANS = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
MEANS += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
LOW = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0]


def test_the_handbook_table_is_reproduced():
    """NIST/SEMATECH e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959; first signal at 14. Status: verified in stored
    copies; the page rounds, hence 0.006."""
    found = cusum(MEANS, 325.0, 0.3175, 4.1959)
    assert found.high == pytest.approx(HIGH, abs=6e-3)
    assert found.low == pytest.approx(LOW, abs=6e-3)
    assert np.flatnonzero(found.alarm)[0] + 1 == 14


def test_every_truck_has_its_own_sum_and_a_missing_month_changes_nothing():
    both = cusum(MEANS * 2, 325.0, 0.3175, 4.1959, group=np.repeat([3, 8], 20))
    assert both.high[20:] == pytest.approx(both.high[:20])
    gap = cusum([*MEANS[:13], np.nan, *MEANS[13:]], 325.0, 0.3175, 4.1959)
    assert gap.high[13] == gap.high[12]
    assert gap.high[-1] == pytest.approx(both.high[19])


def test_senseless_settings_are_refused():
    with pytest.raises(ValueError, match="h must be above zero"):
        cusum(MEANS, 325.0, 0.3, 0.0)
