"""Cosine error of a tilted dial: table recomputed from the cosine (reference values 14.1)."""

import math

import numpy as np
import pytest

from checks.measurement.calibration import Alignment, Geometry
from checks.measurement.correction import alignment_factor

TABLE = [
    (0, 1.000000, 0.0, 0.0),
    (1, 0.999848, 0.0152, 0.0152),
    (2, 0.999391, 0.0610, 0.0609),
    (3, 0.998630, 0.1372, 0.1370),
    (5, 0.996195, 0.3820, 0.3805),
    (8, 0.990268, 0.9828, 0.9732),
    (10, 0.984808, 1.5427, 1.5192),
    (12, 0.978148, 2.2341, 2.1852),
    (15, 0.965926, 3.5276, 3.4074),
    (20, 0.939693, 6.4178, 6.0307),
    (25, 0.906308, 10.3378, 9.3692),
    (30, 0.866025, 15.4701, 13.3975),
]


@pytest.mark.parametrize(("angle", "cosine", "over", "under"), TABLE)
def test_a_known_angle_undoes_the_error_of_its_geometry(angle, cosine, over, under):
    flat, u_flat = alignment_factor(Alignment(geometry=Geometry.FLAT_FACE, angle_deg=float(angle)))
    point, u_point = alignment_factor(Alignment(geometry=Geometry.ROD_POINT, angle_deg=float(angle)))
    assert flat == pytest.approx(cosine, abs=5e-7)
    assert 100.0 * (1.0 / flat - 1.0) == pytest.approx(over, abs=5e-5)  # how much too high the dial reads
    assert 100.0 * (1.0 - 1.0 / point) == pytest.approx(under, abs=5e-5)  # how much too low
    assert (u_flat, u_point) == (0.0, 0.0)


@pytest.mark.parametrize("geometry", list(Geometry))
@pytest.mark.parametrize("limit", [0.01, 0.5, 1.0, 2.8, 2.9, 5.0, 10.0, 30.0])
def test_an_angle_within_limits_is_the_mean_and_spread_over_them(geometry, limit):
    """Independent route: Gauss-Legendre integration over the angle, all equally likely."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    angles, weights = 0.5 * math.radians(limit) * (nodes + 1.0), 0.5 * weights
    off = np.cos(angles) - 1.0 if geometry is Geometry.FLAT_FACE else 1.0 / np.cos(angles) - 1.0
    mean, variance = 1.0 + weights @ off, weights @ (off - weights @ off) ** 2
    got_mean, got_u = alignment_factor(Alignment(geometry=geometry, angle_max_deg=limit))
    assert got_mean == pytest.approx(mean, rel=1e-10)
    assert got_u == pytest.approx(math.sqrt(variance), rel=1e-4, abs=1e-9)


def test_a_perfectly_square_dial_needs_no_correction():
    assert alignment_factor(Alignment(angle_max_deg=0.0)) == (1.0, 0.0)
