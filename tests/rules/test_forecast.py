"""Forecasts and due usages, hard cases included."""

from functools import partial

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from checks.rules.chart import innovations
from checks.rules.drift import fit
from checks.rules.epochs import Setting, epochs_from_readings
from checks.rules.forecast import Forecast, due_usage, forecast
from tests.rules.drifting import simulate


@pytest.fixture(scope="module")
def many():
    return simulate(np.random.default_rng(11), 300)


def test_due_usage_is_where_the_chance_reaches_the_level(many):
    """Against scipy's brentq, unit by unit."""
    ahead = forecast(fit(many.data))
    due = due_usage(ahead, 1.3, 1.8, 0.05)
    checked = 0
    for unit in np.flatnonzero((due > 0) & np.isfinite(due))[:40]:

        def excess(t, unit=unit):
            return ahead.p_outside(np.full(300, t), 1.3, 1.8)[unit] - 0.05

        earlier = np.linspace(0, due[unit], 30)[:-1]
        assert max(excess(t) for t in earlier) < 0
        assert due[unit] == pytest.approx(brentq(excess, due[unit] * 0.9, due[unit] * 1.1), rel=1e-4)
        checked += 1
    assert checked > 10


def test_a_unit_already_at_the_level_is_due_now_and_a_wide_window_is_never_left(many):
    ahead = forecast(fit(many.data))
    assert (due_usage(ahead, 1.6, 1.61, 0.05) == 0).all()
    assert np.isinf(due_usage(ahead, -1e3, 1e3, 0.05)).all()


def test_due_usage_looks_only_ahead_of_the_present_usage(many):
    ahead = forecast(fit(many.data))
    assert (due_usage(ahead, 1.3, 1.8, 0.05, earliest=2.5) >= 2.5).all()


@pytest.mark.parametrize("probability", [0.025, 0.1, 0.5, 0.975])
@pytest.mark.parametrize("draws", [1, 2, 64])
def test_a_quantile_of_a_mixture_is_where_its_distribution_reaches_the_probability(draws, probability):
    """Against scipy's brentq, unit by unit; few of the components carry most of the weight, some lie far apart."""
    rng = np.random.default_rng(draws)
    shape, units = (draws, 40), 40
    usage = rng.uniform(0, 3, units)
    ahead = Forecast(
        intercept=rng.normal(1.5, 0.3, shape),
        slope=rng.normal(0, 0.1, shape),
        v0=rng.uniform(1e-4, 0.3, shape),
        v1=np.zeros(shape),
        v2=rng.uniform(0, 0.01, shape),
        process=rng.uniform(0, 0.01, (draws, 1)),
        weights=rng.dirichlet(np.full(draws, 0.3)),
    )
    found = ahead.quantile_mm(usage, probability)
    mean = ahead.intercept + ahead.slope * usage
    sd = np.sqrt(ahead.v0 + ahead.v2 * usage**2 + ahead.process)
    for unit in range(units):
        below = partial(beyond, ahead.weights, mean[:, unit], sd[:, unit], probability)
        assert found[unit] == pytest.approx(brentq(below, -20, 20, xtol=1e-13), abs=1e-9)


def beyond(weights, mean, sd, probability, travel):
    return weights @ norm.cdf(travel, mean, sd) - probability


def test_an_unread_unit_gets_its_model_and_more_doubt_than_any_read_one():
    rows = [(0, 0, 0, 0.1, 1.50, 0.01), (0, 0, 0, 1.0, 1.55, 0.01), (1, 0, 0, 0.5, 1.47, 0.01)]
    rows += [(2, 0, 0, 0.2, 1.52, 0.01), (2, 0, 0, 1.4, 1.60, 0.01), (3, 0, 0, 0.9, 1.58, 0.01)]
    data = epochs_from_readings(*np.array(rows).T, current_epoch=[0] * 5, current_kind=[0] * 5)
    one = fit(data)
    ahead = forecast(one)
    usage = np.full(5, 1.0)
    assert ahead.mean_mm(usage)[4] == pytest.approx(one.beta[0] + one.beta[2])
    assert (ahead.sd_mm(usage)[4] >= ahead.sd_mm(usage)[:4]).all()
    assert any("without a reading" in remark for remark in one.diagnostics.remarks)


def test_a_new_setting_without_a_reading_forgets_the_intercept_and_keeps_the_drift():
    simulated = simulate(np.random.default_rng(12), 200)
    data = simulated.data
    fresh = epochs_from_readings(
        data.unit,
        data.epoch,
        data.kind[data.epoch],
        data.usage,
        data.travel_mm,
        data.u_mm,
        current_epoch=np.full(200, 10**6),
        current_kind=np.full(200, Setting.WORKSHOP),
    )
    before, after = forecast(fit(data)), forecast(fit(fresh))
    assert after.intercept[0] == pytest.approx(np.full(200, after.intercept[0, 0]), abs=1e-9)
    assert after.slope[0] == pytest.approx(before.slope[0], abs=1e-6)


@pytest.mark.parametrize(
    "rows",
    [
        [(0, 0, 0, 0.5, 1.5, 0.01)],
        [(0, 0, 0, 0.5, 1.5, 0.01), (0, 0, 0, 0.5, 1.52, 0.01)],
        [(0, 0, 0, 0.0, 1.5, 0.01), (1, 0, 0, 0.0, 1.6, 0.02)],
        [(0, e, min(e, 1), t, 1.5 + 0.01 * e - 0.1 * t, 0.01) for e in range(10) for t in (0.0, 0.3)],
        [(0, 0, 1, 0.1, 1.5, 0.01), (0, 0, 1, 0.9, 1.4, 0.01), (1, 0, 1, 0.4, 1.45, 0.03)],
    ],
    ids=["one reading", "two on one day", "no usage at all", "ten epochs, falling", "workshop settings only"],
)
def test_scant_data_give_finite_numbers_and_say_so(rows):
    units = int(max(row[0] for row in rows)) + 1
    last = [int(max(row[1] for row in rows if row[0] == unit)) for unit in range(units)]
    data = epochs_from_readings(*np.array(rows).T, current_epoch=last, current_kind=[rows[-1][2]] * units)
    one = fit(data)
    ahead = forecast(one)
    assert np.isfinite(ahead.mean_mm(np.ones(units))).all()
    assert (ahead.sd_mm(np.ones(units)) > 0).all()
    assert one.diagnostics.remarks
    assert np.isfinite(innovations(one).z).all()


def test_readings_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="finite"):
        epochs_from_readings([0], [0], [0], [np.nan], [1.5], [0.01], current_epoch=[0], current_kind=[0])
    with pytest.raises(ValueError, match="one length"):
        epochs_from_readings([0, 1], [0], [0], [0.1], [1.5], [0.01], current_epoch=[0], current_kind=[0])
    with pytest.raises(ValueError, match="without a single reading"):
        fit(epochs_from_readings([], [], [], [], [], [], current_epoch=[0], current_kind=[0]))


def test_a_refit_from_the_last_estimates_gives_the_same_fit(many):
    first = fit(many.data)
    again = fit(many.data, start=first.theta)
    assert again.theta == pytest.approx(first.theta, rel=2e-3, abs=1e-5)


def test_one_model_does_not_care_in_which_order_its_readings_come(many):
    data, rng = many.data, np.random.default_rng(0)
    mixed = rng.permutation(len(data.usage))
    columns = (data.unit, data.epoch, data.kind[data.epoch], data.usage, data.travel_mm, data.u_mm)
    other = epochs_from_readings(
        *(c[mixed] for c in columns),
        current_epoch=data.epoch_unit.searchsorted(np.arange(300), side="right") - 1,
        current_kind=data.current_kind,
    )
    assert fit(other).beta == pytest.approx(fit(data).beta, rel=1e-9)
