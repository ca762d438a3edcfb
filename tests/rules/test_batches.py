"""Units that came together and were set alike stand out from the model's others, and chance seldom makes them."""

import numpy as np
import pytest
from scipy.stats import norm, t
from statsmodels.regression.linear_model import OLS
from statsmodels.stats.outliers_influence import OLSInfluence

from checks.rules.batches import batches, intercepts

THETA = (0.02, 0.1, 0.05, 0.0, 0.08)


def test_a_batch_set_high_departs_and_the_others_do_not():
    dice = np.random.default_rng(3)
    label = np.repeat([f"2025-{m:02}" for m in range(1, 11)], 8)
    travel = 1.5 + 0.1 * dice.standard_normal(80) + np.where(label == "2025-04", 0.4, 0.0)
    found = batches(label, travel, np.full(80, 0.01))
    assert [batch.label for batch in found if batch.departs] == ["2025-04"]
    (high,) = [batch for batch in found if batch.departs]
    assert high.departure_mm == pytest.approx(0.4, abs=0.12)
    assert high.units == 8


def test_one_unit_against_the_others_is_the_externally_studentised_residual():
    """Against statsmodels' OLSInfluence of a model with a mean alone, turned into z by scipy."""
    travel = np.random.default_rng(7).normal(1.5, 0.2, 12)
    found = batches([f"{n:02}" for n in range(12)], travel, np.full(12, 0.3))
    residual = OLSInfluence(OLS(travel, np.ones(12)).fit()).resid_studentized_external
    assert [batch.z for batch in found] == pytest.approx(norm.ppf(t.cdf(residual, 10)))


def test_a_batch_set_apart_does_not_hide_itself_or_another():
    """Two batches set alike would each widen the spread and shift the mean by which the other is judged."""
    dice = np.random.default_rng(4)
    label = np.repeat([f"2025-{m:02}" for m in range(1, 9)], 5)
    wrong = np.isin(label, ["2025-03", "2025-06"])
    found = batches(label, 1.5 + 0.1 * dice.standard_normal(40) + 0.45 * wrong, np.full(40, 0.05))
    assert [batch.label for batch in found if batch.departs] == ["2025-03", "2025-06"]


def test_well_set_batches_depart_about_as_often_as_stated():
    """3 standard errors: 0.27 % by the normal distribution."""
    dice = np.random.default_rng(11)
    label = np.repeat(np.arange(2_000), 5)
    found = batches([f"{n:05}" for n in label], dice.standard_normal(10_000), np.ones(10_000))
    assert 0 <= sum(batch.departs for batch in found) <= 15


def test_one_or_two_units_are_no_batch():
    travel = 1.0 + 0.1 * np.random.default_rng(1).standard_normal(20)
    found = batches(["a", "a", *["b"] * 20], [9.0, 9.0, *travel], [0.01] * 22)
    assert not found[0].departs
    assert found[0].z > 3


def test_a_model_of_one_batch_departs_from_nothing():
    (only,) = batches(["a"] * 4, [1.0, 1.1, 0.9, 1.0], [0.01] * 4)
    assert (only.departure_mm, only.departs) == (0.0, False)


def test_no_unit_no_batch():
    assert batches([], [], []) == ()


def test_travel_when_fitted_takes_the_drift_off_and_the_earliest_reading():
    who, travel, variance = intercepts(
        [0, 0, 4], [0.5, 2.0, 1.0], [1.6, 1.9, 1.4], [0.02, 0.02, 0.03], slope_mm=0.2, theta=THETA
    )
    assert list(who) == [0, 4]
    assert travel == pytest.approx([1.5, 1.2])
    assert variance[0] == pytest.approx(0.1**2 + (0.08 * 0.5) ** 2 + 0.02**2 + 0.02**2)


def test_intercepts_spread_as_their_variance_says():
    dice = np.random.default_rng(5)
    n, t = 20_000, 0.8
    a, b = 0.1 * dice.standard_normal(n), 0.08 * dice.standard_normal(n)
    travel = 1.5 + a + (0.2 + b) * t + 0.02 * dice.standard_normal(n) + 0.03 * dice.standard_normal(n)
    _, found, variance = intercepts(np.arange(n), np.full(n, t), travel, np.full(n, 0.03), slope_mm=0.2, theta=THETA)
    assert np.var(found) == pytest.approx(variance[0], rel=0.03)
    assert np.mean(found) == pytest.approx(1.5, abs=0.005)
