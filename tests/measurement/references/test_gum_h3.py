"""GUM (JCGM 100:2008), annex H.3, calibration line of a thermometer.

Data and results verified in a stored public copy (the documentation of GTC, GUM_H3). Two of our functions fit a
least-squares line: leak-down on time, and the hinge where every point moves.
"""

import pytest

from checks.measurement.curve import hinge, leak_rate
from checks.measurement.stroke import Phase, Reading

DATA = [
    (21.521, -0.171), (22.012, -0.169), (22.512, -0.166), (23.003, -0.159), (23.507, -0.164), (23.999, -0.165),
    (24.513, -0.156), (25.002, -0.157), (25.503, -0.159), (26.010, -0.161), (26.511, -0.160),
]  # fmt: skip


def test_slope_and_its_standard_uncertainty_as_a_rate():
    """Published: 0.002 18 with 0.000 67 per degree; a rise is a negative loss."""
    readings = [Reading(phase=Phase.HOLD, stimulus=b, seconds=60.0 * t) for t, b in DATA]
    found = leak_rate(readings, 1.0, 0.0)
    assert -found.value == pytest.approx(0.0021826977, abs=5e-9)
    assert found.standard_uncertainty == pytest.approx(0.00066794, abs=5e-9)


def test_slope_and_crossing_as_a_hinge_that_moves_everywhere():
    """Raised by 0.5 the line crosses zero at 20 - (0.5 + y1)/y2; its error follows from the published covariance."""
    start, slope = hinge([(t, b + 0.5) for t, b in DATA])
    assert slope.value == pytest.approx(0.0021826977, abs=5e-9)
    assert slope.standard_uncertainty == pytest.approx(0.00066794, abs=5e-9)
    y1, y2, u1, u2, r = -0.17120379, 0.0021826977, 0.0028776, 0.00066794, -0.93043
    away = (0.5 + y1) / y2
    assert start.value == pytest.approx(20.0 - away, rel=1e-6)
    assert start.standard_uncertainty == pytest.approx(
        (u1**2 + (away * u2) ** 2 - 2 * away * r * u1 * u2) ** 0.5 / y2, rel=1e-4
    )
