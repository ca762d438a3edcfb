"""After a jump the forecast starts from the readings since; units that did not jump keep theirs to the last digit."""

import numpy as np
import pytest
from scipy.stats import norm

from checks.rules.chart import innovations
from checks.rules.drift import fit
from checks.rules.epochs import epochs_from_readings
from checks.rules.forecast import forecast
from checks.rules.restart import restarted

UNITS, STEP = 60, 0.9


def jumping(rng, *, back: bool = False):
    """Six readings each; unit 0 steps at its fifth, and with ``back`` returns at its sixth."""
    rows = []
    for unit in range(UNITS):
        start, drift = 1.5 + 0.05 * rng.normal(), 0.04 + 0.02 * rng.normal()
        for place in range(6):
            usage = 0.2 + 0.3 * place
            step = STEP if unit == 0 and (place == 4 or (place == 5 and not back)) else 0.0
            rows.append((unit, 0, 0, usage, start + drift * usage + step + 0.02 * rng.normal(), 0.01))
    return epochs_from_readings(*np.array(rows).T, current_epoch=[0] * UNITS, current_kind=[0] * UNITS)


def look_ahead(data):
    one = fit(data)
    plain, seen = forecast(one), innovations(one)
    return one, plain, seen, restarted(plain, data, seen)


def test_a_unit_that_stepped_is_forecast_at_its_new_place():
    data = jumping(np.random.default_rng(11))
    one, plain, seen, found = look_ahead(data)
    last = data.travel_mm[data.unit == 0][-1]
    now = np.full(UNITS, 1.7)
    assert seen.jumps[data.unit == 0].any()
    assert abs(plain.mean_mm(now)[0] - last) > 0.1
    assert found.mean_mm(now)[0] == pytest.approx(last, abs=3 * one.theta[0])
    np.testing.assert_array_equal(found.mean_mm(now)[1:], plain.mean_mm(now)[1:])
    np.testing.assert_array_equal(found.sd_mm(now)[1:], plain.sd_mm(now)[1:])


def test_its_variance_is_that_of_the_readings_since_and_of_the_drift():
    data = jumping(np.random.default_rng(11))
    one, _, seen, found = look_ahead(data)
    mine = np.flatnonzero(data.unit == 0)
    since = mine[mine >= mine[np.flatnonzero(seen.jumps[mine])[-1]]]
    each = one.theta[0] ** 2 + data.u_mm[since] ** 2
    centre = np.average(data.usage[since], weights=1 / each)
    at = 2.4
    slope_u = found.slope_mm()[1][0]
    wanted = 1 / (1 / each).sum() + slope_u**2 * (at - centre) ** 2 + one.theta[0] ** 2
    assert found.sd_mm(np.full(UNITS, at))[0] == pytest.approx(np.sqrt(wanted))
    chance = found.p_outside(np.full(UNITS, at), 1.0, 2.0)[0]
    mean = found.mean_mm(np.full(UNITS, at))[0]
    assert chance == pytest.approx(norm.cdf(1.0, mean, np.sqrt(wanted)) + norm.sf(2.0, mean, np.sqrt(wanted)))


def test_a_slip_that_comes_back_ends_where_it_came_back_to():
    data = jumping(np.random.default_rng(11), back=True)
    one, _, _, found = look_ahead(data)
    last = data.travel_mm[data.unit == 0][-1]
    assert found.mean_mm(np.full(UNITS, 1.7))[0] == pytest.approx(last, abs=4 * one.theta[0])
