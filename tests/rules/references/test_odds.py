"""Published stratified tables and exact tests."""

import numpy as np
import pytest
from scipy.stats import chi2, fisher_exact, nchypergeom_fisher
from scipy.stats.contingency import odds_ratio
from statsmodels.stats.contingency_tables import StratifiedTable

from checks.rules.odds import common_odds_ratio, exact_odds_ratio, mantel_haenszel

# Smoking and lung cancer in eight Chinese cities: smoker case, control; non-smoker case, control (Agresti).
CHINA = [(126, 100, 35, 61), (908, 688, 497, 807), (913, 747, 336, 598), (235, 172, 58, 121)]
CHINA += [(402, 308, 121, 215), (182, 156, 72, 98), (60, 99, 11, 43), (104, 89, 21, 36)]
# Admissions at a university in 1973 by department: male admitted, rejected; female admitted, rejected.
ADMISSIONS = [(512, 313, 89, 19), (353, 207, 17, 8), (120, 205, 202, 391)]
ADMISSIONS += [(138, 279, 131, 244), (53, 138, 94, 299), (22, 351, 24, 317)]
# Tuberculosis with and without vaccination: vaccinated ill, well; control ill, well (Colditz 1994).
VACCINE = [(4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619), (33, 5036, 47, 5761)]
VACCINE += [(180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892), (29, 7470, 45, 7232)]
VACCINE += [(17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338), (27, 16886, 29, 17825)]


def tables(rows):
    return np.array(rows, dtype=float).reshape(-1, 2, 2)


def test_chinese_smoking_study():
    """Agresti: common odds ratio 2.17 (1.98 to 2.38). Status: data verified, answers from memory and recomputed."""
    found = mantel_haenszel(tables(CHINA))
    assert found.estimate == pytest.approx(2.17448192, rel=1e-8)
    assert (found.low, found.high) == pytest.approx((1.98400197, 2.38324945), rel=1e-8)
    # Agresti: CMH 279.4 with continuity correction; recomputed 279.375740.
    assert found.p == pytest.approx(chi2.sf(279.375740, 1), rel=1e-5)


def test_vaccine_trials():
    """Thirteen trials (Colditz 1994): OR 0.622874 (0.574770 to 0.675004), CMH 135.688944. Status: data verified,
    answers recomputed."""
    found = common_odds_ratio(tables(VACCINE))
    assert found.method == "Mantel-Haenszel"
    assert found.estimate == pytest.approx(0.622874, abs=5e-7)
    assert (found.low, found.high) == pytest.approx((0.574770, 0.675004), abs=5e-7)
    assert found.p == pytest.approx(chi2.sf(135.688944, 1), rel=1e-5)


def test_university_admissions():
    """R's mantelhaen.test: 0.9046968 (0.7719074 to 1.0603298), p 0.2323. Status: from memory, recomputed."""
    found = common_odds_ratio(tables(ADMISSIONS))
    assert found.method == "Mantel-Haenszel"
    assert found.estimate == pytest.approx(0.9046968, abs=5e-8)
    assert (found.low, found.high) == pytest.approx((0.7719074, 1.0603298), abs=5e-8)
    assert found.p == pytest.approx(0.2323, abs=5e-5)


def test_tea_tasting():
    """Fisher's tea: odds ratio 6.408, two-sided p 34/70 (R's help page). Status: from memory, recomputed."""
    found = exact_odds_ratio(tables([(3, 1, 1, 3)]))
    assert found.estimate == pytest.approx(6.40832, abs=5e-5)
    assert found.p == pytest.approx(34 / 70)
    # One-sided limit at 95 %, as R prints it: 0.313574 (recomputed; R 0.3135693).
    assert exact_odds_ratio(tables([(3, 1, 1, 3)]), confidence=0.90).low == pytest.approx(0.313574, abs=5e-7)


def test_convictions_of_twins():
    """Odds ratio 0.04694 (0.003317 to 0.363190), two-sided p 0.0005367 (R's help page). Status: as above."""
    found = exact_odds_ratio(tables([(2, 15, 10, 3)]))
    assert found.estimate == pytest.approx(0.046937, abs=5e-6)
    assert (found.low, found.high) == pytest.approx((0.003317, 0.363190), abs=5e-6)
    assert found.p == pytest.approx(0.000536724, abs=1e-8)


@pytest.mark.parametrize("seed", range(8))
def test_random_strata_agree_with_libraries(seed):
    """Peers: statsmodels StratifiedTable; scipy odds_ratio and fisher_exact for one stratum."""
    rng = np.random.default_rng(seed)
    strata = rng.integers(2, 40, (4, 2, 2)).astype(float)
    peer = StratifiedTable(list(strata))
    found = mantel_haenszel(strata)
    assert found.estimate == pytest.approx(peer.oddsratio_pooled, rel=1e-9)
    assert (found.low, found.high) == pytest.approx(peer.oddsratio_pooled_confint(), rel=1e-9)
    assert found.p == pytest.approx(peer.test_null_odds(correction=True).pvalue, rel=1e-9)
    one = rng.integers(1, 9, (2, 2))
    exact, peer_ratio = exact_odds_ratio(one[None].astype(float)), odds_ratio(one)
    limits = peer_ratio.confidence_interval(0.95)
    assert exact.estimate == pytest.approx(peer_ratio.statistic, rel=1e-6)
    assert (exact.low, exact.high) == pytest.approx((limits.low, limits.high), rel=1e-6)
    assert exact.p == pytest.approx(fisher_exact(one).pvalue, rel=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_exact_limits_of_several_strata_leave_a_fortieth_in_each_tail(seed):
    """Peer: scipy's Fisher noncentral hypergeometric law of each stratum, convolved."""
    strata = np.random.default_rng(seed).integers(0, 5, (3, 2, 2)) + np.array([[1, 2], [2, 4]])
    found, total = exact_odds_ratio(strata.astype(float)), int(strata[:, 0, 0].sum())

    def law(ratio):
        whole = np.ones(1)
        for (a, b), (c, d) in strata.tolist():
            one = nchypergeom_fisher(a + b + c + d, a + c, a + b, ratio)
            whole = np.convolve(whole, one.pmf(np.arange(a + min(b, c) + 1)))
        return whole

    assert law(found.low)[total:].sum() == pytest.approx(0.025, rel=1e-6)
    assert law(found.high)[: total + 1].sum() == pytest.approx(0.025, rel=1e-6)
    mean = law(found.estimate) @ np.arange(len(law(found.estimate)))
    assert mean == pytest.approx(total, rel=1e-6)


def test_tables_that_tell_nothing_say_so():
    assert np.isnan(common_odds_ratio(np.zeros((3, 2, 2))).estimate)
    assert np.isnan(common_odds_ratio([[[0, 5], [0, 9]]]).estimate)
    nobody = common_odds_ratio([[[0, 5], [4, 9]]])
    assert (nobody.estimate, nobody.low) == (0.0, 0.0)
    assert nobody.high > 0


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="whole"):
        common_odds_ratio([[[1.5, 2], [3, 4]]])
    with pytest.raises(ValueError, match="shape"):
        common_odds_ratio([[1, 2], [3, 4]])
