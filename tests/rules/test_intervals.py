"""The interval review concludes only what the counts can carry."""

import pytest
from scipy.stats import binomtest

from checks.rules.intervals import exact_interval, interval_factor, review_interval


@pytest.mark.parametrize(("found", "of"), [(0, 20), (1, 20), (7, 50), (50, 50)])
def test_the_interval_is_the_exact_one(found, of):
    """Peer: scipy.stats.binomtest, method 'exact' (Clopper and Pearson 1934)."""
    peer = binomtest(found, of).proportion_ci(method="exact")
    assert exact_interval(found, of) == pytest.approx((peer.low, peer.high), abs=1e-12)


def test_the_reliability_target_formula():
    """12 months with 0.88 in tolerance and a target of 0.95 give 4.815014 months (recomputed, exponential model)."""
    assert 12 * interval_factor(0.88, 0.95) == pytest.approx(4.815014, abs=1e-6)


def test_too_many_found_outside_shorten_the_interval():
    review = review_interval(60, 14, 0.05)
    assert review.advice == "shorten"
    assert 0.5 <= review.factor < 1


def test_clearly_few_found_outside_lengthen_it_by_no_more_than_a_half():
    review = review_interval(400, 2, 0.05)
    assert (review.advice, review.factor) == ("lengthen", 1.5)


def test_counts_that_agree_with_the_target_keep_it():
    assert review_interval(60, 3, 0.05).advice == "keep"


def test_few_checks_conclude_nothing():
    assert review_interval(4, 4, 0.05).advice == "wait"
    assert review_interval(0, 0, 0.05).share is None


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="found"):
        review_interval(5, 6, 0.05)
    with pytest.raises(ValueError, match="target"):
        review_interval(5, 1, 0.0)
