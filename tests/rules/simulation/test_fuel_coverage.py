"""The fuel effect with known truth: 95 % limits hold it in 93 to 97 % of fleets."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from checks.rules.fuel import SHORTFALL, adjusted_fuel, fit_fuel
from checks.rules.fuel_cost import Slopes, limits, monthly_cost, summed
from checks.rules.moments import form_cells
from checks.rules.smoothing import Lines, expected_outside
from tests.rules.trips import EFFECT, simulate_trips


def share_covered(trucks, runs, *, least=0.0):
    rng, inside, told = np.random.default_rng(trucks), 0, 0
    for _ in range(runs):
        trips = simulate_trips(rng, trucks, per_month=3, clustering=0.02, quick=True)
        fit = fit_fuel(trips.cells, trips.shortfall, trips.excess)
        if not fit.told[SHORTFALL] or fit.dof[SHORTFALL] + 1 < least:
            continue
        low, high = fit.limits(SHORTFALL)
        inside, told = inside + (low < EFFECT[6] < high), told + 1
    return inside / told, told


@pytest.mark.parametrize(("trucks", "runs"), [(60, 800), (1000, 180)])
def test_limits_of_the_shortfall_effect(trucks, runs):
    share, told = share_covered(trucks, runs)
    assert told > 0.9 * runs
    assert 0.93 < share < 0.97


def test_eight_trucks_give_cautious_limits_and_often_no_claim():
    """Stated honestly: with eight trucks the limits hold the truth at least as often as promised where they are
    finite, and most such fleets carry no claim of cost."""
    rng, carried = np.random.default_rng(0), 0
    for _ in range(200):
        trips = simulate_trips(rng, 8, per_month=3, quick=True)
        carried += fit_fuel(trips.cells, trips.shortfall, trips.excess).carries(SHORTFALL)
    share, _ = share_covered(8, 600)
    assert share > 0.90
    assert carried < 100


def test_travel_taken_as_known_attenuates_the_effect_and_its_expected_value_restores_it():
    """Travel is told by a noisy reading of a spread that is known, as the drift model knows its own."""
    rng, low, spread, noise = np.random.default_rng(3), 1.0, 0.10, 0.10
    trips = simulate_trips(rng, 1500, per_month=3, bad=0.0)
    travel = 1.05 + spread * rng.normal(size=len(trips.shortfall))
    cell = np.repeat(np.arange(len(travel)), 3)
    rows = trips.rows.copy()
    rows[:, 0] += EFFECT[6] * np.maximum(0, low - travel)[cell]
    cells = form_cells(trips.truck, trips.month, rows, trips.weight, np.ones(len(rows)))
    reading = travel + noise * rng.normal(size=len(travel))
    share = spread**2 / (spread**2 + noise**2)
    mean, sd = 1.05 + share * (reading - 1.05), np.full(len(travel), spread * np.sqrt(1 - share))
    ends = {"first": np.arange(len(mean) + 1), "begin": np.full(len(mean), -np.inf), "end": np.full(len(mean), np.inf)}
    line = Lines(mean, 0 * sd, sd**2, 0 * sd, 0 * sd, process=0.0, **ends)
    told = expected_outside(line, np.arange(len(mean)), np.zeros(len(mean)), np.full(len(mean), low), mean + 9.0)
    naive = fit_fuel(cells, np.maximum(0, low - reading), trips.excess).effect(SHORTFALL)
    right = fit_fuel(cells, told.shortfall_mm, trips.excess).effect(SHORTFALL)
    assert naive.high < EFFECT[6]
    assert naive.slope < 0.75 * EFFECT[6]
    assert right.low < EFFECT[6] < right.high
    assert right.slope == pytest.approx(EFFECT[6], rel=0.15)


def test_litres_are_what_the_effect_burnt():
    trips = simulate_trips(np.random.default_rng(4), 200)
    slopes = Slopes.of(fit_fuel(trips.cells, trips.shortfall, trips.excess))
    none = np.zeros(len(trips.shortfall))
    travel = SimpleNamespace(
        shortfall_mm=trips.shortfall, excess_mm=trips.excess, shortfall_sd_mm=none, excess_sd_mm=none
    )
    cost = monthly_cost(trips.cells.litres, travel, slopes)
    truth = trips.cells.litres * -np.expm1(-(EFFECT[6] * trips.shortfall + EFFECT[7] * trips.excess))
    whole = summed(cost, np.zeros(len(none), int), 1, apart=True)
    low, high = limits(float(whole.litres[0]), float(whole.error(slopes)[0]), float(slopes.freedom(whole.pull)[0]))
    assert low < truth.sum() < high
    assert whole.litres[0] == pytest.approx(truth.sum(), rel=0.15)
    assert (cost.litres[(trips.shortfall == 0) & (trips.excess == 0)] == 0).all()
    # The sum's error is that of the sum: against moving each slope by hand.
    step = 1e-6
    moved = [
        monthly_cost(trips.cells.litres, travel, replace(slopes, beta=slopes.beta + step * e)).litres.sum()
        for e in np.eye(2)
    ]
    assert whole.pull[0] == pytest.approx((np.array(moved) - cost.litres.sum()) / step, rel=1e-4)


def test_adjusted_use_keeps_the_wastegate_and_loses_the_load():
    trips = simulate_trips(np.random.default_rng(5), 300, bad=1.0)
    fit = fit_fuel(trips.cells, trips.shortfall, trips.excess)
    adjusted = adjusted_fuel(trips.cells, fit)
    own = adjusted.log_fuel - np.repeat(adjusted.log_fuel.reshape(300, -1).mean(axis=1), 12)
    load = trips.cells.sums[:, 1] / trips.cells.weight
    gone = trips.shortfall - np.repeat(trips.shortfall.reshape(300, -1).mean(axis=1), 12)
    assert abs(np.corrcoef(own, load)[0, 1]) < 0.05
    assert np.polyfit(gone, own, 1)[0] > 0.05
