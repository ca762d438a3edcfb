"""What a policy brings: dates by risk, checks counted by depot, time outside integrated up to the check."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr

from checks.rules.policy_effect import DAYS_A_MONTH, Outlook, chance_at, effect, risk_day

INF = np.inf


def outlook(n=2, *, slope=0.001, rate=300.0, **changes):
    """Units whose chance rises from 0 by `slope` for each 100 km from now; the calendar asks after 60 and 200 days."""
    usage = np.linspace(0, 200_000, 401)
    path = np.tile(usage, (n, 1))
    made = Outlook(
        usage_now=np.zeros(n),
        usage_per_day=np.full(n, rate),
        path_usage=path,
        path_chance=np.minimum(path / 100 * slope, 1.0),
        seen_days_ago=np.full(n, 10.0),
        asked={"calendar_maximum": np.where(np.arange(n) % 2, 200.0, 60.0)},
        depot=np.arange(n) % 2,
    )
    return replace(made, **changes)


def test_risk_asks_on_the_day_on_which_the_chance_reaches_the_level():
    units = outlook()
    assert risk_day(units, 0.05, 0) == pytest.approx([5_000 / 300] * 2)
    assert chance_at(units, risk_day(units, 0.05, 0)) == pytest.approx([0.05] * 2)


def test_risk_waits_for_its_shortest_time_after_the_last_look():
    assert risk_day(outlook(), 0.05, 30) == pytest.approx([20.0, 20.0])


def test_a_chance_that_never_reaches_the_level_asks_for_nothing():
    assert list(risk_day(outlook(slope=0.0), 0.05, 0)) == [INF, INF]


def test_a_unit_without_forecast_goes_by_its_other_rules():
    units = outlook(usage_now=np.full(2, np.nan), usage_per_day=np.full(2, np.nan))
    assert list(risk_day(units, 0.05, 0)) == [INF, INF]
    found = effect(units, level=0.05, least_days=0, depots=2)
    assert list(found.checks) == [1, 0]
    assert list(found.outside_months) == [0.0, 0.0]


def test_checks_within_the_span_are_counted_by_depot():
    units = outlook(slope=0.0)
    assert list(effect(units, level=0.05, least_days=0, depots=3).checks) == [1, 0, 0]
    assert list(effect(units, level=0.05, least_days=0, depots=3, span_days=365).checks) == [1, 1, 0]


def test_time_outside_is_the_chance_summed_up_to_the_check():
    """The chance rises straight, so the sum is half its last value times the days (elementary calculus)."""
    found = effect(outlook(), level=0.05, least_days=0, depots=2)
    days = 5_000 / 300
    assert found.outside_months == pytest.approx([0.5 * 0.05 * days / DAYS_A_MONTH] * 2)


def test_time_outside_agrees_with_quadrature_of_a_normal_forecast():
    """Against scipy's quad on the closed form of the chance."""
    usage = np.linspace(0, 60_000, 61)
    chance = ndtr((usage / 1000 - 40) / 10)
    units = outlook(
        1, path_usage=usage[None], path_chance=chance[None], depot=np.array([0]), asked={"none": np.array([INF])}
    )
    found = effect(units, level=0.4, least_days=0, depots=1, span_days=100)
    exact = quad(lambda day: ndtr((day * 0.3 - 40) / 10), 0, 100)[0]
    assert found.outside_months[0] * DAYS_A_MONTH == pytest.approx(exact, rel=0.02)


def test_an_overdue_unit_counts_as_one_check_and_no_time():
    units = outlook(asked={"outside_left": np.array([-9.0, INF])}, slope=0.0)
    found = effect(units, level=0.05, least_days=0, depots=2)
    assert list(found.checks) == [1, 0]
    assert found.outside_months.sum() == 0


def test_a_higher_level_means_fewer_checks_and_more_time_outside():
    dice = np.random.default_rng(2)
    units = outlook(400, usage_now=dice.uniform(0, 30_000, 400), asked={"calendar_maximum": np.full(400, 300.0)})
    strict = effect(units, level=0.35, least_days=0, depots=2)
    loose = effect(units, level=0.45, least_days=0, depots=2)
    assert loose.checks.sum() <= strict.checks.sum()
    assert loose.outside_months.sum() > strict.outside_months.sum()


def test_moving_a_rule_moves_its_checks():
    units = outlook(slope=0.0)
    later = units.moved({"calendar_maximum": np.full(2, 60.0)})
    assert effect(later, level=0.05, least_days=0, depots=2).checks.sum() == 0
