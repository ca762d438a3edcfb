"""The EWMA worked example of a handbook."""

import numpy as np
import pytest

from checks.rules.chart import ewma, ewma_limit

READINGS = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5]
READINGS += [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
PRINTED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
PRINTED += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]


def test_the_handbook_example_is_reproduced():
    """NIST/SEMATECH e-Handbook 6.3.2.4: lambda 0.3, target 50, s 2.0539. Status: verified in stored public copies."""
    assert ewma(np.array(READINGS), 50.0) == pytest.approx(PRINTED, abs=5.1e-3)
    half = ewma_limit(2.0539)
    # The page prints 52.5884 and 47.4115 (the lower one cut, not rounded).
    assert (50 + half, 50 - half) == (pytest.approx(52.5884, abs=5e-5), pytest.approx(47.4115, abs=1e-4))
    assert (np.abs(ewma(np.array(READINGS), 50.0) - 50) < half).all()


def test_every_unit_starts_its_own_average():
    both = ewma(np.array(READINGS * 2), 50.0, group=np.repeat([0, 1], 20))
    assert both[:20] == pytest.approx(both[20:])


def test_exact_limits_widen_to_the_asymptotic_one():
    """Source: the formula of the same section, recomputed: 51.8485 at the first point, 52.5874 at the tenth."""
    limits = 50 + ewma_limit(2.0539, rank=np.arange(20))
    assert limits[[0, 1, 9]] == pytest.approx([51.8485, 52.2564, 52.5874], abs=5e-5)
