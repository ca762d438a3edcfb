"""Published censored data sets: Weibull and non-parametric answers."""

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import weibull_min

from checks.rules.life import Lives, fit_weibull
from checks.rules.life_groups import compare, compare_by_scores
from checks.rules.survival import at_risk, thinned, turnbull

INF = np.inf
# Months to cosmetic deterioration (Finkelstein and Wolfe 1985): (left, right].
RADIATION = """45,inf; 6,10; 0,7; 46,inf; 46,inf; 7,16; 17,inf; 7,14; 37,44; 0,8; 4,11; 15,inf; 11,15; 22,inf; 46,inf;
46,inf; 25,37; 46,inf; 26,40; 46,inf; 27,34; 36,44; 46,inf; 36,48; 37,inf; 40,inf; 17,25; 46,inf; 11,18; 38,inf; 5,12;
37,inf; 0,5; 18,inf; 24,inf; 36,inf; 5,11; 19,35; 17,25; 24,inf; 32,inf; 33,inf; 19,26; 37,inf; 34,inf; 36,inf"""
BOTH = """8,12; 0,22; 24,31; 17,27; 17,23; 24,30; 16,24; 13,inf; 11,13; 16,20; 18,25; 17,26; 32,inf; 23,inf; 44,48;
14,17; 0,5; 5,8; 12,20; 11,inf; 33,40; 31,inf; 13,39; 19,32; 34,inf; 13,inf; 16,24; 35,inf; 15,22; 11,17; 22,32; 10,35;
30,34; 13,inf; 10,17; 8,21; 4,9; 11,inf; 14,19; 4,8; 34,inf; 30,36; 18,24; 16,60; 35,39; 21,inf; 11,20; 48,inf"""
# Hours of diesel generator fans (Nelson 1982): failures, and running times with their numbers.
FAN_FAILURES = [450, 1150, 1150, 1600, 2070, 2070, 2080, 3100, 3450, 4600, 6100, 8750]
FAN_RUNNING = {460: 1, 1560: 1, 1660: 1, 1850: 5, 2030: 3, 2200: 1, 3000: 4, 3200: 1, 3750: 2, 4150: 4, 4300: 4}
FAN_RUNNING |= {4850: 4, 5000: 3, 6100: 3, 6300: 1, 6450: 2, 6700: 1, 7450: 1, 7800: 2, 8100: 2, 8200: 1, 8500: 3}
FAN_RUNNING |= {8750: 2, 9400: 1, 9900: 1, 10100: 3, 11500: 1}
# Turbine wheels inspected once (Nelson 1982): hours / 100, cracked, not cracked.
WHEELS = [(4, 0, 39), (10, 4, 49), (14, 2, 31), (18, 7, 66), (22, 5, 25), (26, 9, 30), (30, 9, 33), (34, 6, 7)]
WHEELS += [(38, 22, 12), (42, 21, 19), (46, 21, 15)]


def months(text):
    return Lives.of(*np.array([pair.split(",") for pair in text.split(";")], dtype=float).T)


def fans():
    running = np.repeat(list(FAN_RUNNING), list(FAN_RUNNING.values())).astype(float)
    failed = np.array(FAN_FAILURES, dtype=float)
    return Lives.of(np.concatenate([failed, running]), np.concatenate([failed, np.full(len(running), INF)]))


def wheels():
    rows = [(0.0, 100.0 * h) for h, cracked, _ in WHEELS for _ in range(cracked)]
    rows += [(100.0 * h, INF) for h, _, sound in WHEELS for _ in range(sound)]
    return Lives.of(*np.array(rows).T)


def test_cosmesis_weibull():
    """Interval likelihood. Status: data verified, answers recomputed with independent libraries."""
    one, other = fit_weibull(months(RADIATION)), fit_weibull(months(BOTH))
    assert (one.eta, one.beta) == pytest.approx((57.51310, 1.121613), rel=2e-6)
    assert one.log_likelihood == pytest.approx(-64.731471, abs=1e-6)
    assert (other.eta, other.beta) == pytest.approx((28.04247, 2.030238), rel=2e-6)
    assert other.log_likelihood == pytest.approx(-75.715068, abs=1e-6)


def test_cosmesis_turnbull():
    """Masses of the R package `interval`'s vignette. Status: from memory, recomputed; data verified."""
    one = turnbull(months(RADIATION))
    assert list(zip(one.begin, one.end, strict=True)) == [
        (4, 5), (6, 7), (7, 8), (11, 12), (24, 25), (33, 34), (38, 40), (46, 48),
    ]  # fmt: skip
    assert one.mass == pytest.approx([0.0463, 0.0334, 0.0887, 0.0708, 0.0926, 0.0818, 0.1209, 0.4656], abs=6e-5)
    assert one.log_likelihood == pytest.approx(-58.060022, abs=1e-5)
    other = turnbull(months(BOTH))
    expected = [0.0433, 0.0433, 0.0692, 0.1454, 0.1411, 0.1157, 0.0999, 0.0709, 0.1608, 0.0552, 0.0552]
    assert other.mass == pytest.approx(expected, abs=6e-5)
    assert other.log_likelihood == pytest.approx(-65.636965, abs=1e-5)


def test_fans():
    """Nelson: eta 26,297 h, beta 1.0584. Status: from memory, recomputed; data verified. Errors as lifelines'."""
    one = fit_weibull(fans())
    assert (one.eta, one.beta) == pytest.approx((26296.84, 1.058446), rel=1e-6)
    assert one.log_likelihood == pytest.approx(-135.152720, abs=1e-6)
    errors = np.sqrt(np.diag(one.cov)) * [one.eta, one.beta]
    assert errors == pytest.approx([12251.43, 0.268251], rel=1e-4)


def test_fans_without_a_shape_are_kaplan_meier():
    """Share failed by 450, 1150, 1600, 2070, 2080 h, recomputed as Kaplan-Meier."""
    one = turnbull(fans())
    assert np.cumsum(one.mass)[:5] == pytest.approx([0.01429, 0.04328, 0.05800, 0.09225, 0.10938], abs=6e-6)


def test_turbine_wheels():
    """Weibull 4,677.72 h and 2.175780; pooled proportions. Status: data verified, answers recomputed."""
    one = fit_weibull(wheels())
    assert (one.eta, one.beta) == pytest.approx((4677.72, 2.175780), rel=2e-6)
    assert one.log_likelihood == pytest.approx(-189.287193, abs=1e-6)
    free = turnbull(wheels())
    shares = np.array([free.mass[free.end <= 100.0 * h].sum() for h, _, _ in WHEELS])
    pooled = [0, 0.0698, 0.0698, 0.0959, 0.1667, 0.2222, 0.2222, 0.4615, 0.5811, 0.5811, 0.5833]
    assert shares == pytest.approx(pooled, abs=6e-5)


def test_ten_failures_and_ten_removed_at_500_hours():
    """NIST/SEMATECH e-Handbook 8.4.1.3: eta 606.5280, beta 1.7208, log-likelihood -75.135. Status: verified."""
    failed = np.array([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], dtype=float)
    one = fit_weibull(Lives.of(np.r_[failed, np.full(10, 500.0)], np.r_[failed, np.full(10, INF)]))
    assert (one.eta, one.beta) == pytest.approx((606.5280, 1.7208), rel=2e-6, abs=5e-5)
    assert one.log_likelihood == pytest.approx(-75.135, abs=5e-4)


def test_the_two_treatments_differ():
    """Likelihood ratio from the recomputed fits above: 2 (-64.731471 - 75.715068 + 148.1...) against one curve."""
    found = compare([months(RADIATION), months(BOTH)])
    assert found.dof == 2
    assert found.p < 0.001
    same = compare([months(RADIATION), months(RADIATION)])
    assert same.statistic == pytest.approx(0.0, abs=1e-6)


def test_the_two_treatments_differ_by_scores_too():
    """Finkelstein's scores by permutation, as the R package `interval`: Z 2.6839, p 0.007277. Status: from memory."""
    found = compare_by_scores([months(RADIATION), months(BOTH)])
    assert found.dof == 1
    assert np.sqrt(found.statistic) == pytest.approx(2.6839, abs=5e-5)
    assert found.p == pytest.approx(0.007277, abs=5e-7)


def test_a_repeated_group_does_not_differ_by_scores():
    assert compare_by_scores([months(BOTH), months(BOTH), months(BOTH)]).statistic == pytest.approx(0.0, abs=1e-9)


def test_late_entries_are_the_product_limit_estimate():
    """Product over event times of 1 - d / Y, Y the units that entered before and are still followed: Klein and
    Moeschberger (2003), Survival Analysis, section 4.6. Status: formula from memory, numbers computed here.
    """
    ended, running = np.array([5, 8, 8, 12, 15, 20.0]), np.array([6, 9, 14, 22.0])
    entry = np.array([2, 0, 7, 3, 9, 0, 1, 0, 5, 10.0])
    left = np.r_[ended, running]
    free = turnbull(Lives.of(left, np.r_[ended, np.full(4, INF)], entry), tolerance=1e-12)
    share, expected = 1.0, []
    for usage in np.unique(ended):
        share *= 1 - (ended == usage).sum() / ((entry < usage) & (left >= usage)).sum()
        expected.append(share)
    told = [float(1 - free.mass[free.end <= usage].sum()) for usage in np.unique(ended)]
    assert told == pytest.approx(expected, abs=1e-9)


def test_late_entries_are_fitted_as_a_general_optimiser_does():
    """The conditional likelihood S(left) - S(right) over S(entry), maximised by scipy's simplex search."""
    rng = np.random.default_rng(3)
    entry = np.where(rng.uniform(size=80) < 0.5, 0.0, rng.uniform(0, 30, 80))
    left = entry + rng.uniform(0, 20, 80)
    right = np.where(rng.uniform(size=80) < 0.4, left + rng.uniform(1, 15, 80), INF)
    fitted = fit_weibull(Lives.of(left, right, entry))

    def loss(logs):
        law = weibull_min(np.exp(logs[1]), scale=np.exp(logs[0]))
        return -np.log((law.sf(left) - law.sf(right)) / law.sf(entry)).sum()

    best = minimize(loss, np.log([40.0, 1.0]), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    assert [fitted.eta, fitted.beta] == pytest.approx(np.exp(best.x).tolist(), rel=1e-5)
    assert fitted.log_likelihood == pytest.approx(-best.fun, abs=1e-9)


@pytest.mark.parametrize(
    ("left", "right"),
    [([0, 0, 0], [5, 6, 7]), ([0, 0, 4], [5, 6, INF]), ([3, 3, 3], [INF, INF, INF]), ([5, 5], [5, INF])],
)
def test_lives_that_tell_no_shape_are_refused(left, right):
    with pytest.raises(ValueError, match=r"estimated yet|no shape"):
        fit_weibull(Lives.of(left, right))


def test_a_life_that_ends_before_it_enters_is_refused():
    with pytest.raises(ValueError, match="entry"):
        Lives.of([4.0], [9.0], [5.0])


def test_fewer_usages_say_nothing_that_is_not_so():
    whole, few = months(BOTH), thinned(months(BOTH), most=12)
    assert thinned(whole) is whole
    assert (few.left <= whole.left).all()
    assert (few.right >= whole.right).all()
    assert len(np.unique(few.left)) <= 13


def test_counts_at_risk():
    assert at_risk(Lives.of([0, 5, 9], [4, INF, INF]), np.array([0.0, 5.0, 6.0])).tolist() == [3, 2, 1]
    assert at_risk(Lives.of([5, 9], [INF, INF], [4, 6]), np.array([5.0])).tolist() == [1]
