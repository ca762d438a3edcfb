"""The monotone interpolant, against scipy's (an independent implementation of the same paper)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from checks.measurement.interpolant import monotone

KNOTS = st.lists(
    st.tuples(st.floats(0.5, 30.0), st.integers(-5000, 5000).map(lambda n: n / 1000.0)), min_size=2, max_size=12
)


@given(KNOTS)
def test_it_agrees_with_scipy_everywhere(steps):
    knots = np.cumsum([gap for gap, _ in steps])
    values = [value for _, value in steps]
    ours, peer = monotone(knots.tolist(), values), PchipInterpolator(knots, values)
    for x in np.linspace(knots[0], knots[-1], 37):
        assert ours.at(float(x)) == pytest.approx(float(peer(x)), abs=1e-9)
        assert ours.slope_at(float(x)) == pytest.approx(float(peer.derivative()(x)), abs=1e-8)


@given(KNOTS)
def test_it_never_leaves_the_values_of_its_neighbours(steps):
    knots = np.cumsum([gap for gap, _ in steps])
    values = [value for _, value in steps]
    curve = monotone(knots.tolist(), values)
    for i in range(len(knots) - 1):
        low, high = sorted(values[i : i + 2])
        for x in np.linspace(knots[i], knots[i + 1], 9):
            assert low - 1e-9 <= curve.at(float(x)) <= high + 1e-9


def test_beyond_the_ends_it_holds_the_end_value():
    curve = monotone([1.0, 2.0, 4.0], [0.1, 0.3, 0.2])
    assert (curve.at(0.0), curve.at(9.0)) == (0.1, 0.2)


def test_a_single_point_is_a_constant():
    curve = monotone([5.0], [0.2])
    assert (curve.at(0.0), curve.at(5.0), curve.slope_at(5.0)) == (0.2, 0.2, 0.0)
