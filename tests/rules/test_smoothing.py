"""Travel of past stretches: the same prediction as looking ahead, and as the dense matrices say."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from checks.rules.chart import innovations
from checks.rules.drift import fit
from checks.rules.epochs import epochs_from_readings
from checks.rules.forecast import forecast
from checks.rules.smoothing import Lines, Stretches, expected_outside, fit_at, lines_of
from tests.rules.drifting import BETA, THETA, dense_covariance, design, simulate


def every_epoch(data) -> Stretches:
    return Stretches(data.epoch_unit, np.arange(len(data.epoch_unit)), data.kind)


@pytest.fixture(scope="module")
def many():
    return simulate(np.random.default_rng(3), 80, epochs=(1, 4)).data


@pytest.fixture(scope="module")
def held(many):
    one = fit(many)
    return fit_at(many, one.theta, one.beta, one.cov), one


def test_the_present_stretch_is_the_forecast(many, held):
    lines, ahead = lines_of(held[0], every_epoch(many)), forecast(held[1])
    whole = np.flatnonzero(np.diff(lines.first) == 1)
    jumped = many.unit[innovations(held[1]).jumps]
    now = np.setdiff1d(np.intersect1d(many.current_epoch, whole), np.flatnonzero(np.isin(many.epoch_unit, jumped)))
    assert len(now) > 40
    unit = many.epoch_unit[now]
    place = lines.first[now]
    assert lines.intercept[place] == pytest.approx(ahead.intercept[0, unit], abs=1e-12)
    assert lines.slope[place] == pytest.approx(ahead.slope[0, unit], abs=1e-12)
    for name in ("v0", "v1", "v2"):
        assert getattr(lines, name)[place] == pytest.approx(getattr(ahead, name)[0, unit], abs=1e-12)


def test_past_stretches_agree_with_the_dense_prediction():
    """Mean of travel in a past epoch given all readings: k'V^-1 (y - X b), written down for every reading."""
    data = simulate(np.random.default_rng(8), 12, epochs=(2, 4)).data
    one = fit_at(data, THETA, BETA, np.zeros((3, 3)))
    lines = lines_of(one, every_epoch(data))
    jumped = data.unit[innovations(one).jumps]
    weight = np.linalg.solve(dense_covariance(data, THETA), data.travel_mm - design(data) @ BETA)
    low = np.array([[THETA[1], 0.0], [THETA[3], THETA[4]]])
    checked = 0
    for epoch in range(len(data.epoch_unit)):
        if data.epoch_unit[epoch] in jumped:
            continue
        unit, first = data.epoch_unit[epoch], data.first_epoch[data.epoch_unit[epoch]] == epoch
        same, own = data.epoch == epoch, data.unit == unit
        t = 0.7
        g = low @ low.T
        begun = data.epoch == data.first_epoch[unit]
        with_slope = own * data.usage * g[1, 1] * t + begun * g[0, 1] * t
        level = same * g[0, 0] + own * data.usage * g[0, 1] if first else same * THETA[2] ** 2
        expected = BETA[data.kind[epoch]] + BETA[2] * t + (level + with_slope) @ weight
        place = lines.first[epoch]
        assert lines.intercept[place] + lines.slope[place] * t == pytest.approx(expected, abs=1e-9)
        checked += 1
    assert checked > 20


def one_line(mean: float, sd: float) -> Lines:
    zero = np.zeros(1)
    ends = {"begin": np.array([-np.inf]), "end": np.array([np.inf]), "first": np.array([0, 1])}
    return Lines(np.array([mean]), zero, np.array([sd**2]), zero, zero, process=0.0, **ends)


@pytest.mark.parametrize(("mean", "sd"), [(0.9, 0.05), (1.0, 0.1), (1.2, 0.15), (0.5, 0.2), (1.9, 0.3)])
def test_expected_shortfall_and_excess_are_the_integrals(mean, sd):
    """Against scipy's quadrature."""
    found = expected_outside(one_line(mean, sd), np.array([0]), np.zeros(1), np.array([1.0]), np.array([1.8]))

    def integral(of):
        wide = (mean - 12 * sd, mean + 12 * sd)
        return quad(lambda x: of(x) * norm.pdf(x, mean, sd), *wide, points=[1.0, 1.8], limit=200)[0]

    short, beyond = integral(lambda x: max(0.0, 1.0 - x)), integral(lambda x: max(0.0, x - 1.8))
    assert found.shortfall_mm[0] == pytest.approx(short, abs=1e-9)
    assert found.excess_mm[0] == pytest.approx(beyond, abs=1e-9)
    assert found.shortfall_sd_mm[0] == pytest.approx(
        np.sqrt(integral(lambda x: max(0.0, 1.0 - x) ** 2) - short**2), abs=1e-6
    )
    assert found.p_below[0] == pytest.approx(norm.cdf(1.0, mean, sd))


def test_an_epoch_with_a_jump_has_two_levels_and_either_may_hold_between():
    """20 quiet units tell the spread; one jumps by 0.4 mm between its usages 0.4 and 0.8."""
    rng = np.random.default_rng(5)
    rows = [(u, 0, 0, t, 1.5 + 0.02 * rng.normal(), 0.01) for u in range(20) for t in (0.2, 0.4, 0.8, 1.0)]
    rows += [(20, 0, 0, t, v, 0.01) for t, v in ((0.2, 1.5), (0.4, 1.5), (0.8, 1.1), (1.0, 1.1))]
    data = epochs_from_readings(*np.array(rows).T, current_epoch=[0] * 21, current_kind=[0] * 21)
    one = fit(data)
    lines = lines_of(fit_at(data, one.theta, one.beta, one.cov), every_epoch(data))
    assert lines.first[21] - lines.first[20] == 2
    at = np.array([0.1, 0.4, 0.6, 0.8, 1.4])
    found = expected_outside(lines, np.full(5, 20), at, np.full(5, 1.3), np.full(5, 2.0))
    assert found.travel_mm == pytest.approx([1.5, 1.5, 1.3, 1.1, 1.1], abs=0.03)
    assert found.p_below == pytest.approx([0, 0, 0.5, 1, 1], abs=0.02)


def test_a_stretch_without_a_reading_knows_its_setting_and_the_units_drift(many, held):
    last = np.flatnonzero(np.diff(many.epoch_unit, append=-1))
    unit = np.repeat(many.epoch_unit[last], 2)
    epoch = np.stack([last, np.full(len(last), -1)], axis=1).ravel()
    lines = lines_of(held[0], Stretches(unit, epoch, np.ones(len(unit), np.int64)))
    fresh = lines.first[1:-1:2]
    assert lines.intercept[fresh] == pytest.approx(np.full(len(fresh), held[1].beta[1]), abs=1e-9)
    told = lines.first[0:-1:2]
    assert lines.slope[fresh] == pytest.approx(lines.slope[told], abs=1e-12)
    assert (lines.v0[fresh] > held[1].theta[2] ** 2).all()
