"""Moments against the row-level regression of an independent library, and published fixed-effects estimates."""

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.datasets import grunfeld

from checks.rules.fuel import EXCESS, SHORTFALL, TERMS, fit_fuel
from checks.rules.moments import WIDTH, form_cells
from tests.rules.trips import simulate_trips


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_coefficients_and_clustered_errors_equal_the_row_level_regression(seed):
    """statsmodels WLS with truck dummies, clustered by truck; its factor counts the dummies, ours (nested) does not."""
    trips = simulate_trips(np.random.default_rng(seed), 12)
    ours = fit_fuel(trips.cells, trips.shortfall, trips.excess)
    cell = np.repeat(np.arange(len(trips.shortfall)), trips.cells.rows)
    terms = np.concatenate([trips.rows[:, 1:], trips.shortfall[cell][:, None], trips.excess[cell][:, None]], axis=1)
    dummies = (trips.truck[:, None] == np.arange(12)).astype(float)
    x = np.concatenate([terms, dummies], axis=1)
    peer = sm.WLS(trips.rows[:, 0], x, weights=trips.weight).fit(
        cov_type="cluster", cov_kwds={"groups": trips.truck, "use_correction": True}
    )
    k, n = len(TERMS), len(trips.truck)
    nested = np.sqrt((n - x.shape[1]) / (n - k))
    assert ours.beta == pytest.approx(peer.params[:k], rel=1e-8, abs=1e-12)
    assert np.sqrt(np.diag(ours.cov_cluster)) == pytest.approx(peer.bse[:k] * nested, rel=1e-8)


def test_leave_one_truck_out_equals_refitting_without_each_truck():
    """The jackknife by brute force."""
    trips = simulate_trips(np.random.default_rng(4), 10, bad=1.0)
    ours = fit_fuel(trips.cells, trips.shortfall, trips.excess)
    moved = []
    for truck in range(10):
        keep = trips.cells.truck != truck
        moved.append(fit_fuel(trips.cells.where(keep), trips.shortfall[keep], trips.excess[keep]).beta - ours.beta)
    moved = np.array(moved)
    assert ours.cov == pytest.approx(0.9 * moved.T @ moved, rel=1e-6)


def test_grunfeld_firm_effects():
    """Baltagi: 0.1101 (0.0119) and 0.3101 (0.0174), ten firms. Status: from memory, recomputed; data of statsmodels."""
    data = grunfeld.load_pandas().data
    data = data[data["firm"] != data["firm"].unique()[-1]].sort_values(["firm", "year"])
    firm = data["firm"].factorize()[0]
    rows = np.zeros((len(data), WIDTH))
    rows[:, 0], rows[:, 1], rows[:, 2] = data["invest"], data["value"], data["capital"]
    cells = form_cells(firm, np.zeros(200, dtype=int), rows, np.ones(200), np.ones(200))
    ours = fit_fuel(cells, np.zeros(10), np.zeros(10))
    assert ours.beta[:2] == pytest.approx([0.11012380, 0.31006534], abs=5e-9)
    assert ours.told.tolist() == [True, True] + [False] * (len(TERMS) - 2)
    # linearmodels' clustered errors, 0.01441440 and 0.05004345 (recomputed), use the factor N / (N - K), K = 2.
    linear = np.sqrt(np.diag(ours.cov_cluster)[:2] * 0.9 * 198 / 199 * 200 / 198)
    assert linear == pytest.approx([0.01441440, 0.05004345], rel=1e-6)


def test_longley_to_the_digits_that_moments_can_reach():
    """NIST StRD Longley. Status: certified values from memory, recomputed. Cross products of this set lose about as
    many digits as its condition squared: six or more certified digits stay, where orthogonal methods keep eleven."""
    data = sm.datasets.longley.load_pandas().data
    x = data[["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]].to_numpy(dtype=float)
    rows = np.concatenate([data[["TOTEMP"]].to_numpy(dtype=float), x], axis=1)
    rows = np.concatenate([rows, rows])
    truck = np.repeat([0, 1], 16)
    cells = form_cells(truck, np.zeros(32, dtype=int), rows - rows.mean(axis=0), np.ones(32), np.ones(32))
    ours = fit_fuel(cells, np.zeros(2), np.zeros(2))
    certified = [15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359]
    certified += [-0.0511041056535807, 1829.15146461355]
    assert ours.beta[:6] == pytest.approx(certified, rel=1e-6)


def test_terms_that_never_vary_are_not_told():
    trips = simulate_trips(np.random.default_rng(5), 6, bad=0.0)
    ours = fit_fuel(trips.cells, trips.shortfall, trips.excess)
    assert not ours.told[SHORTFALL]
    assert ours.limits(EXCESS) == (-np.inf, np.inf)
    assert not ours.carries(SHORTFALL)


@pytest.mark.parametrize("depth_mm", [1e-16, 1e-6, 2e-3])
def test_tails_of_travel_that_no_dial_shows_tell_no_effect_and_move_no_other(depth_mm):
    """A model whose units never rose above the window still has an expected excess there, however small."""
    trips = simulate_trips(np.random.default_rng(7), 20, bad=1.0)
    tail = depth_mm * np.random.default_rng(8).random(len(trips.excess))
    ours = fit_fuel(trips.cells, trips.shortfall, tail)
    without = fit_fuel(trips.cells, trips.shortfall, 0 * tail)
    found = ours.effect(EXCESS)
    assert (found.slope, found.low, found.high, found.carried) == (0.0, -np.inf, np.inf, False)
    assert ours.carries(SHORTFALL)
    assert ours.beta.tolist() == without.beta.tolist()


def test_impossible_input_is_refused():
    trips = simulate_trips(np.random.default_rng(6), 3)
    with pytest.raises(ValueError, match="not negative"):
        fit_fuel(trips.cells, -trips.shortfall - 1, trips.excess)
    one = trips.cells.truck == 0
    with pytest.raises(ValueError, match="two trucks"):
        fit_fuel(trips.cells.where(one), trips.shortfall[one], trips.excess[one])
