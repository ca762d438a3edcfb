"""Moments against regressions on the rows by three libraries: coefficients and clustered errors to 1e-8.

Each library counts the small sample in its own way; the factors between theirs and ours are written down here.
"""

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pyfixest
import pytest
import statsmodels.api as sm
from linearmodels.panel import PanelOLS

from checks.rules.fuel import TERMS, fit_fuel
from checks.rules.moments import WIDTH, form_cells
from tests.rules.trips import simulate_trips

FORMULA = f"y ~ {' + '.join(TERMS)} | truck"
K = len(TERMS)


@pytest.fixture(scope="module", params=[(14, 2), (60, 3)], ids=["14 trucks", "60 trucks"])
def both(request):
    """The same trips as a fit from moments, and as rows."""
    trucks, seed = request.param
    trips = simulate_trips(np.random.default_rng(seed), trucks, bad=1.0)
    cell = np.repeat(np.arange(len(trips.shortfall)), trips.cells.rows)
    terms = np.concatenate([trips.rows[:, 1:], trips.shortfall[cell][:, None], trips.excess[cell][:, None]], axis=1)
    rows = pd.DataFrame(terms, columns=list(TERMS))
    rows = rows.assign(y=trips.rows[:, 0], truck=trips.truck, km=trips.weight, trip=np.arange(len(rows)))
    return fit_fuel(trips.cells, trips.shortfall, trips.excess), rows, trucks


def feols(rows, kind):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pyfixest.feols(FORMULA, data=rows, weights="km", vcov={kind: "truck"}, fixef_tol=1e-12)


def test_pyfixest(both):
    """Its factor is G / (G - 1) * (N - 1) / (N - K - 1): nested truck levels count as one parameter."""
    ours, rows, _ = both
    peer, n = feols(rows, "CRV1"), len(rows)
    assert ours.beta == pytest.approx(peer.coef().to_numpy(), rel=1e-8)
    error = np.sqrt(np.diag(ours.cov_cluster)) * np.sqrt((n - K) / (n - K - 1))
    assert error == pytest.approx(peer.se().to_numpy(), rel=1e-8)


def test_pyfixest_without_each_truck(both):
    """Its CRV3 multiplies the same sum of squares by the factor above, ours (the jackknife's) by (G - 1) / G."""
    ours, rows, trucks = both
    if trucks > 20:
        pytest.skip("it refits for every truck; 14 tell as much")
    peer, n = feols(rows, "CRV3"), len(rows)
    theirs = np.sqrt((trucks / (trucks - 1)) ** 2 * (n - 1) / (n - K - 1))
    assert np.sqrt(np.diag(ours.cov)) * theirs == pytest.approx(peer.se().to_numpy(), rel=1e-7)


def test_linearmodels(both):
    """Its factor is N / (N - K)."""
    ours, rows, trucks = both
    panel, n = rows.set_index(["truck", "trip"]), len(rows)
    model = PanelOLS(panel["y"], panel[list(TERMS)], entity_effects=True, weights=panel["km"])
    peer = model.fit(cov_type="clustered", cluster_entity=True)
    assert ours.beta == pytest.approx(peer.params.to_numpy(), rel=1e-8)
    theirs = np.sqrt(n / (n - 1) * (trucks - 1) / trucks)
    assert np.sqrt(np.diag(ours.cov_cluster)) * theirs == pytest.approx(peer.std_errors.to_numpy(), rel=1e-8)


@pytest.fixture(scope="module")
def firms():
    """Test data of Petersen (2009), 500 firms by 10 years, as in the data set PetersenCL of R's package sandwich."""
    return pd.read_csv(Path(__file__).parent / "petersen.csv")


def test_the_firms_are_those_of_petersens_published_errors(firms):
    """Estimating standard errors in finance panel data sets, Rev. Financial Studies 22 (2009). Status: verified."""
    plain = sm.OLS(firms["y"], sm.add_constant(firms["x"]))
    by_firm = plain.fit(cov_type="cluster", cov_kwds={"groups": firms["firm"]})
    assert by_firm.params.to_numpy() == pytest.approx([0.0297, 1.0348], abs=5e-5)
    assert by_firm.bse.to_numpy() == pytest.approx([0.067013, 0.050596], abs=5e-7)
    assert plain.fit().bse.to_numpy() == pytest.approx([0.028359, 0.028583], abs=5e-7)


def test_petersens_firms_with_firm_effects(firms):
    """His errors are of one intercept for all firms, which ours is not: two libraries are asked with firm effects."""
    n, k = len(firms), 500
    rows = np.zeros((n, WIDTH))
    rows[:, 0], rows[:, 1] = firms["y"], firms["x"]
    number = firms["firm"].to_numpy() - 1
    cells = form_cells(number, np.zeros(n, int), rows, np.ones(n), np.ones(n))
    ours = fit_fuel(cells, np.zeros(k), np.zeros(k))
    peer = pyfixest.feols("y ~ x | firm", data=firms, vcov={"CRV1": "firm"}, fixef_tol=1e-14)
    assert ours.beta[0] == pytest.approx(peer.coef()["x"], rel=1e-10)
    # With K = 1: theirs counts the nested levels as one more parameter.
    assert np.sqrt(ours.cov_cluster[0, 0] * (n - 1) / (n - 2)) == pytest.approx(peer.se()["x"], rel=1e-10)
    levels = pd.get_dummies(firms["firm"], dtype=float)
    rowwise = sm.OLS(firms["y"], pd.concat([firms["x"], levels], axis=1))
    fitted = rowwise.fit(method="qr", cov_type="cluster", cov_kwds={"groups": firms["firm"]})
    assert ours.beta[0] == pytest.approx(fitted.params["x"], rel=1e-10)
    # Its K counts every level.
    theirs = np.sqrt(ours.cov_cluster[0, 0] * (n - 1) / (n - 1 - k))
    assert theirs == pytest.approx(fitted.bse["x"], rel=1e-8)
