"""NIST's linear sets through the sums of products, the digits that stay, and the orthogonal way where they do not.

Sums of products cannot reach all certified digits where terms are near one another's sums: of sixteen digits about
log10 of the squared condition go. Filip's polynomial has ten terms, more than a trip has columns, and its squared
condition (about 1e30, NIST: 'higher level of difficulty') leaves no digit: the orthogonal way is for such.
"""

import io
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm

from checks.rules.fuel import fit_fuel
from checks.rules.fuel_exact import slopes_from_rows
from checks.rules.moments import WIDTH, form_cells
from tests.rules.trips import EFFECT, simulate_trips


def twice(rows):
    """The set as two trucks' trips, since a fit needs two: demeaned, the coefficients are the same."""
    rows, n = np.concatenate([rows, rows]), len(rows)
    full = np.zeros((2 * n, WIDTH))
    full[:, : rows.shape[1]] = rows
    cells = form_cells(np.repeat([0, 1], n), np.zeros(2 * n, int), full, np.ones(2 * n), np.ones(2 * n))
    return fit_fuel(cells, np.zeros(2), np.zeros(2))


def norris():
    """Data and certified slope from the file of NIST StRD that scipy carries. Status: verified."""
    file = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
    if not file.exists():
        pytest.skip("this build of scipy carries no test data")
    text = file.read_text().splitlines()
    start = next(i for i, line in enumerate(text) if line.startswith("Data:") and "y" in line and "x" in line)
    return np.loadtxt(io.StringIO("\n".join(text[start + 1 :])))


def test_norris_to_eleven_digits():
    rows = norris()
    assert len(rows) == 36
    ours = twice(rows)
    assert ours.beta[0] == pytest.approx(1.00211681802045, rel=1e-11)
    assert ours.digits > 12


def test_wampler_keeps_as_many_digits_as_are_promised():
    """NIST StRD Wampler1: y = 1 + x + ... + x^5, all coefficients exactly 1. Status: recomputed."""
    x = np.arange(21.0)
    terms = np.stack([x**k for k in range(1, 6)], axis=1)
    ours = twice(np.concatenate([(1 + terms.sum(axis=1))[:, None], terms], axis=1))
    assert 5 < ours.digits < 12
    # The digits are those of the largest term; the smallest, a millionth of it, keeps fewer.
    assert abs(ours.beta[4] - 1) < 10 ** -(ours.digits - 1)
    assert np.abs(ours.beta[:5] - 1).max() < 1e-6
    exact = slopes_from_rows([(1 + terms.sum(axis=1), terms, np.ones(21))])
    assert np.abs(exact - 1).max() < 1e-10


def test_longley_from_rows_to_eleven_digits():
    """NIST StRD Longley. Status: certified values recalled, recomputed; data of statsmodels."""
    data = sm.datasets.longley.load_pandas().data
    terms = data[["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]].to_numpy(dtype=float)
    exact = slopes_from_rows([(data["TOTEMP"].to_numpy(dtype=float), terms, np.ones(16))])
    certified = [15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359]
    certified += [-0.0511041056535807, 1829.15146461355]
    assert exact == pytest.approx(certified, rel=1e-11)


FILIP = """
0.8116 -6.860120914 0.9072 -4.324130045 0.9052 -4.358625055 0.9039 -4.358426747 0.8053 -6.955852379 0.8377 -6.661145254
0.8667 -6.355462942 0.8809 -6.118102026 0.7975 -7.115148017 0.8162 -6.815308569 0.8515 -6.519993057 0.8766 -6.204119983
0.8885 -5.853871964 0.8859 -6.109523091 0.8959 -5.79832982 0.8913 -5.482672118 0.8959 -5.171791386 0.8971 -4.851705903
0.9021 -4.517126416 0.909 -4.143573228 0.9139 -3.709075441 0.9199 -3.499489089 0.8692 -6.300769497 0.8872 -5.953504836
0.89 -5.642065153 0.891 -5.031376979 0.8977 -4.680685696 0.9035 -4.329846955 0.9078 -3.928486195 0.7675 -8.56735134
0.7705 -8.363211311 0.7713 -8.107682739 0.7736 -7.823908741 0.7775 -7.522878745 0.7841 -7.218819279 0.7971 -6.920818754
0.8329 -6.628932138 0.8641 -6.323946875 0.8804 -5.991399828 0.7668 -8.781464495 0.7633 -8.663140179 0.7678 -8.473531488
0.7697 -8.247337057 0.77 -7.971428747 0.7749 -7.676129393 0.7796 -7.352812702 0.7897 -7.072065318 0.8131 -6.774174009
0.8498 -6.478861916 0.8741 -6.159517513 0.8061 -6.835647144 0.846 -6.53165267 0.8751 -6.224098421 0.8856 -5.910094889
0.8919 -5.598599459 0.8934 -5.290645224 0.894 -4.974284616 0.8957 -4.64454848 0.9047 -4.290560426 0.9129 -3.885055584
0.9209 -3.408378962 0.9219 -3.13200249 0.7739 -8.726767166 0.7681 -8.66695597 0.7665 -8.511026475 0.7703 -8.165388579
0.7702 -7.886056648 0.7761 -7.588043762 0.7809 -7.283412422 0.7961 -6.995678626 0.8253 -6.691862621 0.8602 -6.392544977
0.8809 -6.067374056 0.8301 -6.684029655 0.8664 -6.378719832 0.8834 -6.065855188 0.8898 -5.752272167 0.8964 -5.132414673
0.8963 -4.811352704 0.9074 -4.098269308 0.9119 -3.66174277 0.9228 -3.2644011
"""


def test_filip_from_rows_to_seven_digits_where_sums_of_products_keep_none():
    """NIST StRD Filip ('higher level of difficulty'): data and certified values as a stored public test gives them.

    Status: recomputed here. NIST: the condition of the raw terms, with their constant, is 1.8e15.
    """
    y, x = np.array(FILIP.split(), float).reshape(-1, 2).T
    assert len(x) == 82
    terms = np.stack([x**k for k in range(1, 11)], axis=1)
    certified = [-2772.17959193342, -2316.37108160893, -1127.97394098372, -354.478233703349, -75.1242017393757]
    certified += [-10.8753180355343, -1.06221498588947, -0.0670191154593408, -0.00246781078275479, -4.02962525080404e-5]
    exact = slopes_from_rows([(y, terms, np.ones(82))])
    assert exact == pytest.approx(certified, rel=1e-6)
    level = y.mean() - exact @ terms.mean(axis=0)
    assert level == pytest.approx(-1467.48961422980, rel=1e-6)
    residual = y - level - terms @ exact
    assert np.sqrt(residual @ residual / 71) == pytest.approx(0.00334801051324544, rel=1e-6)
    spread = terms - terms.mean(axis=0)
    # Of sixteen digits more than sixteen go.
    assert np.linalg.cond(spread / np.linalg.norm(spread, axis=0)) ** 2 > 1e16


def test_trips_keep_all_digits_that_matter_either_way():
    trips = simulate_trips(np.random.default_rng(2), 20, bad=1.0)
    ours = fit_fuel(trips.cells, trips.shortfall, trips.excess)
    cell = np.repeat(np.arange(len(trips.shortfall)), trips.cells.rows)
    terms = np.concatenate([trips.rows[:, 1:], trips.shortfall[cell][:, None], trips.excess[cell][:, None]], axis=1)
    blocks = [
        (trips.rows[trips.truck == truck, 0], terms[trips.truck == truck], trips.weight[trips.truck == truck])
        for truck in range(20)
    ]
    assert ours.digits > 11
    assert ours.beta == pytest.approx(slopes_from_rows(blocks), rel=1e-10)
    assert len(ours.beta) == len(EFFECT)


@pytest.mark.parametrize("terms", [np.zeros((5, 1)), np.stack([np.arange(5.0)] * 2, axis=1), np.ones((1, 3))])
def test_terms_that_cannot_be_told_apart_are_refused(terms):
    with pytest.raises(ValueError, match="do not vary"):
        slopes_from_rows([(np.arange(float(len(terms))), terms, np.ones(len(terms)))])
    with pytest.raises(ValueError, match="no rows"):
        slopes_from_rows([])
