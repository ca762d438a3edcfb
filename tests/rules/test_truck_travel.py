"""From stretches of turbochargers' lives to what a truck's wastegates did in a month."""

import numpy as np
import pytest

from checks.rules.complaints import Travel
from checks.rules.fuel import fit_fuel
from checks.rules.fuel_cost import KG_CO2_PER_LITRE, Cost, Slopes, limits, monthly_cost, summed
from checks.rules.fuel_picture import points_of
from checks.rules.truck_travel import Pieces, joined, truck_travel
from tests.rules.trips import EFFECT, simulate_trips

MONTH = 24_300


def piece(truck=1, month=MONTH, unit=7, days=30.0, known=True, low=0.0, high=0.0, sd=0.0, place=0.5):
    """One piece; it is outside for sure where it has a shortfall or an excess."""
    ints = [np.array([value], np.int64) for value in (truck, month, unit)]
    floats = (low, high, sd * (low > 0), sd * (high > 0), float(low > 0), float(high > 0), low, high, place)
    return Pieces(*ints, np.array([days]), np.array([known]), *(np.array([value]) for value in floats))


def told(*pieces, months=((1, MONTH),)):
    truck, month = np.array(months).T
    return truck_travel(joined(list(pieces)), truck, month)


def test_days_weigh_what_stood_before_and_after_an_adjustment():
    found = told(piece(days=10, low=0.3), piece(days=20))
    assert found.shortfall_mm == pytest.approx([0.1])
    assert found.travel.tolist() == [Travel.INSIDE]  # for most of the month


def test_two_turbochargers_are_averaged_and_the_worse_state_holds():
    found = told(piece(unit=7, low=0.4), piece(unit=8))
    assert found.shortfall_mm == pytest.approx([0.2])
    assert (found.travel.tolist(), found.turbocharger.tolist()) == ([Travel.OUTSIDE_LOW], [7])
    assert found.units.share.tolist() == [1.0, 0.0]


def test_what_two_turbochargers_cost_is_shared_by_how_far_each_stands_out():
    found = told(piece(unit=7, low=0.1), piece(unit=8, high=0.3))
    assert found.units.share == pytest.approx([0.25, 0.75])
    assert (found.travel.tolist(), found.turbocharger.tolist()) == ([Travel.OUTSIDE_HIGH], [8])


def test_what_is_unknown_of_one_is_shared_by_its_days_and_of_two_is_apart():
    one = told(piece(days=15, low=0.3, sd=0.1), piece(days=15, low=0.3, sd=0.1))
    two = told(piece(unit=7, low=0.3, sd=0.1), piece(unit=8, low=0.3, sd=0.1))
    assert one.shortfall_sd_mm == pytest.approx([0.1])
    assert two.shortfall_sd_mm == pytest.approx([0.1 / np.sqrt(2)])


@pytest.mark.parametrize(("blind", "state"), [(5.0, Travel.INSIDE), (8.0, Travel.UNKNOWN)])
def test_a_month_is_known_where_four_fifths_of_its_days_are(blind, state):
    found = told(piece(days=30 - blind), piece(unit=9, days=blind, known=False))
    assert found.travel.tolist() == [state]
    assert np.isnan(found.shortfall_mm[0]) == (state == Travel.UNKNOWN)


def test_months_without_any_turbocharger_are_unknown_and_other_trucks_pieces_are_left_out():
    found = told(piece(truck=2), piece(month=MONTH + 5), months=((1, MONTH), (1, MONTH + 1)))
    assert found.travel.tolist() == [Travel.UNKNOWN] * 2
    assert found.turbocharger.tolist() == [-1, -1]
    assert not len(found.units.row)
    assert told(piece(month=MONTH + 5)).known.tolist() == [False]


def test_a_litre_of_diesel_makes_as_much_co2_as_the_table_says():
    """40 CFR 98, Table C-1: 0.138 mmBtu a gallon and 73.96 kg a mmBtu, so 10.21 kg a gallon. Status: verified."""
    assert pytest.approx(10.20648) == KG_CO2_PER_LITRE * 3.785411784
    assert pytest.approx(2.696267, abs=1e-6) == KG_CO2_PER_LITRE


def fleet(seed=3, trucks=40):
    trips = simulate_trips(np.random.default_rng(seed), trucks, bad=0.8)
    cells = trips.cells
    pieces = [
        piece(truck, month, unit=100 + truck, low=low, high=high)
        for truck, month, low, high in zip(cells.truck, cells.month, trips.shortfall, trips.excess, strict=True)
    ]
    fit = fit_fuel(cells, trips.shortfall, trips.excess)
    return trips, truck_travel(joined(pieces), cells.truck, cells.month), fit


def test_points_of_the_picture_lie_on_the_planted_line():
    trips, travel, fit = fleet()
    log_fuel = trips.cells.sums[:, 0] / trips.cells.weight
    log_fuel = log_fuel - (trips.cells.sums[:, 1:] / trips.cells.weight[:, None]) @ fit.beta[:6]
    points = points_of(trips.cells.truck, trips.cells.weight, log_fuel, travel, Slopes.of(fit))
    assert {point.side for point in points} == {0, 1, 2}
    assert sum(point.months for point in points) == len(trips.shortfall)
    for point in points:
        line = EFFECT[5 + point.side] * point.at if point.side else 0.0
        assert point.log_fuel == pytest.approx(line, abs=4 * point.error + 0.003)


def test_a_slope_that_too_few_trucks_carry_costs_nothing():
    trips = simulate_trips(np.random.default_rng(8), 12, bad=0.0)
    low = np.where(trips.cells.truck == 3, 0.02 * trips.cells.month, 0.0)
    slopes = Slopes.of(fit_fuel(trips.cells, low, trips.excess))
    assert slopes.carried.tolist() == [False, False]
    travel = truck_travel(
        joined([piece(t, m, low=x) for t, m, x in zip(trips.cells.truck, trips.cells.month, low, strict=True)]),
        trips.cells.truck,
        trips.cells.month,
    )
    cost = monthly_cost(trips.cells.litres, travel, slopes)
    assert not cost.litres.any()
    assert not cost.error(slopes).any()


def test_months_of_one_truck_are_unknown_alike_and_trucks_apart():
    cost = Cost(np.array([5.0, 5.0]), np.zeros((2, 2)), np.array([3.0, 4.0]))
    one = np.zeros(2, int)
    assert summed(cost, one, 1, apart=False).travel_sd.tolist() == [7.0]
    assert summed(cost, one, 1, apart=True).travel_sd.tolist() == [5.0]


def test_limits_are_students_and_infinite_without_freedom():
    """Quantile of t on 4 degrees of freedom: 2.776445 (any table)."""
    assert limits(1.0, 0.5, 4.0) == pytest.approx((1 - 2.776445 * 0.5, 1 + 2.776445 * 0.5), abs=1e-5)
    assert limits(1.0, 0.5, 0.0) == (-np.inf, np.inf)
